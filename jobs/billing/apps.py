from django.apps import AppConfig


class BillingConfig(AppConfig):
    name = "jobs.billing"
    label = "billing"
