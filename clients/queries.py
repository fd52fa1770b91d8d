"""What pages read of clients, who are found by parts of the name, digits of a phone, or a place."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from django.db.models import (
    Case,
    IntegerField,
    Q,
    QuerySet,
    Value,
    When,
    prefetch_related_objects,
)
from django.http import Http404
from django.shortcuts import get_object_or_404

from clients.models import Client, ClientQuerySet, Contact, ContactFacts, name_key
from studio.shop.text import digits, fold

FEWEST_DIGITS = 4
# As many last digits make two phone numbers the same, with or without the country's code.
TELLING_DIGITS = 8
MOST_LETTERS = 200
MOST_WORDS = 6
TYPO_FROM = 4
NUMBERS = re.compile(r"[\d+()/.\-]*\d[\d+()/.\-]*")


def matching(text: str) -> QuerySet[Client]:
    """Clients that have every word and number of ``text``, by rank and name."""
    words, number = take_apart(text)
    if not words and not number:
        return Client.objects.none()
    meant, begins = Q(), Q()
    for word in words:
        meant &= Q(name_key__contains=word) | lives_at(word)
        begins &= Q(name_key__startswith=word) | Q(name_key__contains=f" {word}")
    if number:
        meant &= has_number(number)
    ranks = [When(begins, then=1)] if words else []
    if len(number) == FEWEST_DIGITS:
        last4 = Q(phone_last4=number) | Q(pk__in=_with_contact(Q(last4=number)))
        ranks.insert(0, When(last4, then=0))
    if words:
        ranks.append(When(has_words(words), then=2))
    rank = Case(*ranks, default=Value(3), output_field=IntegerField())
    return Client.objects.present().filter(meant).order_by(rank, "name_key", "pk")


def nearly(text: str) -> QuerySet[Client]:
    """Clients that have every word of ``text``, but for one typing error in a longer word."""
    words, number = take_apart(text)
    near = Q(pk__in=[])
    for index, word in enumerate(words):
        if len(word) >= TYPO_FROM and not number:
            near |= has_words(words[:index] + words[index + 1 :]) & has_a_third(word)
    names = Client.objects.present().filter(near).order_by().values_list("pk", "name_key")
    return Client.objects.filter(pk__in=[pk for pk, name in names if _nearly(words, name)])


def has_words(words: list[str]) -> Q:
    """Names with every word somewhere."""
    meant = Q()
    for word in words:
        meant &= Q(name_key__contains=word)
    return meant


def has_a_third(word: str) -> Q:
    """Names with a third of ``word``: one error, be it two letters swapped, spares a third."""
    first, second = len(word) // 3, len(word) * 2 // 3
    parts = word[:first], word[first:second], word[second:]
    meant = Q()
    for part in parts:
        meant |= Q(name_key__contains=part)
    return meant


def lives_at(word: str) -> Q:
    """Clients of whom a word of an e-mail or an address begins with this."""
    begins = Q(reach_key__contains=f" {word}")
    return begins | Q(pk__in=_with_contact(begins))


def _with_contact(meant: Q) -> QuerySet[Contact, int]:
    return Contact.objects.filter(meant).order_by().values_list("client", flat=True)


def same_number(number: str) -> Q:
    """Clients with a phone of these digits, written with the country's code or without."""
    if len(number) < TELLING_DIGITS:
        return Q(phone_digits=number) | Q(pk__in=_with_contact(Q(digits=number)))
    last4, end = number[-4:], telling(number)
    more = Q(last4=last4, digits__endswith=end)
    first = Q(phone_last4=last4, phone_digits__endswith=end)
    return first | Q(pk__in=_with_contact(more))


def telling(number: str) -> str:
    """The digits of a phone number that are the same with the country's code and without."""
    return number[-TELLING_DIGITS:]


def numbers_of(client: Client) -> set[str]:
    """The telling digits of every phone of a client: what two entries of one person share.

    No query where the client's ``contacts`` are fetched with it.
    """
    return {number for phone in client.phones if (number := telling(digits(phone.value)))}


def has_number(number: str) -> Q:
    """Phones with this run of digits; a name with it, such as a society's year; a postcode."""
    meant = Q(phone_digits__contains=number) | Q(name_key__contains=number) | lives_at(number)
    meant |= Q(pk__in=_with_contact(Q(digits__contains=number)))
    return meant | same_number(number) if len(number) > TELLING_DIGITS else meant


def take_apart(text: str) -> tuple[list[str], str]:
    """The words of a name and the digits of a phone number; fewer than four digits are a word.

    ``mary 086 555-0143`` is ``(["mary"], "0865550143")``.
    """
    words: list[str] = []
    numbers: list[str] = []
    for word in fold(text.replace("\0", " ")[:MOST_LETTERS]).split():
        (numbers if NUMBERS.fullmatch(word) else words).append(word)
    number = digits("".join(numbers))
    if len(number) < FEWEST_DIGITS:
        words, number = words + numbers, ""
    return words[:MOST_WORDS], number


def _nearly(words: list[str], name: str) -> bool:
    wrong = [word for word in words if word not in name]
    return len(wrong) == 1 and any(begins_nearly(wrong[0], part) for part in name.split())


def begins_nearly(word: str, name: str) -> bool:
    """Whether ``name`` begins with ``word`` but for one wrong, missing, needless or swapped letter.

    The letter is sought where the two first differ: an error further left would have to repeat
    the letters between, and is the same error there. A word of fewer than four letters has none.
    """
    if len(word) < TYPO_FROM:
        return False
    at = 0
    while word[at : at + 1] == name[at : at + 1] != "":
        at += 1
    return (
        name.startswith(word[at + 1 :], at + 1)
        or name.startswith(word[at + 1 :], at)
        or name.startswith(word[at:], at + 1)
        or name.startswith(word[at + 1 : at + 2] + word[at : at + 1] + word[at + 2 :], at)
    )


def live_client(pk: int) -> Client:
    """The client, or the entry it was merged into. Raises Http404."""
    client = get_object_or_404(Client.objects.select_related("merged_into"), pk=pk)
    return client.merged_into or client


def find_clients(text: str, limit: int = 8) -> list[Client]:
    """The clients ``text`` may mean, the likeliest first; nobody for an empty text.

    Words are parts of the name, or begin a word of an e-mail or an address, in any order and
    without accents; four or more digits are part of a phone number. Those whose last four digits
    are meant come first, then those with a name that begins with each word, then those with the
    words in the name, then the others. If nobody matches, one typing error in a word of
    the name is forgiven. One query, or three where an error is forgiven; time grows with the
    number of clients.
    """
    return list(matching(text)[:limit]) or list(nearly(text)[:limit])


def list_clients(text: str) -> QuerySet[Client]:
    """As ``find_clients``, without a limit; every client for an empty text."""
    if not text.strip():
        return Client.objects.present()
    matches = matching(text)
    return matches if matches.exists() else nearly(text)


def alike(name: str, *phones: str) -> ClientQuerySet:
    """Clients that may be the person just named: one of the phone numbers or the same name."""
    same = Q()
    for phone in phones:
        if number := digits(phone):
            same |= same_number(number)
    if key := name_key(name):
        same |= Q(name_key=key)
    return Client.objects.present().filter(same) if same else Client.objects.none()


def may_be_the_same(client: Client, text: str, limit: int = 8) -> list[Client]:
    """Other entries that ``text`` may mean; without one, those that are alike."""
    if text:
        clients = find_clients(text, limit + 1)
    else:
        clients = list(alike(client.name, *(phone.value for phone in client.phones))[: limit + 1])
    return [other for other in clients if other != client][:limit]


def entry_of_its_own(pk: int) -> Client:
    """As ``live_client``, unless the client was erased. Raises Http404."""
    client = live_client(pk)
    if client.erased_at:
        raise Http404
    return client


def household_of(client: Client) -> list[Client]:
    """Everybody of the client's household, who answers for it first; empty for one who is alone."""
    head = client.household_id or client.pk
    rows = Client.objects.present().filter(Q(pk=head) | Q(household=head))
    members = sorted(rows, key=lambda member: (member.pk != head, member.name_key, member.pk))
    return members if len(members) > 1 else []


@dataclass(frozen=True)
class Recipient:
    """A phone or an e-mail that a message can go to; ``key`` names it in an address."""

    key: str
    words: str
    contact: Contact


def recipients(client: Client) -> list[Recipient]:
    """The client's phones and e-mails, then those of who answers for the client.

    One query, two for one of a household. Empty where there is nothing to choose, since there is
    but one phone and one e-mail.
    """
    people = [client, client.household] if client.household else [client]
    prefetch_related_objects(people, "contacts")
    rows: list[Recipient] = []
    for person in people:
        for contact in [*person.phones, *person.emails]:
            whose = contact.label if person == client else f"{person.name} {contact.label}"
            words = f"{whose.strip()} {contact.value}".strip()
            rows.append(Recipient(str(contact.pk or f"{contact.kind}-{person.pk}"), words, contact))
    kinds = [row.contact.kind for row in rows]
    return rows if len(kinds) > len(set(kinds)) else []


def more_contacts(client: Client, contacts: Iterable[ContactFacts]) -> list[Contact]:
    """Rows for what the client does not have yet, not saved, their keys filled; each once.

    What has neither a value nor a place is left out. A query, unless the client is new or its
    ``contacts`` are fetched with it.
    """
    here = list(client.contacts.all()) if client.pk else []
    return _unknown(client, here, contacts)


def _unknown(
    client: Client, here: Iterable[Contact], contacts: Iterable[ContactFacts]
) -> list[Contact]:
    known = {client.first(kind).facts.same_as for kind in Contact.Kind.values}
    known |= {row.facts.same_as for row in here}
    rows = []
    for facts in contacts:
        row = Contact(client=client).hold(facts)
        if row.is_filled and facts.same_as not in known:
            known.add(facts.same_as)
            row.fill_keys()
            rows.append(row)
    return rows


def after_merge(keep: Client, other: Client, facts: Mapping[str, str]) -> Client:
    """The client as ``actions.merge`` would leave it, its contacts too; nothing is saved."""
    after = Client.objects.get(pk=keep.pk)
    for name, value in facts.items():
        setattr(after, name, value)
    here = [*keep.contacts.all(), *other.contacts.all()]
    firsts = [client.first(kind).facts for client in (keep, other) for kind in Contact.Kind.values]
    rows = [*here, *_unknown(after, here, firsts)]
    after._prefetched_objects_cache = {"contacts": rows}  # type: ignore[attr-defined]  # noqa: SLF001 -- as a prefetch would
    return after
