"""Who of a file is here already, who only looks like it, and what the file knows besides."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator
from dataclasses import asdict, dataclass, field
from enum import StrEnum
from typing import Any

from django.db.models import Q
from django.db.models.functions import Lower

from clients.files import contacts_of
from clients.models import (
    FACTS,
    LABELS,
    PLACE,
    Client,
    ClientQuerySet,
    Contact,
    ContactFacts,
    name_key,
    reach_key,
)
from clients.queries import numbers_of, telling
from studio.shop.files import Row
from studio.shop.text import digits, fold

ADDRESS = "address"
NOTES = "notes"
MOST_SHOWN = 300


class Likeness(StrEnum):
    ALIKE = "alike"
    NEW = "new"
    KNOWN = "known"


@dataclass
class Person:
    """Somebody a row can be compared with: a client, or an earlier row of the file."""

    name_key: str
    numbers: set[str]
    reached: set[str]
    """E-mails and whole addresses, folded."""
    client: Client | None = None
    line: int = 0
    cells: dict[str, str] = field(default_factory=dict)

    def is_known_by(self, numbers: set[str], reached: set[str]) -> bool:
        """Whether somebody of the same name is this one, and not only called alike."""
        if self.numbers & numbers or self.reached & reached:
            return True
        return not (self.numbers or numbers or self.reached or reached)


@dataclass
class Match:
    """A row, what becomes of it, and whom it was found to be or to resemble."""

    row: Row
    verdict: Likeness
    person: Person | None = None

    @property
    def client(self) -> Client | None:
        return self.person.client if self.person else None

    @property
    def shared(self) -> str:
        """What a row has in common with whom it resembles."""
        if self.person and self.person.numbers & _numbers(self.row):
            return "phone number"
        if self.person and self.person.name_key != name_key(self.row.cells["name"]):
            return "e-mail"
        return "name"

    @property
    def gaps(self) -> dict[str, str]:
        """Facts that the client in the list lacks and the row has."""
        if self.verdict != Likeness.KNOWN or not self.client:
            return {}
        cells = ((name, self.row.cells.get(name)) for name in FACTS)
        elsewhere = self._other_facts
        return {
            name: value
            for name, value in cells
            if value and not getattr(self.client, name) and name not in elsewhere
        }

    @property
    def _other_facts(self) -> set[str]:
        """Facts of another address than the client's, and labels of what the client has not.

        A town or a postcode belongs to its street, and a label to its number.
        """
        here, row = self.client, self.row.cells
        if not here:
            return set()
        firsts = {fact for fact in ("phone", "email") if self._differs(fact)}
        street = bool(here.street) and fold(here.street) != fold(row.get("street", ""))
        if street or any(self._differs(name) for name in PLACE):
            firsts |= {*PLACE}
        return firsts | {label for label, fact in LABELS.items() if fact in firsts}

    def _differs(self, name: str) -> bool:
        """Whether both have the fact, each another one."""
        here, there = getattr(self.client, name), self.row.cells.get(name, "")
        if name == "phone":
            here, there = telling(digits(here)), telling(digits(there))
        return bool(here and there) and fold(here) != fold(there)

    def offers(self, stated: Collection[str]) -> "list[FactOffered]":
        """What of the row differs from whom it is known as; what fills a gap is ticked.

        ``stated`` are the facts that the file itself has, the others are only presumed.
        """
        if self.verdict != Likeness.KNOWN or self.person is None:
            return []
        here, there = self.person.client or client_of(self.person.cells), client_of(self.row.cells)
        told = Match(self.row, self.verdict, Person("", set(), set(), here))
        known = {_same(contact.facts) for contact in contacts_here(self.person, here)}
        firsts = [
            FactOffered(kind, label, str(here.first(kind)), str(there.first(kind)))
            for kind, label in Contact.Kind.choices
            if told.has_other(kind) and _same(there.first(kind).facts) not in known
        ]
        facts = told.fact_offers(there, {offer.key for offer in firsts}, stated)
        return [*firsts, *facts, *told.more_offers(known)]

    def has_other(self, kind: str) -> bool:
        """Whether both have a first phone, e-mail or address, each another one.

        A place without its street may be another than the one with a street here.
        """
        if kind != ADDRESS:
            return self._differs(kind)
        here, there = self.client, self.row.cells
        more = any(there.get(name) and not getattr(here, name) for name in PLACE)
        whose = here and here.street and not there.get("street")
        return any(self._differs(name) for name in PLACE) or bool(whose and more)

    def fact_offers(
        self, there: Client, firsts: Collection[str], stated: Collection[str]
    ) -> "Iterator[FactOffered]":
        """Facts one by one, but for those of a phone, e-mail or address that is another one."""
        elsewhere, gaps = self._other_facts | {*firsts, "name"}, self.gaps
        for name in FACTS:
            here, value = getattr(self.client, name), getattr(there, name)
            apart = name in elsewhere or LABELS.get(name) in elsewhere
            if apart or not value or name not in stated or fold(value) == fold(here):
                continue
            if here and name in Contact.Kind.values:
                continue
            label = str(getattr(Client, name).field.verbose_name)
            if name == NOTES and here:
                label = "more notes"
            shown = (_shown(self.client, name), _shown(there, name)) if self.client else ("", "")
            yield FactOffered(name, label, *shown, ticked=name in gaps)

    def more_offers(self, known: set[tuple[str, ...]]) -> "Iterator[FactOffered]":
        """Phones, e-mails and addresses besides the first that are none of ``known``."""
        for number, facts in enumerate(contacts_of(self.row)):
            if _same(facts) not in known:
                known = known | {_same(facts)}
                row = Contact().hold(facts)
                words = f"{row} ({row.label})" if row.label else str(row)
                yield FactOffered(
                    f"more-{number}",
                    f"one more {row.get_kind_display().lower()}",
                    "",
                    words,
                    ticked=True,
                )


@dataclass(frozen=True)
class FactOffered:
    """A fact that a file has and the list lacks or knows otherwise.

    ``key`` is a fact of ``FACTS``, the kind of a contact that would become the first, or
    ``more-2``, one of the row's ``contacts_of``. ``here`` is what was seen beside it.
    """

    key: str
    label: str
    here: str
    there: str
    ticked: bool = False

    def as_data(self) -> dict[str, Any]:
        return asdict(self) | {
            "label": f"{self.label[:1].upper()}{self.label[1:]}",
            "here": self.here[:MOST_SHOWN],
            "there": self.there[:MOST_SHOWN],
        }


def client_of(cells: dict[str, str]) -> Client:
    """A client with these facts, its keys filled; not saved."""
    client = Client(**{name: cells[name] for name in FACTS if name in cells})
    client.fill_keys()
    return client


def contacts_here(person: Person, here: Client) -> list[Contact]:
    """Everything by which whom the row is known as can be reached."""
    if person.client:
        return [*here.phones, *here.emails, *here.addresses]
    rows = [Contact(client=here).hold(facts) for facts in contacts_of(Row(0, person.cells))]
    return [*map(here.first, Contact.Kind.values), *rows]


def _same(facts: ContactFacts) -> tuple[str, ...]:
    """As ``same_as``, a phone by its telling digits: with the country's code or without."""
    kind, value, *place = facts.same_as
    return (kind, telling(value) if kind == Contact.Kind.PHONE else value, *place)


def seen_now(client: Client, key: str) -> str:
    """What stands at an offer's ``key`` today, as an ``FactOffered`` shows it."""
    if key in Contact.Kind.values and key not in {"phone", "email"}:
        return str(client.first(key))[:MOST_SHOWN]
    return "" if key.startswith("more-") else _shown(client, key)[:MOST_SHOWN]


def _shown(client: Client, name: str) -> str:
    shown = {
        "way": client.get_way_display(),
        "country": client.country_name,
        "language": client.language_name,
        "who": client.get_who_display() if client.who else "",
    }
    return str(shown.get(name, getattr(client, name)))


def _numbers(row: Row) -> set[str]:
    """The telling digits of every phone of the row."""
    more = [facts.value for facts in contacts_of(row) if facts.kind == Contact.Kind.PHONE]
    numbers = {telling(digits(phone)) for phone in [row.cells["phone"], *more]}
    return numbers - {""}


def _reached(emails: Iterable[str], places: Iterable[Iterable[str]]) -> set[str]:
    """E-mails as they are, addresses only with their street: a town is shared by many."""
    whole = (" ".join(fold(part) for part in place) for place in places if all(list(place)[:1]))
    return {*(fold(email) for email in emails if email), *whole}


def _reached_by(row: Row) -> set[str]:
    contacts = contacts_of(row)
    emails = [facts.value for facts in contacts if facts.kind == Contact.Kind.EMAIL]
    places = [facts.place for facts in contacts if facts.kind == Contact.Kind.ADDRESS]
    first = [row.cells.get(name, "") for name in PLACE]
    return _reached([row.cells.get("email", ""), *emails], [first, *places])


def _reached_at(client: Client) -> set[str]:
    places = [[getattr(at, name) for name in PLACE] for at in client.addresses]
    return _reached([contact.value for contact in client.emails], places)


def _mails(reached: set[str]) -> list[str]:
    """The e-mails among them, in a settled order; an address is shared by a household."""
    return sorted(at for at in reached if "@" in at)


def reach_of(row: Row) -> dict[str, list[str]]:
    """By what a checked row is known again; see ``Person``."""
    return {"numbers": sorted(_numbers(row)), "reached": sorted(_reached_by(row))}


def candidates(rows: Iterable[Row]) -> ClientQuerySet:
    """All clients whom ``match`` could find for these rows, and some whom it will not."""
    names, ends, mails = set(), set(), set()
    for row in rows:
        names.add(name_key(row.cells["name"]))
        ends |= {number[-4:] for number in _numbers(row)}
        mails |= {*_mails(_reached_by(row))}
    more = Contact.objects.filter(
        Q(last4__in=ends) | Q(kind=Contact.Kind.EMAIL, reach_key__in=map(reach_key, mails))
    )
    found = Q(name_key__in=names) | Q(phone_last4__in=ends) | Q(mail__in=mails)
    return (
        Client.objects.present().annotate(mail=Lower("email"))
        .filter(found | Q(pk__in=more.order_by().values("client")))
    )  # fmt: skip


def match(
    rows: list[Row],
    anyway: Collection[int] = (),
    *,
    among: ClientQuerySet | None = None,
    earlier: Iterable[Person] = (),
) -> list[Match]:
    """Who is new, who is known, and who looks like somebody who is here.

    Known has the same name and one of the phone numbers, e-mails or whole addresses, or the same
    name and nothing else is known of either; alike has the name or a number of somebody, or the
    e-mail of a client. The lines in ``anyway`` are new although they are alike. Compared are the
    clients ``among``, everybody where nobody is named, and who came ``earlier`` in the file.
    """
    by_name: dict[str, list[Person]] = defaultdict(list)
    by_reach: dict[str, list[Person]] = defaultdict(list)

    def remember(person: Person) -> None:
        by_name[person.name_key].append(person)
        mails = _mails(person.reached) if person.client else []
        for reach in [*person.numbers, *mails]:
            by_reach[reach].append(person)

    clients = Client.objects.present() if among is None else among
    for client in clients.prefetch_related("contacts"):
        remember(Person(client.name_key, numbers_of(client), _reached_at(client), client))
    for person in earlier:
        remember(person)
    matches = []
    for row in rows:
        key, numbers, reached = name_key(row.cells["name"]), _numbers(row), _reached_by(row)
        same = [person for person in by_name[key] if person.is_known_by(numbers, reached)]
        reaches = [*sorted(numbers), *_mails(reached)]
        alike = [person for reach in reaches for person in by_reach[reach]] + by_name[key]
        if same:
            matches.append(Match(row, Likeness.KNOWN, same[0]))
        elif alike and row.line not in anyway:
            matches.append(Match(row, Likeness.ALIKE, alike[0]))
        else:
            matches.append(Match(row, Likeness.NEW))
            remember(Person(key, numbers, reached, line=row.line, cells=row.cells))
    return matches
