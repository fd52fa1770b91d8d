"""Releases in rows."""

import django_tables2 as tables

from studio.shop.locales import show_minutes

NUM = {"th": {"class": "num"}, "td": {"class": "num"}}
TO_GO = "{% if value.found.copies_to_go != None %}{{ value.found.copies_to_go }}{% endif %}"


class MinutesColumn(tables.Column):
    def __init__(self, *args: str, **kwargs: str) -> None:
        super().__init__(*args, attrs=NUM, **kwargs)

    def render(self, value: int) -> str:
        return show_minutes(value)


class ReleaseTable(tables.Table):
    """Desks; ``hide`` names the columns that this reader does not see."""

    release = tables.Column(linkify=lambda record: record.release.get_absolute_url())
    now_at = tables.TemplateColumn(
        template_name="planning/releasing/_now_at.html", verbose_name="Now at", empty_values=()
    )
    done = tables.TemplateColumn(
        "{{ record.done }} of {{ record.stages|length }}", verbose_name="Stages done"
    )
    spent = MinutesColumn("Hours in")
    to_go = MinutesColumn("Hours to go")
    target = tables.TemplateColumn(
        "{% load studio %}{% if value %}{% day value %}{% endif %}",
        accessor="release__target_on",
        verbose_name="Hoped for by",
    )
    copies = tables.Column("Copies sold", accessor="money__sums__copies", attrs=NUM)
    copies_to_go = tables.TemplateColumn(
        TO_GO, accessor="money", verbose_name="To break even", attrs=NUM
    )

    class Meta:
        orderable = False
        empty_text = "No pattern on its way just now."
