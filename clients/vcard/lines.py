"""The lines that cards are made of: folded, escaped, sometimes quoted-printable."""

import quopri
import re
from collections.abc import Iterator
from dataclasses import dataclass

BREAK = re.compile(r"\r\n|\n|\r")
LINE = re.compile(
    r"(?:[\w-]+\.)?(?P<name>[A-Za-z0-9-]+)(?P<params>(?:;(?:[^\";:]|\"[^\"]*\")*)*):(?P<value>.*)",
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
        found = LINE.fullmatch(content)
        if found:
            params = _params(found["params"])
            value = _decoded(found["value"], params)
            yield Property(line, found["name"].upper(), params, value)


def unfold(text: str) -> Iterator[tuple[int, str]]:
    """Whole lines with the number of their first.

    A line that begins with a blank continues the one before (RFC 6350, 3.2); so does any line
    after a quoted-printable one that ends in ``=``, as vCard 2.1 has it.
    """
    start, parts = 0, [""]
    for number, line in enumerate(BREAK.split(text), 1):
        if _is_soft(parts):
            parts[-1] = parts[-1][:-1]
            parts.append(line)
        elif line[:1] in {" ", "\t"} and start:
            parts.append(line[1:])
        else:
            yield start, "".join(parts)
            start, parts = number, [line]
    yield start, "".join(parts)


def _is_soft(parts: list[str]) -> bool:
    head = parts[0].partition(":")[0].upper()
    return parts[-1].endswith("=") and "QUOTED-PRINTABLE" in head


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
    return ESCAPED.sub(lambda found: "\n" if found[1] in "nN" else found[1], value)
