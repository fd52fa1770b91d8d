"""Clients as a table, out and in."""

from collections.abc import Iterable, Iterator

from clients.entries import Entry
from clients.models import Client
from studio.shop.csvfile import parse_csv
from studio.shop.text import fold
from studio.shop.textfile import UnreadableFileError

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
