"""Address book cards: vCard 4.0 (RFC 6350) out; 4.0, 3.0 (RFC 2426) and phones' 2.1 in."""

import quopri
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from urllib.parse import unquote

from clients.models import MOST_LABEL, Client, Contact
from studio.shop.files import Row, UnreadableFileError, in_time

BREAK = re.compile(r"\r\n|\n|\r")
LINE = re.compile(
    r"(?:(?P<group>[\w-]+)\.)?(?P<name>[A-Za-z0-9-]+)(?P<params>(?:;(?:[^\";:]|\"[^\"]*\")*)*):(?P<value>.*)",
    re.DOTALL,
)
PARAM = re.compile(r";((?:[^\";]|\"[^\"]*\")*)")
ESCAPED = re.compile(r"\\(.)", re.DOTALL)
LETTER = re.compile(r"\\?.", re.DOTALL)
LAST_PREFERENCE = 101


@dataclass(frozen=True)
class Property:
    """One property: where it stands, its name in capitals, its types, its value as written."""

    line: int
    name: str
    params: dict[str, list[str]]
    value: str
    group: str = ""

    @property
    def types(self) -> list[str]:
        return self.params.get("TYPE", [])

    @property
    def text(self) -> str:
        return unescape(self.value).strip()

    @property
    def fields(self) -> list[str]:
        """The parts of a structured value, such as a name or an address."""
        parts = [""]
        for letter in LETTER.findall(self.value):
            if letter == ";":
                parts.append("")
            else:
                parts[-1] += letter
        return [unescape(part).strip() for part in parts]

    @property
    def preference(self) -> int:
        """1 is the most preferred (RFC 6350, 5.3); a bare ``pref`` of older versions is 1."""
        given = self.params.get("PREF", [""])[0]
        if given.isdecimal():
            return int(given)
        return 1 if "pref" in self.types else LAST_PREFERENCE


def properties(text: str) -> Iterator[Property]:
    """The properties of all cards in a text. Lines that are none, such as data, are left out."""
    for line, content in unfold(text):
        parts = LINE.fullmatch(content)
        if parts:
            params = _params(parts["params"])
            value = _decoded(parts["value"], params)
            yield Property(line, parts["name"].upper(), params, value, parts["group"] or "")


def unfold(text: str) -> Iterator[tuple[int, str]]:
    """Whole lines with the number of their first.

    A line that begins with a blank continues the one before (RFC 6350, 3.2); so does any line
    after a quoted-printable one that ends in ``=``, as vCard 2.1 has it.
    """
    start, parts, quoted = 0, [""], False
    for number, line in enumerate(BREAK.split(text), 1):
        in_time()
        if quoted and parts[-1].endswith("="):
            parts[-1] = parts[-1][:-1]
            parts.append(line)
        elif line[:1] in {" ", "\t"} and start:
            parts.append(line[1:])
        else:
            yield start, "".join(parts)
            start, parts = number, [line]
            quoted = "QUOTED-PRINTABLE" in line.partition(":")[0].upper()
    yield start, "".join(parts)


def _params(text: str) -> dict[str, list[str]]:
    """Parameters by name. A bare word, as vCard 2.1 has it, is an encoding or a type."""
    params: dict[str, list[str]] = {}
    for word in PARAM.findall(text):
        name, equals, value = word.partition("=")
        if not equals:
            is_encoding = name.upper() in {"QUOTED-PRINTABLE", "BASE64", "8BIT", "7BIT"}
            name, value = "ENCODING" if is_encoding else "TYPE", name
        values = [part.strip(' "').lower() for part in value.split(",")]
        params.setdefault(name.strip().upper(), []).extend(values)
    return params


def _decoded(value: str, params: dict[str, list[str]]) -> str:
    if "quoted-printable" not in params.get("ENCODING", []):
        return value
    data = quopri.decodestring(value.encode())
    charset = params.get("CHARSET", ["utf-8"])[0]
    try:
        return data.decode(charset)
    except (LookupError, UnicodeDecodeError):
        return data.decode("cp1252", errors="replace")


def unescape(value: str) -> str:
    return ESCAPED.sub(lambda escaped: "\n" if escaped[1] in "nN" else escaped[1], value)


ADDRESS_FIELDS = 7
PLACES = {"street": "street", "postcode": "postcode", "city": "town", "country": "country"}
MARKED = re.compile(r"_\$!<(.*)>!\$_")
NO_VOICE = {"fax", "pager", "modem", "textphone"}
Card = list[Property]


def read_cards(text: str, *, most_cards: int) -> list[Row]:
    """One row a card, by facts; what is not the first of its kind has a number: ``phone 2``.

    Raises UnreadableFileError if there is no card, or more than ``most_cards``.
    """
    cards = list(_cards(text))
    if not cards:
        raise UnreadableFileError("There is no vCard in the file.")
    if len(cards) > most_cards:
        raise UnreadableFileError(f"The file has more than {most_cards} cards. Send it in parts.")
    return [_row(card) for card in cards]


def add_note(row: Row, note: str) -> None:
    in_time()
    row.cells["notes"] = f"{row.cells.get('notes', '')}\n{note}".strip()


def _cards(text: str) -> Iterator[Card]:
    """Each from its beginning to its end, or to the next beginning where the end is missing."""
    card: Card = []
    for prop in properties(text):
        if prop.name in {"BEGIN", "END"} and prop.value.strip().upper() == "VCARD":
            if card:
                yield card
            card = [prop] if prop.name == "BEGIN" else []
        elif card:
            card.append(prop)
    if card:
        yield card


def _row(card: Card) -> Row:
    row = Row(card[0].line, {"name": _name(card)})
    if any(prop.text.lower() == "group" for prop in _all(card, "KIND")):
        row.problems.append("This is a list of cards, not a person.")
    for prop in _all(card, "NOTE"):
        add_note(row, prop.text)
    if spoken := _texts(card, "LANG"):
        row.cells["language"] = spoken[0]
    if any(prop.text.lower() == "org" for prop in _all(card, "KIND")):
        row.cells["who"] = Client.Who.COMPANY
    row.cells |= _reached(card, "phone", _phones(card)) | _places(card)
    row.cells |= _reached(card, "email", _all(card, "EMAIL"))
    return row


def _reached(card: Card, fact: str, props: list[Property]) -> dict[str, str]:
    """Cells of the phones or the e-mails, each once; the first is there even if there is none."""
    values: dict[str, str] = {}
    for prop in props:
        value = _number(prop.text) if fact == "phone" else " ".join(prop.text.split())
        if value and not values.get(value):
            values[value] = _label(card, prop)
    cells = {fact: ""}
    heading = "phone" if fact == "phone" else "e-mail"
    for number, (value, label) in enumerate(values.items(), 1):
        names = (fact, f"{fact}_label")
        if number > 1:
            names = (f"{heading} {number}", f"{heading} {number} label")
        cells |= {name: cell for name, cell in zip(names, (value, label), strict=True) if cell}
    return cells


def _places(card: Card) -> dict[str, str]:
    cells: dict[str, str] = {}
    number = 0
    for prop in _all(card, "ADR"):
        if not (place := _address(prop)):
            continue
        number += 1
        if number > 1:
            place = {f"{PLACES[name]} {number}": value for name, value in place.items()}
        if label := _label(card, prop):
            place["address_label" if number == 1 else f"address {number} label"] = label
        cells |= place
    return cells


def _label(card: Card, prop: Property) -> str:
    """What the card calls it: the label beside it in its group, else a type that people know."""
    beside = [
        MARKED.sub(r"\1", other.text)
        for other in card
        if prop.group and other.name == "X-ABLABEL" and other.group.lower() == prop.group.lower()
    ]
    typed = next((LABELS[kind] for kind in prop.types if kind in LABELS), "")
    return beside[0][:MOST_LABEL] if beside and beside[0] else typed


def _all(card: Card, name: str) -> list[Property]:
    """The card's properties of a name, the preferred ones first."""
    return sorted((prop for prop in card if prop.name == name), key=lambda prop: prop.preference)


def _texts(card: Card, name: str) -> list[str]:
    texts = (" ".join(prop.text.split()) for prop in _all(card, name))
    return [*dict.fromkeys(text for text in texts if text)]


def _name(card: Card) -> str:
    """The formatted name; else the name put together; else the firm's."""
    if written := _texts(card, "FN"):
        return written[0]
    for prop in _all(card, "N"):
        family, given, additional, prefix, suffix = [*prop.fields, *[""] * 5][:5]
        parts = [prefix, given, additional, family, suffix]
        if name := " ".join(part.replace(",", " ") for part in parts if part):
            return name
    for prop in _all(card, "ORG"):
        return ", ".join(part for part in prop.fields if part)
    return ""


def _phones(card: Card) -> list[Property]:
    """Numbers to call, mobile ones first among those that nobody prefers."""
    props = [prop for prop in _all(card, "TEL") if not NO_VOICE.intersection(prop.types)]
    props.sort(key=lambda prop: (prop.preference, "cell" not in prop.types))
    return props


def _number(text: str) -> str:
    """``tel:+1-555-555-5555;ext=5555`` (RFC 3966) is ``+1-555-555-5555 ext. 5555``."""
    if not text.lower().startswith("tel:"):
        return text
    number, *params = unquote(text[4:]).split(";")
    extension = next((param[4:] for param in params if param.startswith("ext=")), "")
    return f"{number} ext. {extension}" if extension else number


def _address(prop: Property) -> dict[str, str]:
    """Street with box and floor, town with region: a client's address has no fields for those."""
    fields = [" ".join(field.split()) for field in prop.fields] + [""] * ADDRESS_FIELDS
    box, floor, street, town, region, postcode, country = fields[:ADDRESS_FIELDS]
    facts = {
        "street": ", ".join(part for part in (street, floor, box) if part),
        "postcode": postcode,
        "city": ", ".join(part for part in (town, region) if part),
        "country": country,
    }
    return {name: value for name, value in facts.items() if value}


MOST_OCTETS = 75
# Labels that vCard has a type for.
TYPES = {"home": "home", "work": "work", "mobile": "cell"}
LABELS = {"home": "Home", "work": "Work", "cell": "Mobile"}
ESCAPES = str.maketrans({"\\": "\\\\", ",": "\\,", ";": "\\;", "\n": "\\n"})


def write_cards(clients: Iterable[Client]) -> str:
    """A card for each client, vCard 4.0, in lines of at most 75 octets (RFC 6350, 3.2)."""
    return "".join(f"{fold_line(line)}\r\n" for client in clients for line in _card(client))


def _card(client: Client) -> Iterator[str]:
    """The name is not taken apart: only the client knows which word is the family's."""
    yield "BEGIN:VCARD"
    yield "VERSION:4.0"
    yield f"FN:{escape(client.name)}"
    yield f"N:;{escape(client.name)};;;"
    if client.is_company:
        yield "KIND:org"
        yield f"ORG:{escape(client.legal_name or client.name)}"
    contacts = [client.first(kind) for kind in Contact.Kind.values]
    contacts += client.contacts.all() if client.pk else []
    filled = [contact for contact in contacts if contact.is_filled]
    for number, contact in enumerate(filled, 1):
        alike = [other for other in filled if other.kind == contact.kind]
        first = len(alike) > 1 and contact is alike[0]
        yield from _reach(contact, number, first=first)
    if client.language:
        yield f"LANG:{client.language}"
    if client.notes:
        yield f"NOTE:{escape(client.notes)}"
    yield "END:VCARD"


def _reach(contact: Contact, number: int, *, first: bool) -> Iterator[str]:
    """A phone, e-mail or address; its label is a type where the standard has one, else beside it.

    Of several the first is preferred (RFC 6350, 5.3). A label beside a property of the same group
    is what address books write (RFC 9555 names it; from memory).
    """
    typed = TYPES.get(contact.label.lower(), "")
    is_phone = contact.kind == Contact.Kind.PHONE
    types = ["voice"] * is_phone + [typed] * bool(typed and (is_phone or typed != "cell"))
    params = ""
    if types:
        params = f";TYPE={types[0]}" if len(types) == 1 else f';TYPE="{",".join(types)}"'
    params += ";PREF=1" if first else ""
    beside = "" if typed in types and LABELS[typed] == contact.label else contact.label
    group = f"item{number}." if beside else ""
    if contact.kind == Contact.Kind.ADDRESS:
        parts = [contact.street, contact.city, "", contact.postcode, contact.country_name]
        yield f"{group}ADR{params}:;;" + ";".join(map(escape, parts))
    else:
        name = "TEL" if contact.kind == Contact.Kind.PHONE else "EMAIL"
        yield f"{group}{name}{params}:{escape(contact.value)}"
    if beside:
        yield f"{group}X-ABLabel:{escape(beside)}"


def escape(text: str) -> str:
    return re.sub(r"\r\n?", "\n", text).translate(ESCAPES)


def fold_line(line: str) -> str:
    """A long line in parts, each but the first behind a blank; no letter is cut in two."""
    parts, octets = [""], 0
    for letter in line:
        size = len(letter.encode())
        if octets + size > MOST_OCTETS:
            parts.append("")
            octets = 1
        parts[-1] += letter
        octets += size
    return "\r\n ".join(parts)
