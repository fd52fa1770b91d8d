from django.apps import AppConfig


class CounterConfig(AppConfig):
    name = "jobs.counter"
    label = "counter"
