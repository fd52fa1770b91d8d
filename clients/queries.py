"""What pages read of clients."""

from django.shortcuts import get_object_or_404

from clients.models import Client


def live_client(pk: int) -> Client:
    """The client, or the entry it was merged into. Raises Http404."""
    client = get_object_or_404(Client.objects.select_related("merged_into"), pk=pk)
    return client.merged_into or client
