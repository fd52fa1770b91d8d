"""Patterns in rows."""

import django_tables2 as tables

from jobs.makes.models import Pattern


class PatternTable(tables.Table):
    name = tables.Column("Pattern", linkify=("pattern", [tables.A("pk")]), order_by=("key", "pk"))
    maker = tables.Column("By")
    number = tables.Column()
    garment = tables.Column("Makes")
    sizes = tables.Column()
    place = tables.Column("Where it lies")
    made = tables.Column("Sewn or meant for")

    class Meta:
        model = Pattern
        fields = ("name", "maker", "number", "garment", "sizes", "place", "made")
        empty_text = "No such pattern in the drawer."
