"""Copies sold, row by row."""

import django_tables2 as tables

from jobs.makes.models import Sale

NUM = {"th": {"class": "num"}, "td": {"class": "num"}}


class SaleTable(tables.Table):
    day = tables.TemplateColumn("{% load studio %}{% day value %}")
    copies = tables.Column(attrs=NUM)
    net = tables.TemplateColumn(
        "{% load studio %}{% money value %}", verbose_name="Net amount", attrs=NUM
    )
    off = tables.TemplateColumn(
        template_name="makes/releases/_sale_off.html", verbose_name="", empty_values=()
    )

    class Meta:
        model = Sale
        fields = ("day", "copies", "net", "off")
        orderable = False
        empty_text = "None yet."
