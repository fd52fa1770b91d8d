"""Who in a file is new, and who is here already."""

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from enum import StrEnum

from clients.entries import Entry
from clients.finding import telling
from clients.models import Client, name_key
from studio.shop.text import digits


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
