"""From cards to clients."""

from collections.abc import Iterator
from urllib.parse import unquote

from clients.entries import Entry
from clients.vcard.lines import Property, properties
from studio.shop.textfile import UnreadableFileError

ADDRESS_FIELDS = 7
NO_VOICE = {"fax", "pager", "modem", "textphone"}
Card = list[Property]


def read_cards(text: str, *, most_cards: int) -> list[Entry]:
    """One entry a card. A client has one number, address and e-mail; more go to the notes.

    Raises UnreadableFileError if there is no card, or more than ``most_cards``.
    """
    cards = list(_cards(text))
    if not cards:
        raise UnreadableFileError("There is no vCard in the file.")
    if len(cards) > most_cards:
        raise UnreadableFileError(f"The file has more than {most_cards} cards. Send it in parts.")
    return [_entry(card) for card in cards]


def _cards(text: str) -> Iterator[Card]:
    card: Card | None = None
    for prop in properties(text):
        is_edge = prop.value.strip().upper() == "VCARD"
        if prop.name == "BEGIN" and is_edge:
            if card:
                yield card
            card = [prop]
        elif prop.name == "END" and is_edge:
            if card:
                yield card
            card = None
        elif card:
            card.append(prop)
    if card:
        yield card


def _entry(card: Card) -> Entry:
    entry = Entry(card[0].line, {"name": _name(card)})
    if any(prop.text.lower() == "group" for prop in _all(card, "KIND")):
        entry.problems.append("This is a list of cards, not a person.")
    for prop in _all(card, "NOTE"):
        entry.add_note(prop.text)
    for fact, values in [("phone", _phones(card)), ("email", _texts(card, "EMAIL"))]:
        first, *more = values or [""]
        entry.facts[fact] = first
        for value in more:
            entry.add_note(f"{'Phone' if fact == 'phone' else 'E-mail'}: {value}")
    addresses = [address for prop in _all(card, "ADR") if (address := _address(prop))]
    first_address, *more_addresses = addresses or [{}]
    entry.facts |= first_address
    for address in more_addresses:
        entry.add_note("Address: " + ", ".join(address.values()))
    return entry


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


def _phones(card: Card) -> list[str]:
    """Numbers to call, mobile ones first among those that nobody prefers."""
    props = [prop for prop in _all(card, "TEL") if not NO_VOICE.intersection(prop.types)]
    props.sort(key=lambda prop: (prop.preference, "cell" not in prop.types))
    return [*dict.fromkeys(number for prop in props if (number := _number(prop.text)))]


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
