from django.apps import AppConfig


class TicketsConfig(AppConfig):
    name = "jobs.tickets"
    label = "tickets"
