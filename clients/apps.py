from django.apps import AppConfig


class ClientsConfig(AppConfig):
    name = "clients"
    label = "clients"
