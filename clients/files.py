"""Clients in a file: what a row or card says, and who of them is here already."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, field
from enum import StrEnum

from django.core.files.base import File

from clients.contact import country_code
from clients.forms import ClientForm
from clients.models import FACTS, Client, name_key
from clients.queries import telling
from clients.vcard import read_cards
from studio.shop.files import Entry, UnreadableFileError, parse_csv, read_text
from studio.shop.text import digits, fold

HEADINGS = {
    "name": "name",
    "phone": "phone",
    "e-mail": "email",
    "street": "street",
    "postcode": "postcode",
    "town": "city",
    "country": "country",
    "tax number": "tax_number",
    "preferred way": "way",
    "notes": "notes",
}
# What other programs and people call the same columns (common practice), folded.
OTHER_HEADINGS = {
    "full name": "name", "client": "name", "customer": "name",
    "telephone": "phone", "tel": "phone", "phone number": "phone", "mobile": "phone",
    "email": "email", "e-mail address": "email", "email address": "email", "mail": "email",
    "address": "street", "zip": "postcode", "zip code": "postcode", "postal code": "postcode",
    "post code": "postcode", "city": "city", "place": "city", "vat number": "tax_number",
    "note": "notes", "remarks": "notes", "comments": "notes",
}  # fmt: skip
FIRST = ("first name", "given name", "forename")
LAST = ("last name", "surname", "family name")
WAYS = {fold(label): value for value, label in Client.Way.choices} | {
    "phone": Client.Way.CALL,
    "text": Client.Way.TEXT,
    "sms": Client.Way.TEXT,
    "email": Client.Way.EMAIL,
}


def client_rows(clients: Iterable[Client]) -> Iterator[list[str]]:
    """One row a client, in the order of ``HEADINGS``."""
    for client in clients:
        shown = {"country": client.country_name, "way": client.get_way_display()}
        yield [shown.get(fact) or getattr(client, fact) for fact in HEADINGS.values()]


def read_table(text: str, *, most_rows: int) -> tuple[list[Entry], list[str]]:
    """The entries of a table, and the headings of the columns that mean nothing here.

    Raises UnreadableFileError for what is no table of clients.
    """
    rows = parse_csv(text, most_rows=most_rows)
    headings = list(rows[0].cells) if rows else []
    known = HEADINGS | OTHER_HEADINGS
    if rows and not any(known.get(name) == "name" or name in FIRST + LAST for name in headings):
        raise UnreadableFileError("The table needs a column with the heading “name”.")
    unknown = [name for name in headings if name not in known and name not in FIRST + LAST]
    return [_entry(row.line, row.cells) for row in rows], unknown


def _entry(line: int, cells: dict[str, str]) -> Entry:
    entry = Entry(line, {})
    parts = [cells.get(name, "").strip() for name in FIRST + LAST]
    if name := " ".join(part for part in parts if part):
        entry.facts["name"] = name
    known = HEADINGS | OTHER_HEADINGS
    for heading, cell in cells.items():
        fact, value = known.get(heading), cell.strip()
        if not fact or not value:
            continue
        if fact == "notes":
            entry.add_note(value)
        elif fact not in entry.facts:
            entry.facts[fact] = value
        elif entry.facts[fact] != value:
            entry.add_note(f"{heading}: {value}")
    _read_way(entry)
    return entry


def _read_way(entry: Entry) -> None:
    if typed := entry.facts.pop("way", ""):
        way = WAYS.get(fold(typed), fold(typed))
        if way not in Client.Way.values:
            ways = ", ".join(label for _, label in Client.Way.choices)
            entry.problems.append(f"Preferred way: “{typed}” is none of {ways}.")
        entry.facts["way"] = way


MOST_ENTRIES = 3000


@dataclass
class Reading:
    """What a file holds. ``unknown`` are headings that no column of a client has."""

    entries: list[Entry]
    unknown: list[str] = field(default_factory=list)

    @property
    def wrong(self) -> list[Entry]:
        return [entry for entry in self.entries if entry.problems]

    @property
    def right(self) -> list[Entry]:
        return [entry for entry in self.entries if not entry.problems]


def read_file(uploaded: File) -> Reading:
    """The entries of a file of vCards or a table, each checked as if it were typed.

    Raises UnreadableFileError if it is neither, or holds nobody.
    """
    text = read_text(uploaded)
    if text.lstrip("\ufeff \t\r\n")[:11].upper() == "BEGIN:VCARD":
        reading = Reading(read_cards(text, most_cards=MOST_ENTRIES))
    else:
        reading = Reading(*read_table(text, most_rows=MOST_ENTRIES))
    if not reading.entries:
        raise UnreadableFileError("There is nobody in the file but the headings.")
    for entry in reading.entries:
        _check(entry)
    return reading


def _check(entry: Entry) -> None:
    """Put the facts into the form that is used at the counter, and note what it says."""
    facts = dict.fromkeys(FACTS, "") | entry.facts
    try:
        facts["country"] = country_code(facts["country"])
    except ValueError as error:
        entry.problems.append(f"Country: {error}")
        facts["country"] = ""
    if facts["way"] not in Client.Way.values:
        by_mail = facts["email"] and not facts["phone"]
        facts["way"] = Client.Way.EMAIL if by_mail else Client.Way.CALL
    form = ClientForm(facts)
    for name, errors in form.errors.items():
        entry.problems += [f"{form[name].label}: {error}" for error in errors]
    entry.facts = {name: form.cleaned_data.get(name, facts[name]) for name in FACTS}


class Verdict(StrEnum):
    ALIKE = "alike"
    NEW = "new"
    KNOWN = "known"


@dataclass
class Person:
    """Somebody an entry can be compared with: a client, or an earlier entry of the file."""

    name_key: str
    number: str
    client: Client | None = None
    line: int = 0


@dataclass
class Sorted:
    """An entry, what becomes of it, and whom it was found to be or to resemble."""

    entry: Entry
    verdict: Verdict
    person: Person | None = None

    @property
    def place(self) -> int:
        """What asks for a decision is shown first."""
        return list(Verdict).index(self.verdict)

    @property
    def client(self) -> Client | None:
        return self.person.client if self.person else None

    @property
    def same_number(self) -> bool:
        number = telling(digits(self.entry.facts["phone"]))
        return bool(number) and self.person is not None and self.person.number == number

    @property
    def gaps(self) -> dict[str, str]:
        """Facts that the client in the list lacks and the entry has."""
        if self.verdict != Verdict.KNOWN or not self.client:
            return {}
        facts = self.entry.facts.items()
        return {name: value for name, value in facts if value and not getattr(self.client, name)}

    @property
    def gap_words(self) -> str:
        return ", ".join(str(getattr(Client, name).field.verbose_name) for name in self.gaps)


def sort_out(entries: list[Entry], anyway: Collection[int] = ()) -> list[Sorted]:
    """Who is new, who is known, and who looks like somebody who is here.

    Known has the same name and the same phone number, or the same name and neither has a number;
    alike has one of the two. The lines in ``anyway`` are new although they are alike.
    """
    by_name: dict[str, list[Person]] = defaultdict(list)
    by_number: dict[str, list[Person]] = defaultdict(list)

    def remember(person: Person) -> None:
        by_name[person.name_key].append(person)
        if person.number:
            by_number[person.number].append(person)

    for client in Client.objects.present():
        remember(Person(client.name_key, telling(client.phone_digits), client))
    found = []
    for entry in entries:
        me = Person(name_key(entry.facts["name"]), telling(digits(entry.facts["phone"])))
        me.line = entry.line
        same = [one for one in by_name[me.name_key] if one.number == me.number]
        alike = by_number[me.number] + by_name[me.name_key] if me.number else by_name[me.name_key]
        if same:
            found.append(Sorted(entry, Verdict.KNOWN, same[0]))
        elif alike and entry.line not in anyway:
            found.append(Sorted(entry, Verdict.ALIKE, alike[0]))
        else:
            found.append(Sorted(entry, Verdict.NEW))
            remember(me)
    return found
