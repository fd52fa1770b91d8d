"""Moves of cloth, row by row."""

import django_tables2 as tables

from jobs.makes.models import ClothMove

LENGTH = "{% load cloth %}{{ record.mm|cloth_length:record.cloth.unit }}"


class MoveTable(tables.Table):
    day = tables.TemplateColumn("{% load studio %}{% day value %}")
    cloth = tables.Column(linkify=True)
    make = tables.Column(linkify=True, verbose_name="For", default="")
    mm = tables.TemplateColumn(
        LENGTH, verbose_name="Length", attrs={"th": {"class": "num"}, "td": {"class": "num"}}
    )

    class Meta:
        model = ClothMove
        fields = ("day", "cloth", "why", "make", "mm")
        orderable = False
        empty_text = "Nothing moved."
