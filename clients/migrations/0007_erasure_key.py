"""Each client gets a key by which it stays erased, whichever copy of the studio is brought back.

A copy that was made just before this migration gets the same keys once more when it is migrated:
they follow from the studio's secret key, which nobody guesses.
"""

import hmac
from uuid import UUID, uuid4

from django.conf import settings
from django.db import migrations, models

ENOUGH = 500


def give_keys(apps, schema_editor):
    Client = apps.get_model("clients", "Client")
    secret = settings.SECRET_KEY.encode()
    clients = []
    for client in Client.objects.using(schema_editor.connection.alias).only("pk").iterator():
        digest = hmac.digest(secret, f"clients.erasure_key {client.pk}".encode(), "sha256")
        client.erasure_key = UUID(bytes=digest[:16], version=4)
        clients.append(client)
    Client.objects.using(schema_editor.connection.alias).bulk_update(
        clients, ["erasure_key"], batch_size=ENOUGH
    )


class Migration(migrations.Migration):
    # PostgreSQL changes no table whose rows were changed in the same transaction.
    atomic = False

    dependencies = [("clients", "0006_vat_number")]

    operations = [
        migrations.AddField(
            "client", "erasure_key", models.UUIDField(null=True, default=uuid4, editable=False)
        ),
        migrations.RunPython(give_keys, migrations.RunPython.noop),
        migrations.AlterField(
            "client", "erasure_key", models.UUIDField(unique=True, default=uuid4, editable=False)
        ),
    ]
