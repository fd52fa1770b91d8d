from django.db import migrations

LABEL = "clients.client"


def change(label, pk, was, now):
    return {"row": [label, pk], "was": was, "now": now}


def changes_of(merge):
    """Which fields of which rows the merge changed, as the history of the house keeps them."""
    facts = merge.facts.items()
    before = {name: fact["before"] for name, fact in facts}
    after = {name: fact["after"] for name, fact in facts}
    changes = [change(LABEL, merge.kept_id, before, after)] if before else []
    changes.append(
        change(LABEL, merge.gone_id, {"merged_into_id": None}, {"merged_into_id": merge.kept_id})
    )
    for path, keys in merge.moved.items():
        model, _, column = path.rpartition(".")
        was, now = {f"{column}_id": merge.gone_id}, {f"{column}_id": merge.kept_id}
        changes += [change(model.lower(), key, was, now) for key in keys]
    return changes


def carry_over(apps, schema_editor):
    """Every merge becomes an entry of the history, and can be undone as before."""
    ClientMerge = apps.get_model("clients", "ClientMerge")
    Entry = apps.get_model("shop", "Entry")
    EntrySubject = apps.get_model("shop", "EntrySubject")

    def write(merge, **facts):
        entry = Entry.objects.create(**facts)
        for key in (merge.kept_id, merge.gone_id):
            EntrySubject.objects.create(entry=entry, label=LABEL, row=key)
        return entry

    for merge in ClientMerge.objects.select_related("kept", "gone").order_by("pk"):
        erased = merge.kept.erased_at or merge.gone.erased_at
        entry = write(
            merge,
            at=merge.at,
            by_id=merge.by_id,
            verb="client.merge",
            parameters={} if erased else {"gone": merge.gone.name},
            changes=[] if erased else changes_of(merge),
            undone_at=merge.undone_at,
        )
        if merge.undone_at:
            write(merge, at=merge.undone_at, verb="history.undone", undoes=entry)


class Migration(migrations.Migration):
    """One history for the whole house: merges are entries of it, and can still be undone."""

    dependencies = [
        ("clients", "0003_sheets"),
        ("shop", "0003_history"),
    ]

    operations = [migrations.RunPython(carry_over)]
