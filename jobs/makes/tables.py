"""The room's lists in rows: what was made or let go, moves of cloth, copies sold."""

from jobs.makes.models import ClothMove, Fate, Make, Sale
from studio.shop import tables

FATES = [fate for fate in Fate if fate]


class _Table(tables.StudioTable):
    words = tables.TemplateColumn(template_name="makes/ideas/_row_words.html", verbose_name="What")

    class Meta:
        model = Make
        fields: tuple[str, ...] = ()
        orderable = False


class MadeTable(_Table):
    """Finished makes, each with what became of it."""

    day = tables.DayColumn(accessor="finished_on")
    fate = tables.TemplateColumn(
        template_name="makes/ideas/_fate.html",
        verbose_name="What became of it",
        extra_context={"fates": FATES},
        empty_values=(),
    )

    class Meta(_Table.Meta):
        fields = ("words", "day", "kind", "whom", "fate")
        empty_text = "Nothing here yet."


class LetGoTable(_Table):
    day = tables.DayColumn(accessor="let_go_at")
    back = tables.TemplateColumn(
        template_name="makes/ideas/_take_up.html", verbose_name="", empty_values=()
    )

    class Meta(_Table.Meta):
        fields = ("words", "day", "kind", "back")


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
