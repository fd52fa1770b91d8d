"""Clients in a file: what a row or card says, and who of them is here already."""

import re
from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from django.core.exceptions import ValidationError
from django.core.validators import validate_email

from clients.contact import country_code
from clients.forms import MOST_CONTACTS, RowClientForm, checked_phone
from clients.headings import FIRST_NAMES, LAST_NAMES, MORE_HEADINGS, arranged, plain_heading
from clients.models import FACTS, LABELS, PLACE, Client, Contact, ContactFacts, name_key
from clients.queries import more_contacts, numbers_of, telling
from clients.spoilt import name_spoilt
from clients.vcard import add_note, left_out_words, read_cards
from studio.shop.files import NO_HEADING, Row, UnreadableFileError, forgiving_csv
from studio.shop.imports import Reading, check
from studio.shop.models import Profile
from studio.shop.text import digits, fold
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
KNOWN = HEADINGS | OTHER_HEADINGS | MORE_HEADINGS | {"organisation": "notes"}
NAME_PARTS = (
    "first name", "given name", "forename", "vorname", "prenom", *FIRST_NAMES, "middle name",
    "last name", "surname", "family name", "nachname", "familienname", "nom", "nom de famille",
    *LAST_NAMES,
)  # fmt: skip
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


def read_file(text: str) -> Reading:
    """The rows of a table or the cards of an address book, each checked as if it were typed.

    Raises UnreadableFileError if it is neither, or holds nobody.
    """
    if text.lstrip("\ufeff \t\r\n")[:11].upper() == "BEGIN:VCARD":
        left_out: Counter[str] = Counter()
        rows = read_cards(text, most_cards=MOST_ENTRIES, left_out=left_out)
        reading = Reading(rows, left_out=left_out_words(left_out))
    else:
        reading = read_table(text)
    if not reading.rows:
        raise UnreadableFileError("There is nobody in the file but the headings.")
    home = Profile.objects.values_list("country", flat=True).first() or ""
    for row in reading.rows:
        _check(row, home)
    return reading


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


def _ours(headings: Collection[str]) -> dict[str, str]:
    """Our heading for each of the file's; where two would be one, the second keeps its own."""
    ours: dict[str, str] = {}
    for typed in headings:
        heading = _heading(typed)
        free = heading not in headings and heading not in ours.values()
        ours[typed] = heading if free else typed
    return ours


def read_table(text: str) -> Reading:
    """The rows of a table, with cells by fact. Raises UnreadableFileError for one of no clients."""
    names, rows = arranged(*forgiving_csv(text, most_rows=MOST_ENTRIES), KNOWN, NAME_PARTS)
    ours = _ours(names)
    headings = list(ours.values())
    if not any(KNOWN.get(name) == "name" or name in NAME_PARTS for name in headings):
        raise UnreadableFileError("The table needs a column with the heading “name”.")
    used: set[str] = set()
    read = []
    for row in rows:
        used.update(row.cells)
        row.cells = {ours[name]: cell for name, cell in row.cells.items()}
        read.append(_by_fact(row))
    unknown = [
        ours[name]
        for name in names
        if not _means_something(ours[name]) and (name in used or not NO_HEADING.fullmatch(name))
    ]
    return Reading(read, unknown)


def _means_something(heading: str) -> bool:
    return heading in KNOWN or heading in NAME_PARTS or bool(NUMBERED.fullmatch(heading))


def _by_fact(row: Row) -> Row:
    """The row with its cells by fact; what a client has no field for goes to the notes."""
    named = Row(row.line, {}, list(row.problems), list(row.remarks))
    if name := _name_in_parts(row):
        named.cells["name"] = name
    others = []
    for heading, cell in row.cells.items():
        fact = heading if NUMBERED.fullmatch(heading) else KNOWN.get(heading)
        value = cell.strip()
        if kind := VALUES.get((fact or "").rstrip(" 0123456789")):
            value, *more = [part.strip() for part in cell.split(SEVERAL_IN_A_CELL)]
            others += [(kind, part, heading) for part in more if part]
        if fact and value and not (fact == "name" and name):
            _put(named, fact, value, heading)
    for fact, value, heading in others:
        _put_next(named, fact, value, heading)
    if typed := named.cells.get("who"):
        named.cells["who"] = WHO.get(fold(typed), fold(typed))
    if typed := named.cells.get("way"):
        way = WAYS.get(fold(typed), fold(typed))
        named.cells["way"] = way
        if way not in Client.Way.values:
            ways = ", ".join(label for _, label in Client.Way.choices)
            named.problems.append(f"Preferred way: “{typed}” is none of {ways}.")
    return named


def _name_in_parts(row: Row) -> str:
    """First and last name as one. Beside a first name *Name* is the last one, or the whole."""
    parts = [row.cells.get(name, "").strip() for name in NAME_PARTS]
    name, whole = " ".join(part for part in parts if part), row.cells.get("name", "").strip()
    if not name or fold(name) in fold(whole):
        return whole if name else ""
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
        row.cells |= {column: value, f"{column} label": heading}
    else:
        add_note(row, f"{heading}: {value}")


def _check(row: Row, home: str) -> None:
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
    return ""


class Verdict(StrEnum):
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

    def is_known_by(self, numbers: set[str], reached: set[str]) -> bool:
        """Whether somebody of the same name is this one, and not only called alike."""
        if self.numbers & numbers or self.reached & reached:
            return True
        return not (self.numbers or numbers or self.reached or reached)


@dataclass
class Match:
    """A row, what becomes of it, and whom it was found to be or to resemble."""

    row: Row
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
        if self.verdict != Verdict.KNOWN or not self.client:
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

    @property
    def unlike(self) -> str:
        """What the file has another of, which stays as it is here: nothing is lost in silence."""
        if self.verdict != Verdict.KNOWN or not self.client:
            return ""
        names = [name for name in ("phone", "email", *PLACE) if self._differs(name)]
        return ", ".join(str(getattr(Client, name).field.verbose_name) for name in names)

    @property
    def more(self) -> list[Contact]:
        """Phones, e-mails and addresses that the client in the list does not have. A query."""
        if self.verdict != Verdict.KNOWN or not self.client:
            return []
        return more_contacts(self.client, contacts_of(self.row))

    @property
    def gap_words(self) -> str:
        names = [str(getattr(Client, name).field.verbose_name) for name in self.gaps]
        return ", ".join([*names, *map(str, self.more)])


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


def match(rows: list[Row], anyway: Collection[int] = ()) -> list[Match]:
    """Who is new, who is known, and who looks like somebody who is here.

    Known has the same name and one of the phone numbers, e-mails or whole addresses, or the same
    name and nothing else is known of either; alike has the name or a number of somebody, or the
    e-mail of a client. The lines in ``anyway`` are new although they are alike.
    """
    by_name: dict[str, list[Person]] = defaultdict(list)
    by_reach: dict[str, list[Person]] = defaultdict(list)

    def remember(person: Person) -> None:
        by_name[person.name_key].append(person)
        mails = _mails(person.reached) if person.client else []
        for reach in [*person.numbers, *mails]:
            by_reach[reach].append(person)

    for client in Client.objects.present().prefetch_related("contacts"):
        remember(Person(client.name_key, numbers_of(client), _reached_at(client), client))
    matches = []
    for row in rows:
        key, numbers, reached = name_key(row.cells["name"]), _numbers(row), _reached_by(row)
        same = [person for person in by_name[key] if person.is_known_by(numbers, reached)]
        reaches = [*sorted(numbers), *_mails(reached)]
        alike = [person for reach in reaches for person in by_reach[reach]] + by_name[key]
        if same:
            matches.append(Match(row, Verdict.KNOWN, same[0]))
        elif alike and row.line not in anyway:
            matches.append(Match(row, Verdict.ALIKE, alike[0]))
        else:
            matches.append(Match(row, Verdict.NEW))
            remember(Person(key, numbers, reached, line=row.line))
    return matches
