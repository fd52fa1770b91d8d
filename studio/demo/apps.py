from django.apps import AppConfig


class DemoConfig(AppConfig):
    name = "studio.demo"
    label = "demo"
