"""Clients in rows."""

import django_tables2 as tables

from clients.models import Client


class ClientTable(tables.Table):
    name = tables.Column(linkify=("client", [tables.A("pk")]), order_by=("name_key", "pk"))
    phone = tables.Column()
    email = tables.Column("E-mail")
    city = tables.Column("Town")

    class Meta:
        model = Client
        fields = ("name", "phone", "email", "city")
        empty_text = "Nobody matches."
