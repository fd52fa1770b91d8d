from django.apps import AppConfig


class PlanningConfig(AppConfig):
    name = "jobs.planning"
    label = "planning"
