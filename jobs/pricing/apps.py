from django.apps import AppConfig


class PricingConfig(AppConfig):
    name = "jobs.pricing"
    label = "pricing"
