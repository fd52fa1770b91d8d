"""What pages read of clients."""

from django.db.models import Q, QuerySet
from django.http import Http404
from django.shortcuts import get_object_or_404

from clients.finding import matching, nearly, same_number
from clients.models import Client, ClientQuerySet, name_key
from studio.shop.text import digits


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
    if key := name_key(name):
        same |= Q(name_key=key)
    return Client.objects.present().filter(same) if same else Client.objects.none()


def may_be_the_same(client: Client, text: str, limit: int = 8) -> list[Client]:
    """Other entries that ``text`` may mean; without one, those that are alike."""
    if text:
        found = find_clients(text, limit + 1)
    else:
        found = list(alike(client.name, client.phone)[: limit + 1])
    return [other for other in found if other != client][:limit]


def entry_of_its_own(pk: int) -> Client:
    """As ``live_client``, unless the client was erased. Raises Http404."""
    client = live_client(pk)
    if client.erased_at:
        raise Http404
    return client
