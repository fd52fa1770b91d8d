from django.db import migrations

BATCH = 500


def carry_over(apps, schema_editor):
    """Every sentence of a ticket's history becomes an entry of the house's, in the same order."""
    Act = apps.get_model("tickets", "Act")
    Entry = apps.get_model("shop", "Entry")
    EntrySubject = apps.get_model("shop", "EntrySubject")
    acts = list(Act.objects.order_by("pk").values())
    for start in range(0, len(acts), BATCH):
        batch = acts[start : start + BATCH]
        entries = Entry.objects.bulk_create(
            Entry(
                at=act["at"],
                by_id=act["by_id"],
                verb="history.older",
                parameters={"words": act["words"]},
                money=act["money"],
                undone_at=act["undone_at"],
            )
            for act in batch
        )
        EntrySubject.objects.bulk_create(
            EntrySubject(entry=entry, label="tickets.ticket", row=act["ticket_id"])
            for entry, act in zip(entries, batch)
        )


class Migration(migrations.Migration):
    """One history for the whole house. What was written before stays readable, and cannot be undone."""

    dependencies = [
        ("shop", "0003_history"),
        ("tickets", "0004_agreement_on_paper"),
    ]

    operations = [migrations.RunPython(carry_over)]
