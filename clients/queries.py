"""What pages read of clients."""

from django.db.models import Q, QuerySet
from django.shortcuts import get_object_or_404

from clients.finding import matching, nearly, same_number
from clients.models import Client, ClientQuerySet
from studio.shop.text import digits, fold


def live_client(pk: int) -> Client:
    """The client, or the entry it was merged into. Raises Http404."""
    client = get_object_or_404(Client.objects.select_related("merged_into"), pk=pk)
    return client.merged_into or client


def find_clients(text: str, limit: int = 8) -> list[Client]:
    """The clients ``text`` may mean, the likeliest first; nobody for an empty text.

    Words are parts of the name in any order and without accents; four or more digits are part of
    the phone number. Those whose last four digits are meant come first, then those with a name
    that begins with each word, then the others. If nobody matches, one typing error in a word of
    the name is forgiven. One query, or three where an error is forgiven; time grows with the
    number of clients.
    """
    return list(matching(text)[:limit]) or list(nearly(text)[:limit])


def list_clients(text: str) -> QuerySet[Client]:
    """As ``find_clients``, without a limit; every client for an empty text."""
    if not text.strip():
        return Client.objects.present()
    found = matching(text)
    return found if found.exists() else nearly(text)


def alike(name: str, phone: str) -> ClientQuerySet:
    """Clients that may be the person just named: the same phone number or the same name."""
    same = Q()
    if number := digits(phone):
        same |= same_number(number)
    if key := fold(name):
        same |= Q(name_key=key[:250])
    return Client.objects.present().filter(same) if same else Client.objects.none()
