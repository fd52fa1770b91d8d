"""From clients to cards."""

import re
from collections.abc import Iterable, Iterator

from clients.models import Client

MOST_OCTETS = 75
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
    if client.phone:
        yield f"TEL;TYPE=voice:{escape(client.phone)}"
    if client.email:
        yield f"EMAIL:{escape(client.email)}"
    address = [client.street, client.city, "", client.postcode, client.country_name]
    if any(address):
        yield "ADR:;;" + ";".join(map(escape, address))
    if client.notes:
        yield f"NOTE:{escape(client.notes)}"
    yield "END:VCARD"


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
