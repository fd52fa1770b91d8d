from django.apps import AppConfig


class MakesConfig(AppConfig):
    name = "jobs.makes"
    label = "makes"
