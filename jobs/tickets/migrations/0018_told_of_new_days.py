from django.db import migrations


def told_of_new_days(apps, schema_editor):
    """Whom the history says was told of a new day has a message of it."""
    Entry = apps.get_model("shop", "Entry")
    Ticket = apps.get_model("tickets", "Ticket")
    SentMessage = apps.get_model("tickets", "SentMessage")
    for entry in Entry.objects.filter(verb="week.told_new_day", undone_at=None).order_by("pk"):
        ticket = Ticket.objects.filter(number=entry.parameters.get("number", "")).first()
        if ticket:
            SentMessage.objects.create(
                ticket=ticket,
                kind="moved",
                about=entry.parameters.get("day", ""),
                way="other",
                at=entry.at,
                by_id=entry.by_id,
            )


class Migration(migrations.Migration):

    dependencies = [
        ("shop", "0013_client_page_and_not_collected"),
        ("tickets", "0017_messages_and_client_pages"),
    ]

    operations = [
        migrations.RunPython(told_of_new_days, migrations.RunPython.noop, elidable=True),
    ]
