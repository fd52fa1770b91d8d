"""What was made, and what was let go, in rows that can be answered at one tap each."""

import django_tables2 as tables

from jobs.makes.models import Fate, Make

FATES = [fate for fate in Fate if fate]
DAY = "{% load studio %}{% day value %}"


class _Table(tables.Table):
    words = tables.TemplateColumn(template_name="makes/ideas/_row_words.html", verbose_name="What")

    class Meta:
        model = Make
        fields: tuple[str, ...] = ()
        orderable = False


class MadeTable(_Table):
    """Finished makes, each with what became of it."""

    day = tables.TemplateColumn(DAY, accessor="finished_on")
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
    day = tables.TemplateColumn(DAY, accessor="let_go_at")
    back = tables.TemplateColumn(
        template_name="makes/ideas/_take_up.html", verbose_name="", empty_values=()
    )

    class Meta(_Table.Meta):
        fields = ("words", "day", "kind", "back")
