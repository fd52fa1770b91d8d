"""The facts that are noted of a garment: each declared once, with where it is asked and shown.

From this list derive the draft, the field on the drop-off page, the agreement's data (and so what a
change of it is called), the papers, the ticket's page, and what erasing a client leaves.

A new fact, such as the size on the label, is two entries:

1. a column of ``models.Garment``, text or one of a few choices, with its migration;
2. a ``Fact`` with that name in ``FACTS`` below.

Rules of its own (a length in two columns, chips beside the words) are written where the heel height
and the condition have theirs: ``heels`` and the counter's ``GarmentForm``. The photographs, the
kind, and what happens to the garment (handed over, tried on) are no facts in this sense.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from jobs.tickets.models import Garment
from studio.shop.locales import show_length
from studio.shop.words import Words

VALUE = "{value}"  # one of a few choices, told as it is
COLUMNS = {field.name: field for field in Garment._meta.concrete_fields}  # noqa: SLF001 -- Django's documented way


@dataclass(frozen=True)
class Fact:
    """``name`` is the column, and the field on the drop-off page if it is ``asked`` there.

    ``asked`` is the field's label, ``label`` the one on the ticket's page, ``words`` how papers say
    it; empty where it is not. One that is ``printed`` is copied into the agreement under ``key``,
    in words where it is one of a few choices. What is ``personal`` goes when the client is erased.
    ``beside`` are the columns that go with it; one that ``follows`` is written by the program when
    another changes, and is in no draft.
    """

    name: str
    asked: str = ""
    label: str = ""
    words: str = ""
    printed: bool = True
    personal: bool = True
    key: str = ""
    beside: tuple[str, ...] = ()
    follows: bool = False

    @property
    def columns(self) -> tuple[str, ...]:
        return (self.name, *self.beside)

    @property
    def choices(self) -> list[tuple[str, str]]:
        """What it is one of, if it is one of a few."""
        return [(str(value), str(words)) for value, words in COLUMNS[self.name].choices or ()]

    def of(self, garment: Garment) -> str:
        """As a reader sees it; empty where nothing is noted."""
        value = str(getattr(garment, self.name))
        return dict(self.choices).get(value, value) if value else ""


# In the order of the papers.
FACTS = (
    Fact("colour", asked="Colour", personal=False),
    Fact("description", asked="Description"),
    Fact("condition", asked="Where, and anything else", label="Condition", words="Noted: {value}"),
    Fact(
        "things_left", asked="Left with it (belt, shoes …)", label="Left with it",
        words="Left with it: {value}",
    ),
    Fact("heel_typed", label="Heel height", words="Heel {value}", key="heel", beside=("heel_mm",)),
    Fact(
        "heel_was", label="Heel before", beside=("heel_changed_at",), follows=True,
        words="Heel before {value}, so hems are marked anew before they are cut",
    ),
    Fact("shoes", label="Shoes", words="Shoes: {value}"),
    Fact("underwear", label="Underwear", words="Underwear: {value}"),
    Fact("washed", asked="Washed before?", label="Washed", words=VALUE, personal=False),
    Fact("worn", asked="New or worn", personal=False),
    Fact(
        "fibre", asked="Fibres on the care label (80 % wool …)", label="Fibres", printed=False,
    ),
    Fact("iron", asked="Iron on the care label", label="Iron", printed=False, personal=False),
    Fact("cloth", label="Cloth", printed=False, personal=False),
    Fact("hangs", asked="Hangs (rail, shelf, box …)", printed=False),
)  # fmt: skip
ASKED = tuple(fact for fact in FACTS if fact.asked)
DRAFTED = tuple(column for fact in FACTS if not fact.follows for column in fact.columns)
PRINTED = {fact.key or fact.name: fact for fact in FACTS if fact.printed}


def columns(*, personal: bool) -> tuple[str, ...]:
    return tuple(name for fact in FACTS if fact.personal == personal for name in fact.columns)


def forgotten() -> dict[str, Any]:
    """What is personal, as it is once the client is erased: empty."""
    return {name: COLUMNS[name].get_default() for name in columns(personal=True)}


def printed(garment: Garment) -> dict[str, str]:
    """What the agreement copies."""
    return {key: fact.of(garment) for key, fact in PRINTED.items()}


def places_of(garments: Iterable[Garment]) -> str:
    """Where they hang, each place once: ``rail 2``, or ``rail 2, box``; empty if nobody knows."""
    return ", ".join(dict.fromkeys(garment.hangs for garment in garments if garment.hangs))


def on_paper(agreed: Mapping[str, Any], words: Words | None = None) -> list[str]:
    """What a paper says was noted, each in a few words. Older agreements know fewer facts."""
    words = words or Words()
    noted = (
        (fact, str(agreed[key])) for key, fact in PRINTED.items() if fact.words and agreed.get(key)
    )
    return [
        words(fact.words, value=_in_words(fact, value, words))
        if fact.words != VALUE
        else words.heading(value)
        for fact, value in noted
    ]


def _in_words(fact: Fact, value: str, words: Words) -> str:
    return show_length(value, words.locale) if fact.name in {"heel_typed", "heel_was"} else value


def on_page(garment: Garment) -> list[tuple[str, str]]:
    """What the ticket's page lists, each with its label."""
    shown = ((fact.label, fact.of(garment)) for fact in FACTS if fact.label)
    return [(label, value) for label, value in shown if value]
