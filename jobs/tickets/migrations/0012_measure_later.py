from typing import Any

from django.db import migrations, models


def say_what_is_not_measured(apps: Any, schema_editor: Any) -> None:
    """Open work that asks how far, and was agreed without an amount, is still to be measured."""
    line = apps.get_model("tickets", "Line")
    bare = line.objects.filter(
        operation__takes_amount=True,
        amount_typed="",
        done_at=None,
        not_done_why="",
        removed_at=None,
        garment__removed_at=None,
        garment__ticket__state__in=["received", "in_work", "ready"],
    )
    line.objects.filter(pk__in=list(bare.values_list("pk", flat=True))).update(measure_later=True)


class Migration(migrations.Migration):
    dependencies = [
        ("tickets", "0011_words_of_tickets"),
        ("pricing", "0001_initial"),
    ]

    operations = [
        migrations.AddField(
            model_name="line",
            name="measure_later",
            field=models.BooleanField(default=False),
        ),
        migrations.RunPython(say_what_is_not_measured, migrations.RunPython.noop),
    ]
