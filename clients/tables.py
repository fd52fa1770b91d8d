"""Clients in rows."""

from clients.models import Client
from studio.shop import tables


class ClientTable(tables.StudioTable):
    name = tables.LinkColumn(to="client", order_by=("name_key", "pk"))
    phone = tables.Column()
    email = tables.Column("E-mail")
    city = tables.Column("Town")

    class Meta:
        model = Client
        fields = ("name", "phone", "email", "city")
        empty_text = "Nobody matches."
