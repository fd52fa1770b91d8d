"""Address book cards: vCard 4.0 (RFC 6350) out; 4.0, 3.0 (RFC 2426) and phones' 2.1 in."""

import quopri
import re
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import islice
from urllib.parse import unquote

from clients.forms import MOST_CONTACTS
from clients.models import MOST_LABEL, Client, Contact
from studio.shop.charsets import letters_of
from studio.shop.files import DAMAGED, NOT_TEXT, Row, UnreadableFileError, in_time

WRITTEN = re.compile(r"([^\r\n]*)(?:\r\n|\n|\r|\Z)")
EDGES = ("BEGIN:VCARD", "END:VCARD")
LINE = re.compile(
    r"(?:(?P<group>[\w-]+)\.)?(?P<name>[A-Za-z0-9-]+)(?P<params>(?:;(?:[^\";:]|\"[^\"]*\")*)*):(?P<value>.*)",
    re.DOTALL,
)
PARAM = re.compile(r";((?:[^\";]|\"[^\"]*\")*)")
ESCAPED = re.compile(r"\\(.)", re.DOTALL)
LETTER = re.compile(r"\\?.", re.DOTALL)
LAST_PREFERENCE = 101
MOST_LETTERS = 10_000  # of a name or an address


@dataclass(frozen=True)
class Property:
    """One property: where it stands, its name in capitals, its types, its value as written."""

    line: int
    name: str
    params: dict[str, list[str]]
    value: str
    group: str = ""
    whose: str = ""
    """The agent's name, if it is not the client's own."""
    is_guess: bool = False

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
        for letter in LETTER.findall(self.value[:MOST_LETTERS]):
            if letter == ";":
                parts.append("")
            else:
                parts[-1] += letter
        return [unescape(part).strip() for part in parts]

    @property
    def preference(self) -> int:
        """1 is the most preferred (RFC 6350, 5.3); a bare ``pref`` of older versions is 1."""
        if self.whose:
            return LAST_PREFERENCE + 1
        given = self.params.get("PREF", [""])[0]
        if given.isdecimal():
            return int(given)
        return 1 if "pref" in self.types else LAST_PREFERENCE


def properties(text: str) -> Iterator[Property]:
    """The properties of all cards in a text; a line that is none has no name."""
    for line, content in unfold(text):
        parts = LINE.fullmatch(content)
        if parts:
            params = _params(parts["params"])
            value, guessed = _decoded(parts["value"], params)
            name, group = parts["name"].upper(), parts["group"] or ""
            yield Property(line, name, params, value, group, is_guess=guessed)
        elif content.strip():
            yield Property(line, "", {}, content)


def unfold(text: str) -> Iterator[tuple[int, str]]:
    """Whole lines with the number of their first.

    A line that begins with a blank continues the one before: the blank is only the fold's (RFC
    6350, 3.2), in vCard 2.1 it is also the text's (2.1.3). So does any line after a
    quoted-printable one that ends in ``=``, as vCard 2.1 has it.
    """
    start, parts, quoted, blank = 0, [""], False, ""
    for number, written in enumerate(WRITTEN.finditer(text), 1):
        in_time()
        line = written[1]
        if quoted and parts[-1].endswith("=") and line.strip().upper() not in EDGES:
            parts[-1] = parts[-1][:-1]
            parts.append(line.rstrip(" \t"))
        elif line[:1] in {" ", "\t"} and start:
            parts.append(blank + line[1:])
        else:
            yield start, "".join(parts)
            start, parts = number, [line]
            head = line.partition(":")[0].upper()
            quoted = "QUOTED-PRINTABLE" in head
            if quoted:
                parts = [line.rstrip(" \t")]
            if head == "VERSION":
                blank = " " if line[8:].strip() == "2.1" else ""
    yield start, "".join(parts)


def _params(text: str) -> dict[str, list[str]]:
    """Parameters by name. A bare word, as vCard 2.1 has it, is an encoding or a type."""
    params: dict[str, list[str]] = {}
    for word in PARAM.findall(text):
        name, equals, value = word.strip().partition("=")
        if not equals:
            is_encoding = name.upper() in {"QUOTED-PRINTABLE", "BASE64", "8BIT", "7BIT"}
            name, value = "ENCODING" if is_encoding else "TYPE", name
        values = [part.strip(' "').lower() for part in value.split(",")]
        params.setdefault(name.strip().upper(), []).extend(values)
    return params


def _decoded(value: str, params: dict[str, list[str]]) -> tuple[str, bool]:
    """The value without its encoding, and whether its letters are a guess."""
    if "quoted-printable" not in params.get("ENCODING", []):
        return value, False
    data = quopri.decodestring(value.encode())
    try:
        return data.decode(params.get("CHARSET", ["utf-8"])[0]), False
    except (LookupError, UnicodeDecodeError):
        return letters_of(data).text, True


def unescape(value: str) -> str:
    return ESCAPED.sub(lambda escaped: "\n" if escaped[1] in "nN" else escaped[1], value)


ADDRESS_FIELDS = 7
PLACES = {"street": "street", "postcode": "postcode", "city": "town", "country": "country"}
MARKED = re.compile(r"_\$!<(.*)>!\$_")
NO_VOICE = {"fax", "pager", "modem", "textphone"}
VERSIONS = ("2.1", "3.0", "4.0")
# What a client has no place for, and is said to be left out: one and several of it.
LEFT_OUT = {
    "PHOTO": ("photograph", "photographs"), "LOGO": ("logo", "logos"),
    "SOUND": ("sound", "sounds"), "KEY": ("key", "keys"), "BDAY": ("birthday", "birthdays"),
    "ANNIVERSARY": ("anniversary", "anniversaries"), "URL": ("web address", "web addresses"),
    "IMPP": ("chat address", "chat addresses"), "NICKNAME": ("nickname", "nicknames"),
    "TITLE": ("job title", "job titles"), "ROLE": ("job title", "job titles"),
    "RELATED": ("relation", "relations"), "FAX": ("fax number", "fax numbers"),
}  # fmt: skip
DATA = {"PHOTO", "LOGO", "SOUND", "KEY"}
# What is read, or says something of the card and not of the person.
READ = {
    "BEGIN", "END", "VERSION", "FN", "N", "ORG", "KIND", "TEL", "EMAIL", "ADR", "LABEL", "NOTE",
    "LANG", "AGENT", "X-ABLABEL", "UID", "REV", "PRODID", "SOURCE", "PROFILE", "MAILER", "CLASS",
    "NAME", "SORT-STRING", "XML", "CLIENTPIDMAP", "CATEGORIES", "GEO", "TZ", "MEMBER", "GENDER",
    "CALURI", "CALADRURI", "FBURL", "X-ABADR", "X-ABUID", "X-ABSHOWAS",
}  # fmt: skip
OF_AN_AGENT = {"TEL", "EMAIL", "ADR", "NOTE"}
MOST_REMARKS = 3
Card = list[Property]


def read_cards(text: str, *, most_cards: int, left_out: Counter[str] | None = None) -> list[Row]:
    """One row a card, by facts; what is not the first of its kind has a number: ``phone 2``.

    ``left_out`` gets what the cards hold besides, by its property. Raises UnreadableFileError if
    there is no card, or more than ``most_cards``.
    """
    rows: list[Row] = []
    for card in _cards(text):
        if len(rows) == most_cards:
            words = f"The file has more than {most_cards} cards. Send it in parts."
            raise UnreadableFileError(words)
        rows.append(_row(card))
        if left_out is not None:
            left_out.update(_left_out(card))
    if not rows:
        raise UnreadableFileError("There is no vCard in the file.")
    return rows


def left_out_words(left_out: Counter[str]) -> str:
    """``3 photographs, 1 birthday``; what has no word here is called as in the file."""
    counts: Counter[tuple[str, str]] = Counter()
    for name, count in left_out.items():
        counts[LEFT_OUT.get(name, (name, name))] += count
    return ", ".join(
        f"{count} {one if count == 1 else several}"
        for (one, several), count in counts.most_common()
    )


def _left_out(card: Card) -> Iterator[str]:
    for prop in card:
        if prop.name == "TEL" and NO_VOICE.intersection(prop.types):
            yield "FAX"
        elif prop.name and prop.name not in READ:
            yield prop.name


def add_note(row: Row, note: str) -> None:
    in_time()
    row.cells["notes"] = f"{row.cells.get('notes', '')}\n{note}".strip()


def _cards(text: str) -> Iterator[Card]:
    """Each from its beginning to its end, or to the next beginning where the end is missing.

    The card of an agent stands within the one of whom the agent acts for: what it holds is put
    there, with the agent's name, and the rest of the outer card is read on.
    """
    cards: list[Card] = []
    for prop in properties(text):
        if prop.name in {"BEGIN", "END"} and prop.value.strip().upper() == "VCARD":
            yield from _edge(cards, prop)
        elif cards:
            _add(cards, prop)
    if cards:
        yield _closed(cards)


def _edge(cards: list[Card], prop: Property) -> Iterator[Card]:
    if prop.name == "BEGIN":
        if cards and _opens_agent(cards[-1][-1]):
            cards[-1].pop()
        elif cards:
            yield _closed(cards)
        cards.append([prop])
    elif len(cards) > 1:
        _close_agent(cards)
    elif cards:
        yield cards.pop()


def _add(cards: list[Card], prop: Property) -> None:
    """Data of a picture or a sound is left out, also where its lines are not folded."""
    if prop.name == "AGENT" and prop.text.upper() == "BEGIN:VCARD":
        cards.append([prop])
    elif prop.name == "AGENT" and prop.text.upper().startswith("BEGIN:VCARD"):
        cards.append(next(_cards(prop.text), [prop]))
        _close_agent(cards)
    elif prop.name in DATA:
        cards[-1].append(replace(prop, value=""))
    elif prop.name or cards[-1][-1].name not in DATA:
        cards[-1].append(prop)


def _opens_agent(prop: Property) -> bool:
    return prop.name == "AGENT" and not prop.text


def _closed(cards: list[Card]) -> Card:
    while len(cards) > 1:
        _close_agent(cards)
    return cards.pop()


def _close_agent(cards: list[Card]) -> None:
    """What the innermost card holds goes to the outermost at once, however deep it stands."""
    agent = cards.pop()
    name = _name(agent)
    cards[0].append(replace(agent[0], name="AGENT", value=escape(name)))
    for prop in agent[1:]:
        if prop.name in OF_AN_AGENT:
            cards[0].append(replace(prop, whose=prop.whose or name or "Agent"))
        elif prop.name not in READ or prop.name == "AGENT":
            cards[0].append(prop)


def _row(card: Card) -> Row:
    row = Row(card[0].line, {"name": _name(card)})
    if any(prop.text.lower() == "group" for prop in _all(card, "KIND")):
        row.problems.append("This is a list of cards, not a person.")
    if spoken := _texts(card, "LANG"):
        row.cells["language"] = spoken[0]
    _note(row, card)
    beside = _beside(card)
    _reach_by(row, "phone", _phones(card), beside)
    places = _all(card, "ADR")
    row.cells |= _places(places[: MOST_CONTACTS - 1], beside)
    if len(places) >= MOST_CONTACTS:
        row.remarks.append(f"Only {MOST_CONTACTS - 1} of {len(places)} addresses are kept.")
    _reach_by(row, "email", _all(card, "EMAIL"), beside)
    _remark(row, card)
    return row


def _note(row: Row, card: Card) -> None:
    """Notes, and what a client has no other place for; whose firm it is, is one."""
    for prop in _all(card, "NOTE"):
        add_note(row, f"{prop.whose}: {prop.text}" if prop.whose else prop.text)
    for agent in _texts(card, "AGENT"):
        add_note(row, f"Agent: {agent}")
    firms, name = _firms(card), row.cells["name"]
    if firms[:1] == [name] or any(prop.text.lower() == "org" for prop in _all(card, "KIND")):
        row.cells["who"] = Client.Who.COMPANY
    for firm in [firm for firm in firms if firm != name]:
        if "who" in row.cells and "legal_name" not in row.cells:
            row.cells["legal_name"] = firm
        else:
            add_note(row, f"Organisation: {firm}")
    for label in _all(card, "LABEL") if not _all(card, "ADR") else []:
        add_note(row, label.text)


def _remark(row: Row, card: Card) -> None:
    """Say what of a card was not understood."""
    row.problems += [DAMAGED] if any(NOT_TEXT.search(prop.value) for prop in card) else []
    for version in _texts(card, "VERSION"):
        if version not in VERSIONS:
            row.remarks.append(f"vCard {version} is not known; read as {VERSIONS[-1]}.")
    for prop in card:
        if prop.is_guess:
            row.remarks.append(
                f"Line {prop.line} does not say in which letters: “{prop.text[:40]}”."
            )
    strays = [prop for prop in card if not prop.name]
    for prop in strays[:MOST_REMARKS]:
        row.remarks.append(f"Line {prop.line} says nothing that is known: “{prop.value[:40]}”.")
    if len(strays) > MOST_REMARKS:
        row.remarks.append(f"So do {len(strays) - MOST_REMARKS} more.")


def _reach_by(row: Row, fact: str, props: list[Property], beside: dict[str, str]) -> None:
    """Cells of the phones or the e-mails, each once; the first is there even if there is none."""
    values: dict[str, str] = {}
    for prop in props:
        value = _number(prop.text) if fact == "phone" else " ".join(prop.text.split())
        if value and not values.get(value):
            values[value] = _label(prop, beside)
    cells = {fact: ""}
    heading = "phone" if fact == "phone" else "e-mail"
    if len(values) >= MOST_CONTACTS:
        row.remarks.append(f"Only {MOST_CONTACTS - 1} of {len(values)} {heading}s are kept.")
    for number, (value, label) in enumerate(islice(values.items(), MOST_CONTACTS - 1), 1):
        names = (fact, f"{fact}_label")
        if number > 1:
            names = (f"{heading} {number}", f"{heading} {number} label")
        cells |= {name: cell for name, cell in zip(names, (value, label), strict=True) if cell}
    row.cells |= cells


def _places(props: list[Property], beside: dict[str, str]) -> dict[str, str]:
    cells: dict[str, str] = {}
    number = 0
    for prop in props:
        if not (place := _address(prop)):
            continue
        number += 1
        if number > 1:
            place = {f"{PLACES[name]} {number}": value for name, value in place.items()}
        if label := _label(prop, beside):
            place["address_label" if number == 1 else f"address {number} label"] = label
        cells |= place
    return cells


def _beside(card: Card) -> dict[str, str]:
    """The labels of a card by their groups."""
    labels: dict[str, str] = {}
    for prop in card:
        if prop.name == "X-ABLABEL" and prop.group:
            labels.setdefault(prop.group.lower(), MARKED.sub(r"\1", prop.text))
    return labels


def _label(prop: Property, beside: dict[str, str]) -> str:
    """What the card calls it: the label beside it in its group, else a type that people know."""
    typed = next((LABELS[kind] for kind in prop.types if kind in LABELS), "")
    return (prop.whose or beside.get(prop.group.lower()) or typed)[:MOST_LABEL]


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
    return next(iter(_firms(card)), "")


def _firms(card: Card) -> list[str]:
    firms = (", ".join(filter(None, prop.fields)) for prop in _all(card, "ORG"))
    return [firm for firm in firms if firm]


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
