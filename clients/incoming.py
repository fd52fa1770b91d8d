"""Files of clients, read and checked."""

from dataclasses import dataclass, field

from django.core.files.base import File

from clients.countries import country_code
from clients.csvfile import read_table
from clients.entries import Entry
from clients.forms import ClientForm
from clients.models import FACTS, Client
from clients.vcard import read_cards
from studio.shop.textfile import UnreadableFileError, read_text

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
