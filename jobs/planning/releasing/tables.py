"""Releases in rows."""

from studio.shop import tables

TO_GO = "{% if value.found.copies_to_go != None %}{{ value.found.copies_to_go }}{% endif %}"


class ReleaseTable(tables.StudioTable):
    """Desks; ``hide`` names the columns that this reader does not see."""

    release = tables.Column(linkify=lambda record: record.release.get_absolute_url())
    now_at = tables.TemplateColumn(
        template_name="planning/releasing/_now_at.html", verbose_name="Now at", empty_values=()
    )
    done = tables.TemplateColumn(
        "{{ record.done }} of {{ record.stages|length }}", verbose_name="Stages done"
    )
    spent = tables.MinutesColumn("Hours in")
    to_go = tables.MinutesColumn("Hours to go")
    target = tables.DayColumn("Hoped for by", accessor="release__target_on", default="")
    copies = tables.NumberColumn("Copies sold", accessor="money__sums__copies")
    copies_to_go = tables.TemplateColumn(
        TO_GO, accessor="money", verbose_name="To break even", attrs=tables.NUM
    )

    class Meta:
        orderable = False
        empty_text = "No pattern on its way just now."
