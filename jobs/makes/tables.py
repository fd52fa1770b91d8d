"""The room's lists in rows: moves of cloth, copies sold."""

from jobs.makes.models import ClothMove, Fate, Sale
from studio.shop import tables

FATES = [fate for fate in Fate if fate]


LENGTH = "{% load cloth %}{{ record.mm|cloth_length:record.cloth.unit }}"


class MoveTable(tables.StudioTable):
    day = tables.DayColumn()
    cloth = tables.Column(linkify=True)
    make = tables.Column(linkify=True, verbose_name="For", default="")
    mm = tables.TemplateColumn(LENGTH, verbose_name="Length", attrs=tables.NUM)

    class Meta:
        model = ClothMove
        fields = ("day", "cloth", "why", "make", "mm")
        orderable = False
        empty_text = "Nothing moved."


class SaleTable(tables.StudioTable):
    day = tables.DayColumn()
    copies = tables.NumberColumn()
    net = tables.MoneyColumn("Without tax")
    off = tables.TemplateColumn(
        template_name="makes/releases/_sale_off.html", verbose_name="", empty_values=()
    )

    class Meta:
        model = Sale
        fields = ("day", "copies", "net", "off")
        orderable = False
        empty_text = "None yet."
