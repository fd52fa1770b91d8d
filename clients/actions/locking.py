"""One step at a time on one client, who is still there."""

from clients.models import Client


class GoneError(Exception):
    """The entry was merged into another or erased meanwhile."""


def held(client: Client) -> Client:
    """The client read again and held until the transaction ends. Raises GoneError."""
    found = Client.objects.select_for_update().get(pk=client.pk)
    if found.merged_into_id or found.erased_at:
        raise GoneError("This client's entry is no longer in use. Choose the client again.")
    return found
