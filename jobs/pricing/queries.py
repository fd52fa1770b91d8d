"""The price list as its page shows it: found by what is typed, all garments or one kind."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from statistics import median

from jobs.pricing.models import GarmentKind, Operation, Surcharge
from studio.shop.money import round_half_up

WORD = re.compile(r"\w+")


def words_of(text: str) -> str:
    """The words of a name as they are found by, a space before each: `` jeans hem``."""
    return "".join(f" {word}" for word in WORD.findall(text.casefold()))


def is_meant(words: str, typed: str) -> bool:
    """Whether each typed word begins one of ``words``, in whatever order."""
    return all(f" {word}" in words for word in words_of(typed).split())


@dataclass(frozen=True)
class PriceRow:
    """An entry of the list, the words it is found by, and whether it is meant now."""

    entry: Operation | Surcharge
    words: str
    meant: bool


@dataclass(frozen=True)
class PriceSection:
    """A kind of garment, or with None the surcharges, with its rows."""

    kind: GarmentKind | None
    rows: list[PriceRow]

    @property
    def key(self) -> str:
        return str(self.kind.pk) if self.kind else "surcharges"

    @property
    def meant(self) -> int:
        return sum(row.meant for row in self.rows)

    @property
    def offered(self) -> int:
        here = self.kind is None or self.kind.active
        return sum(here and row.entry.active for row in self.rows)


def offered_operations() -> int:
    """How many kinds of work the counter offers. One query."""
    return Operation.objects.filter(active=True, garment_kind__active=True).count()


def price_sections(
    kinds: Iterable[GarmentKind], surcharges: Iterable[Surcharge], typed: str = "", only: str = ""
) -> list[PriceSection]:
    """The whole list in its order; ``only`` is the key of one section."""

    def section(kind: GarmentKind | None, entries: Iterable[Operation | Surcharge]) -> PriceSection:
        head, key = (kind.name, str(kind.pk)) if kind else ("Surcharge", "surcharges")
        listed = [(entry, words_of(f"{head} {entry.name}")) for entry in entries]
        here = only in ("", key)
        return PriceSection(
            kind,
            [PriceRow(entry, words, here and is_meant(words, typed)) for entry, words in listed],
        )

    sections = [section(kind, kind.operations.all()) for kind in kinds]
    return [*sections, section(None, surcharges)]


def hour_asked() -> int | None:
    """What an hour asks: the middle one of the list's prices by the hour. One query."""
    offered = Operation.objects.filter(active=True, minutes__gt=0).order_by()
    hours = [Fraction(price * 60, each) for price, each in offered.values_list("price", "minutes")]
    return round_half_up(Fraction(median(hours))) if hours else None
