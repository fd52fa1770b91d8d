"""Clients in a file: what a row or card says, and who of them is here already."""

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from django.core.exceptions import ValidationError
from django.core.validators import validate_email

from clients.contact import country_code
from clients.forms import MOST_CONTACTS, RowClientForm, checked_phone
from clients.headings import (
    BOTH,
    FIRMS,
    FIRST_NAMES,
    HOUSE_NUMBERS,
    LAST_NAMES,
    MORE_HEADINGS,
    code_and_town,
    plain_heading,
)
from clients.models import FACTS, MOST_LABEL, Client, Contact, ContactFacts
from clients.spoilt import name_spoilt
from clients.vcard import add_note, left_out_words, read_cards
from studio.shop.files import NO_HEADING, Row, UnreadableFileError, forgiving_csv
from studio.shop.imports import Reading, check
from studio.shop.models import Profile
from studio.shop.text import fold
from studio.shop.words import language_code, languages, provided

HEADINGS = {
    "name": "name",
    "phone": "phone",
    "e-mail": "email",
    "street": "street",
    "postcode": "postcode",
    "town": "city",
    "country": "country",
    "vat number": "vat_number",
    "tax number": "tax_number",
    "preferred way": "way",
    "language of papers": "language",
    "notes": "notes",
    "person or company": "who",
    "name on invoices": "legal_name",
    "contact person": "contact_person",
    "phone label": "phone_label",
    "e-mail label": "email_label",
    "address label": "address_label",
}
# Columns of what a client has besides the first: "phone 2", "phone 2 label", "street 2" and so on.
MORE = {
    Contact.Kind.PHONE: {"phone {}": "value", "phone {} label": "label"},
    Contact.Kind.EMAIL: {"e-mail {}": "value", "e-mail {} label": "label"},
    Contact.Kind.ADDRESS: {
        "street {}": "street", "postcode {}": "postcode", "town {}": "city",
        "country {}": "country", "address {} label": "label",
    },
}  # fmt: skip
NUMBERED = re.compile(r"(?:phone|e-mail|street|postcode|town|country|address) \d{1,2}(?: label)?")
# What other programs and people call the same columns (common practice), folded.
OTHER_HEADINGS = {
    "full name": "name", "client": "name", "customer": "name",
    "telephone": "phone", "tel": "phone", "phone number": "phone", "mobile": "phone",
    "email": "email", "e-mail address": "email", "email address": "email", "mail": "email",
    "address": "street", "zip": "postcode", "zip code": "postcode", "postal code": "postcode",
    "post code": "postcode", "city": "city", "place": "city", "vat id": "vat_number",
    "language": "language", "note": "notes", "remarks": "notes", "comments": "notes",
    # German and French.
    "telefon": "phone", "telefonnummer": "phone", "mobil": "phone", "handy": "phone",
    "telephone portable": "phone", "portable": "phone", "courriel": "email",
    "strasse": "street", "anschrift": "street", "adresse": "street", "rue": "street",
    "plz": "postcode", "postleitzahl": "postcode", "code postal": "postcode",
    "ort": "city", "stadt": "city", "ville": "city", "land": "country", "pays": "country",
    "kunde": "name", "kundin": "name", "notiz": "notes", "notizen": "notes",
    "bemerkung": "notes", "bemerkungen": "notes", "remarques": "notes",
    # Where one has several, mail programs name them by what they are for.
    "mobile phone": "phone", "home phone": "phone", "business phone": "phone",
    "work phone": "phone", "primary phone": "phone", "other phone": "phone",
    "mobiltelefon": "phone", "telefon privat": "phone", "telefon (privat)": "phone",
    "telefon geschaftlich": "phone", "telefon (geschaftlich)": "phone",
    "telephone mobile": "phone", "telephone (domicile)": "phone",
    "telephone (bureau)": "phone", "e-mail-adresse": "email", "adresse e-mail": "email",
    "adresse de messagerie": "email",
}  # fmt: skip
# Addresses that mail programs keep apart stay apart: no street gets another one's town.
FOR_WHAT = {
    "{}": ("home {}", "{} privat", "{} (privat)", "{} (domicile)"),
    "{} 2": ("business {}", "work {}", "{} geschaftlich", "{} (geschaftlich)", "{} (bureau)"),
    "{} 3": ("other {}", "{} (andere)", "{} weitere", "{} (autre)"),
}
PARTS_OF_PLACE = {
    "street": "street", "city": "town", "postal code": "postcode", "country": "country",
    "country/region": "country", "strasse": "street", "ort": "town", "postleitzahl": "postcode",
    "land": "country", "land/region": "country", "rue": "street", "ville": "town",
    "code postal": "postcode", "pays": "country", "pays/region": "country",
}  # fmt: skip
SEVERAL_PLACES = {
    way.format(part): numbered.format(ours)
    for numbered, ways in FOR_WHAT.items()
    for way in ways
    for part, ours in PARTS_OF_PLACE.items()
}
SEVERAL_IN_A_CELL = ":::"  # as mail programs write more than one value of a label
KNOWN = HEADINGS | OTHER_HEADINGS | MORE_HEADINGS
OUR_HEADING = {fact: heading for heading, fact in HEADINGS.items()}
SEVERAL = {"name", "phone", "e-mail", "notes"}
PARTS_OF_NAME = ("first name", "middle name", "last name")
HOUSE_NUMBER, CODE_AND_TOWN, COMPANY = "house number", "postcode and town", "company"
"""Columns that are no fact by themselves: half of a street, two facts, a name or else a note."""
PART_OF_NAME = {
    **dict.fromkeys(
        ("first name", "given name", "forename", "vorname", "prenom", *FIRST_NAMES), "first name"
    ),
    "middle name": "middle name",
    **dict.fromkeys(
        (
            "last name", "surname", "family name", "nachname", "familienname", "nom",
            "nom de famille", *LAST_NAMES,
        ),
        "last name",
    ),
}  # fmt: skip
# As mail programs number what somebody has more than one of: "Phone 1 - Value".
PARTS_OF_KIND = {
    ("phone", "value"): "phone", ("phone", "label"): "phone label",
    ("phone", "type"): "phone label",
    ("email", "value"): "e-mail", ("email", "label"): "e-mail label",
    ("email", "type"): "e-mail label",
    ("address", "street"): "street", ("address", "city"): "town",
    ("address", "postal code"): "postcode", ("address", "country"): "country",
    ("address", "label"): "address label", ("address", "type"): "address label",
}  # fmt: skip
# What has a number behind it: "Email 2", "Mobile 1"; how the column of that fact begins.
NUMBERED_LAST = re.compile(r"(.+) (\d{1,2})")
COLUMNS = {
    "phone": "phone", "email": "e-mail", "street": "street", "postcode": "postcode",
    "city": "town", "country": "country",
}  # fmt: skip
NUMBERED_FIRST = re.compile(r"(phone|e-?mail|address) (\d{1,2}) - (.+)")
NUMBERED_ADDRESS = re.compile(r"e-?mail ([2-9]) address")
MOST_ENTRIES, MOST_BYTES = 20_000, 25 * 1024 * 1024
WAYS = {fold(label): value for value, label in Client.Way.choices} | {
    "phone": Client.Way.CALL,
    "no messages": Client.Way.ONLY,
    "text": Client.Way.TEXT,
    "sms": Client.Way.TEXT,
    "email": Client.Way.EMAIL,
}


WHO = {fold(label): value for value, label in Client.Who.choices}


def client_table(clients: Sequence[Client]) -> tuple[list[str], list[list[str]]]:
    """The headings and one row a client: ``HEADINGS``, then as many more as somebody has.

    No query where the clients' ``contacts`` are fetched with them.
    """
    more = {client: _numbered(client.contacts.all()) for client in clients if client.pk}
    used = {heading for cells in more.values() for heading in cells}
    most = max((int(re.findall(r"\d+", heading)[0]) for heading in used), default=1)
    numbered = [
        heading.format(number)
        for columns in MORE.values()
        for number in range(2, most + 1)
        for heading in columns
        if used & {name.format(number) for name in columns}
    ]
    rows = []
    for client in clients:
        shown = {
            "country": client.country_name,
            "way": client.get_way_display(),
            "language": client.language_name,
            "who": client.get_who_display() if client.who else "",
        }
        row = [shown.get(fact) or getattr(client, fact) for fact in HEADINGS.values()]
        rows.append(row + [more.get(client, {}).get(heading, "") for heading in numbered])
    return [*HEADINGS, *numbered], rows


def _numbered(contacts: Iterable[Contact]) -> dict[str, str]:
    """The cells of what a client has besides the first of each kind, which is number one."""
    cells: dict[str, str] = {}
    numbers: Counter[str] = Counter()
    for contact in contacts:
        numbers[contact.kind] += 1
        for heading, column in MORE[Contact.Kind(contact.kind)].items():
            cell = contact.country_name if column == "country" else getattr(contact, column)
            cells[heading.format(numbers[contact.kind] + 1)] = cell
    return cells


def contacts_of(row: Row) -> list[ContactFacts]:
    """What a row has besides the first phone, e-mail and address, in the columns of ``MORE``."""
    numbers = {int(number) for name in row.cells for number in re.findall(r"(?<= )\d{1,2}", name)}
    contacts = []
    for kind, columns in MORE.items():
        for number in sorted(numbers):
            cells = {
                column: row.cells.get(heading.format(number), "")
                for heading, column in columns.items()
            }
            facts = ContactFacts(kind.value, **cells)
            if facts.value or any(facts.place):
                contacts.append(facts)
    return contacts


@dataclass
class OpenedFile:
    """What stands in a file before any of it is understood.

    ``headings`` are those of a table, as they are written by their names in the rows; the rows of
    cards are by facts already. ``left_out`` says what no client has a place for.
    """

    rows: list[Row]
    headings: dict[str, str] = field(default_factory=dict)
    left_out: str = ""

    @property
    def columns(self) -> dict[str, str]:
        """What each column is taken for, as long as nobody says otherwise."""
        return guess_columns(self.headings)


def open_file(text: str) -> OpenedFile:
    """The rows of a table or the cards of an address book.

    Raises UnreadableFileError if it is neither, or holds nobody.
    """
    if text.lstrip("\ufeff \t\r\n")[:11].upper() == "BEGIN:VCARD":
        left_out: Counter[str] = Counter()
        cards = read_cards(text, most_cards=MOST_ENTRIES, left_out=left_out)
        return OpenedFile(cards, left_out=left_out_words(left_out))
    written, rows = forgiving_csv(text, most_rows=MOST_ENTRIES)
    opened = OpenedFile(list(rows), {name: typed or name for name, typed in written.items()})
    if not opened.rows:
        raise UnreadableFileError("There is nobody in the file but the headings.")
    used = {name for row in opened.rows for name in row.cells}
    for name in [name for name in written if NO_HEADING.fullmatch(name) and name not in used]:
        del opened.headings[name]
    return opened


def read_file(text: str) -> Reading:
    """The rows of a file, its columns taken as they are guessed, each row checked.

    Raises UnreadableFileError as ``open_file`` does, and for a table without a name.
    """
    opened = open_file(text)
    columns = opened.columns
    if opened.headings and not names_somebody(columns.values()):
        raise UnreadableFileError("The table needs a column with the heading “name”.")
    rows = [by_columns(row, columns) if opened.headings else row for row in opened.rows]
    home = home_country()
    for row in rows:
        check_row(row, home)
    unknown = [name for name, fact in columns.items() if not fact]
    return Reading(rows, unknown, opened.left_out)


def _heading(typed: str) -> str:
    """Our own heading for a numbered one of a mail program; any other as it is."""
    typed = plain_heading(typed)
    if typed in SEVERAL_PLACES:
        return SEVERAL_PLACES[typed]
    if told := NUMBERED_ADDRESS.fullmatch(typed):
        return f"e-mail {told[1]}"
    if told := NUMBERED_FIRST.fullmatch(typed):
        part, number = PARTS_OF_KIND.get((told[1].replace("-", ""), told[3]), ""), told[2]
    elif told := NUMBERED_LAST.fullmatch(typed):
        part, number = COLUMNS.get(KNOWN.get(told[1], ""), ""), told[2]
    if not told or not part:
        return typed
    kind, _, label = part.partition(" ")
    return part if number == "1" else f"{kind} {number} {label}".rstrip()


def guess_columns(names: Iterable[str]) -> dict[str, str]:
    """Our heading for each of the file's; empty for one that means nothing here.

    Where two would be one fact of which there is no second, our own word for it goes before
    others, and else the first.
    """
    names = list(names)
    guessed: dict[str, str] = {}
    halves = _halves({KNOWN.get(_heading(name), "") for name in names})
    for typed in names:
        heading = _heading(typed)
        if NUMBERED.fullmatch(heading) and heading in {*names, *guessed.values()} - {typed}:
            heading = typed
        fact = KNOWN.get(heading, "")
        if (told := NUMBERED_LAST.fullmatch(heading)) and KNOWN.get(told[1]) == "notes":
            fact = "notes"
        if heading in halves:
            guessed[typed] = halves[heading]
        elif heading in PART_OF_NAME:
            guessed[typed] = PART_OF_NAME[heading]
        elif NUMBERED.fullmatch(heading):
            guessed[typed] = heading
        else:
            ours = OUR_HEADING.get(fact, "")
            taken = ours in guessed.values() or (ours != typed and ours in names)
            guessed[typed] = "" if taken and ours not in SEVERAL else ours
    return guessed


def _halves(facts: set[str]) -> dict[str, str]:
    """Which headings are half of a fact or two, beside the other facts of the table."""
    return {
        **dict.fromkeys(FIRMS, COMPANY),
        **dict.fromkeys(HOUSE_NUMBERS if "street" in facts else (), HOUSE_NUMBER),
        **dict.fromkeys(() if facts & {"postcode", "city"} else BOTH, CODE_AND_TOWN),
    }


def home_country() -> str:
    """Where a row is at home that names no country."""
    return Profile.objects.values_list("country", flat=True).first() or ""


def names_somebody(columns: Iterable[str]) -> bool:
    """Whether one of the columns is a name or a part of it."""
    return not {"name", COMPANY, *PARTS_OF_NAME}.isdisjoint(columns)


def by_columns(row: Row, columns: Mapping[str, str]) -> Row:
    """The row with its cells by fact, each column taken for what ``columns`` says.

    Two columns of one fact go beside each other, or to the notes; what has no column is left out.
    """
    named = Row(row.line, {}, list(row.problems), list(row.remarks))
    if name := _name_of(row, columns):
        named.cells["name"] = name
    others: list[tuple[str, str, str]] = []
    halves: dict[str, str] = {}
    for heading, cell in row.cells.items():
        column, value = columns.get(heading, ""), cell.strip()
        label = _heading(heading)
        if column in (HOUSE_NUMBER, CODE_AND_TOWN, COMPANY):
            halves[column] = f"{halves.get(column, '')} {value}".strip()
            continue
        fact = HEADINGS.get(column, column)
        if kind := VALUES.get(fact.rstrip(" 0123456789")):
            value, *more = [part.strip() for part in cell.split(SEVERAL_IN_A_CELL)]
            others += [(kind, part, label) for part in more if part]
        if value and fact not in {"", "name", *PARTS_OF_NAME}:
            _put(named, fact, value, label)
    for fact, value, label in others:
        _put_next(named, fact, value, label)
    _put_halves(named, halves)
    if typed := named.cells.get("who"):
        named.cells["who"] = WHO.get(fold(typed), fold(typed))
    if typed := named.cells.get("way"):
        way = WAYS.get(fold(typed), fold(typed))
        named.cells["way"] = way
        if way not in Client.Way.values:
            ways = ", ".join(label for _, label in Client.Way.choices)
            named.problems.append(f"Preferred way: “{typed}” is none of {ways}.")
    return named


def _put_halves(row: Row, halves: Mapping[str, str]) -> None:
    """A house number behind its street, code and town apart, a firm as the name that is missing."""
    if number := halves.get(HOUSE_NUMBER):
        row.cells["street"] = f"{row.cells.get('street', '')} {number}".strip()
    if place := halves.get(CODE_AND_TOWN):
        for fact, value in code_and_town(place).items():
            _put(row, fact, value, CODE_AND_TOWN)
    if (firm := halves.get(COMPANY)) and "name" in row.cells:
        add_note(row, f"Organisation: {firm}")
    elif firm:
        row.cells |= {"name": firm, "who": Client.Who.COMPANY}


def _name_of(row: Row, columns: Mapping[str, str]) -> str:
    """First and last name as one. Beside a first name *Name* is the last one, or the whole."""
    cells = [(columns.get(heading, ""), cell.strip()) for heading, cell in row.cells.items()]
    parts = [cell for part in PARTS_OF_NAME for column, cell in cells if column == part and cell]
    wholes = [cell for column, cell in cells if column == "name" and cell]
    name, whole = " ".join(dict.fromkeys(parts)), " ".join(dict.fromkeys(wholes))
    if not name or fold(name) in fold(whole):
        return whole
    if set(fold(whole).split()) <= set(fold(name).split()):
        return name
    return f"{name} {whole}".strip()


def _put(row: Row, fact: str, value: str, heading: str) -> None:
    if fact == "notes":
        add_note(row, value)
    elif row.cells.setdefault(fact, value) != value:
        _put_next(row, fact, value, heading)


NEXT = {"phone": "phone {}", "email": "e-mail {}"}
VALUES = {"phone": "phone", "email": "email", "e-mail": "email"}


def _put_next(row: Row, fact: str, value: str, heading: str) -> None:
    """A second phone or e-mail, called as its column; what else came twice goes to the notes."""
    columns = (NEXT[fact].format(number) for number in range(2, MOST_CONTACTS) if fact in NEXT)
    column = next((name for name in columns if name not in row.cells), "")
    if column:
        row.cells |= {column: value, f"{column} label": heading[:MOST_LABEL]}
    else:
        add_note(row, f"{heading}: {value}")


def check_row(row: Row, home: str) -> None:
    """Put the facts into the form that is used at the counter, and note what it says."""
    name_spoilt(row, home)
    facts = dict.fromkeys(FACTS, "") | row.cells
    try:
        facts["country"] = country_code(facts["country"])
    except ValueError as error:
        row.problems.append(f"Country: {error}")
        facts["country"] = ""
    facts["language"] = _language(row, facts["language"])
    facts["notes"] = row.cells.get("notes", "")
    if facts["way"] not in Client.Way.values:
        by_mail = facts["email"] and not facts["phone"]
        facts["way"] = Client.Way.EMAIL if by_mail else Client.Way.CALL
    form = RowClientForm(facts)
    check(row, form)
    more = _check_more(row)
    row.cells = {name: form.cleaned_data.get(name, facts[name]) for name in FACTS} | more


def _check_more(row: Row) -> dict[str, str]:
    """The cells of what is not the first, checked as if it were typed."""
    more: dict[str, str] = {}
    for heading, cell in row.cells.items():
        if not NUMBERED.fullmatch(heading):
            continue
        more[heading] = cell
        try:
            if heading.startswith("country"):
                more[heading] = country_code(cell)
            elif heading.startswith("phone") and "label" not in heading:
                checked_phone(cell)
            elif heading.startswith("e-mail") and "label" not in heading:
                validate_email(cell)
        except ValueError as error:
            row.problems.append(f"{heading.capitalize()}: {error}")
        except ValidationError as error:
            row.problems.append(f"{heading.capitalize()}: {' '.join(error.messages)}")
    return more


def _language(row: Row, typed: str) -> str:
    """The code of a language that papers can be in; what is none goes to the notes."""
    try:
        code = language_code(typed)
    except LookupError:
        code = ""
    for known in dict.fromkeys([code, code.partition("-")[0]]):
        if known in provided() or (known and known in languages()):
            return known
    if typed:
        add_note(row, f"Language: {typed}")
        row.remarks.append(f"Papers cannot be in “{typed[:40]}”: it stands in the notes.")
    return ""
