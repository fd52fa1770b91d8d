"""What other rooms start from: the newest measures of a client, each with the day of its sheet."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from clients.fit.known import doubt_of_age, known_of, week_on
from clients.fit.lengths import Length, Unit, parse_length
from clients.fit.measures import Side
from clients.models import Client, Sheet
from clients.sheets.queries import sheets_of, sheets_of_all, taking_of
from studio.shop import clock
from studio.shop.locales import show_day
from studio.shop.may import Tick
from studio.shop.models import User

HEEL = "heel"


@dataclass(frozen=True)
class BodyFact:
    """One measure as pages tell it. ``doubt`` says why it is better taken again, if it is;
    ``growing`` why it is before cloth is cut, of a body that grows.
    """

    key: str
    name: str
    sides: dict[Side, Length]
    sheet: Sheet
    doubt: str
    growing: str = ""
    level: str = ""

    @property
    def day(self) -> date:
        return self.sheet.taken_on

    @property
    def typed(self) -> str:
        """As it was typed, with its unit; empty where left and right differ."""
        lengths = [*self.sides.values()]
        whole = "" in self.sides or len(lengths) > 1
        alike = len({length.mm for length in lengths}) == 1
        return lengths[0].with_unit if whole and alike else ""

    @property
    def larger(self) -> str:
        return max(self.sides.values(), key=lambda length: length.mm).with_unit

    @property
    def value(self) -> str:
        """``78 cm``, or ``left 78 cm, right 77.5 cm``."""
        sides = self.sides.items()
        return self.typed or ", ".join(f"{side} {length.with_unit}" for side, length in sides)

    def says(self, locale: str) -> str:
        """``Inside leg 78 cm, sheet of Thu 12 March``."""
        level = f" ({self.level.lower()})" if self.level else ""
        doubt = f": {self.doubt}" if self.doubt else ""
        return f"{self.name} {self.value}{level}, sheet of {show_day(self.day, locale)}{doubt}"


class Body:
    """The newest value of each measure that was taken, by key; the heel is one of them."""

    def __init__(self, sheets: Sequence[Sheet] = (), *, health: bool = False) -> None:
        """``sheets`` from the oldest, with their values. A pregnancy is told with ``health``."""
        self.facts: dict[str, BodyFact] = {}
        takings = [taking_of(sheet) for sheet in sheets]
        pregnant = "pregnant" if health and pregnancy_of(sheets) else ""
        for key, known in known_of(takings).items():
            sheet = next(
                s for s, taking in zip(sheets, takings, strict=True) if taking is known.taking
            )
            level = dict(Sheet.WaistAt.choices).get(known.waist_at, "")
            grows = "a child" if sheet.minor else pregnant
            self.facts[key] = BodyFact(
                key, known.name, known.sides, sheet, _doubt(sheet, health),
                f"{grows}: measure again before cutting" if grows else "", level,
            )  # fmt: skip
        for sheet in sheets:
            if heel := _heel(sheet):
                doubt = _doubt(sheet, health)
                self.facts[HEEL] = BodyFact(HEEL, "Heel height", {"": heel}, sheet, doubt)

    def __bool__(self) -> bool:
        return bool(self.facts)

    def get(self, key: str) -> BodyFact | None:
        return self.facts.get(key)

    def of(self, keys: Iterable[str]) -> list[BodyFact]:
        """Those of ``keys`` that were taken, in their order."""
        return [self.facts[key] for key in keys if key in self.facts]


def body_of(client: Client, *, by: User) -> Body:
    """What ``by`` may know of the client's body: nothing without that tick. Two queries."""
    sheets = sheets_of(client) if by.may(Tick.MEASURES) else ()
    return Body(sheets, health=by.may(Tick.HEALTH))


def bodies_of(clients: Iterable[Client], *, by: User) -> dict[int, Body]:
    """As ``body_of``, of each client by key. Three queries, however many there are."""
    if not by.may(Tick.MEASURES):
        return {}
    sheets: dict[int, list[Sheet]] = {}
    for sheet in sheets_of_all(clients):
        sheets.setdefault(sheet.client_id, []).append(sheet)
    health = by.may(Tick.HEALTH)
    return {pk: Body(theirs, health=health) for pk, theirs in sheets.items()}


def pregnancy_of(sheets: Sequence[Sheet]) -> Sheet | None:
    """The last of ``sheets``, the oldest first, if it tells of a pregnancy that is not over.

    What was taken by who is not told of it says nothing.
    """
    told = (sheet for sheet in reversed(sheets) if sheet.taken_by.may(Tick.HEALTH))
    last = next(told, None)
    going = last and last.pregnant and week_on(last.taken_on, last.week, clock.today())
    return last if going else None


def _doubt(sheet: Sheet, health: bool) -> str:
    pregnant = health and sheet.pregnant
    return doubt_of_age(sheet.taken_on, clock.today(), child=sheet.minor, pregnant=pregnant)


def _heel(sheet: Sheet) -> Length | None:
    """The heel with the unit that gives its millimetres."""
    if sheet.heel_mm is None or not sheet.heel_typed:
        return None
    units: tuple[Unit, ...] = ("cm", "in")
    read = (parse_length(sheet.heel_typed, unit, zero=True) for unit in units)
    return next((length for length in read if length.mm == sheet.heel_mm), None)
