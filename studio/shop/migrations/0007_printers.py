"""Printers in place of sizes; what a studio had chosen lies in them."""

from django.db import migrations, models

CLAIM, TAGS = "claim", "tags"
OTHERS = ["work", "agreement", "invoice", "receipt", "lists"]


def carry_over(apps, schema_editor):
    for studio in apps.get_model("shop", "Profile").objects.all():
        on_roll = studio.claim_paper == "roll"
        on_sheet = OTHERS if on_roll else [CLAIM, *OTHERS]
        printers = [{"name": "Sheet printer", "size": studio.paper, "papers": on_sheet}]
        if on_roll:
            printers.append({"name": "Counter roll", "size": "roll", "papers": [CLAIM]})
        printers.append({"name": "Tag printer", "size": studio.tag_paper, "papers": [TAGS]})
        studio.printers = printers
        studio.save(update_fields=["printers"])


class Migration(migrations.Migration):
    dependencies = [("shop", "0006_invoices_that_check_themselves")]

    operations = [
        migrations.AddField(
            "profile", "printers", models.JSONField(blank=True, default=list)
        ),
        migrations.AddField(
            "profile",
            "tag_surname",
            models.BooleanField(default=False, verbose_name="surname on garment tags"),
        ),
        migrations.RunPython(carry_over, migrations.RunPython.noop),
    ]
