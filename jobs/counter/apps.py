from django.apps import AppConfig


class CounterConfig(AppConfig):
    name = "studio.counter"
    label = "counter"
