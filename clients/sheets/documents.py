"""The measurement card: one sheet on paper for the work table, to read from or to write on.

The note of a sheet is left out, for a card lies about and a note may tell of health.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from clients.fit.changes import Taking
from clients.fit.lengths import Length, Unit, parse_length, show_length
from clients.fit.measures import MEASURES, SIDES, BodyMeasure, Measures
from clients.models import Sheet
from clients.sheets.display import as_typed
from clients.sheets.figure import figures
from clients.sheets.queries import all_measures, taking_of
from studio.shop import paper
from studio.shop.models import Profile
from studio.shop.paper import Document

SIZES = ("A5", "A6", "half-letter")
# Rows on a side of a card: on those before the last, and on the last, above the figure.
ROWS = {"A6": (22, 8)}
USUAL_ROWS = (30, 30)
MOST_BLANK = 30  # rows of a card of which some are blank
# More pairs of sides, or longer texts, and the rows of a card move closer together.
MANY_PAIRS, LONG_NAME, LONG_WORN = 2, 30, 70
LONG_MEASURE = 18  # letters of a measure's name that stand on one line of every card


@dataclass(frozen=True)
class CardValue:
    """A value as it was typed and in the other unit; both empty where it is to be written."""

    side: str
    typed: str = ""
    other: str = ""


@dataclass(frozen=True)
class CardRow:
    measure: BodyMeasure
    values: tuple[CardValue, ...]

    @property
    def pair(self) -> bool:
        """Whether it takes two lines: left and right differ, or its name is long."""
        differ = len(self.values) > 1 and any(value.typed for value in self.values)
        return differ or _lines(self.measure) > 1


def measurement_card(sheet: Sheet, *, studio: Profile, page: str) -> bytes:
    """The card of a sheet as PDF on ``page``, one of ``SIZES``: as many sides as it takes."""
    title = f"Measurement card {sheet.client.name}"
    return paper.write([_lay_out(sheet, studio, page, title)], title=title)


def card_rows(taking: Taking, known: Measures = MEASURES) -> list[CardRow]:
    """What was taken, and blank rows for what usually is and for the owner's own, in the order of
    the list; ``known`` are the measures that there are.
    """
    measures = {**known, **taking.measures}
    taken = [key for key in measures if any((key, side) in taking.lengths for side in ("", *SIDES))]
    others = sorted(
        (measure for measure in measures.values() if not measure.retired),
        key=lambda measure: (not (measure.usual or measure.own), -len(measure.sets)),
    )
    shown, room = set(taken), MOST_BLANK - sum(_lines(measures[key]) for key in taken)
    for measure in others:
        if measure.key not in shown and _lines(measure) <= room:
            shown.add(measure.key)
            room -= _lines(measure)
    return [
        CardRow(measure, tuple(_values(measure, taking)))
        for key, measure in measures.items()
        if key in shown
    ]


def _lines(measure: BodyMeasure) -> int:
    return 2 if measure.own and len(measure.name) > LONG_MEASURE else 1


def sides_of(rows: list[CardRow], page: str) -> list[list[CardRow]]:
    """The rows by side; the figure stands below those of the last."""
    full, last = ROWS.get(page, USUAL_ROWS)
    sides: list[list[CardRow]] = []
    while len(rows) > last:
        sides.append(rows[:full])
        rows = rows[full:]
    return [*sides, rows]


def heel_shown(sheet: Sheet) -> str:
    """The heel as it was typed; the unit, where none was written, is the one that gives its mm."""
    units: tuple[Unit, ...] = ("cm", "in")
    if not sheet.heel_typed or sheet.heel_mm is None:
        return sheet.heel_typed
    read = (parse_length(sheet.heel_typed, unit, zero=True) for unit in units)
    heel = next((length for length in read if length.mm == sheet.heel_mm), None)
    return as_typed(heel, other_unit(heel.unit)) if heel else sheet.heel_typed


def other_unit(unit: Unit) -> Unit:
    """Centimetres beside inches, inches beside everything metric."""
    return "in" if unit in {"cm", "mm"} else "cm"


def _values(measure: BodyMeasure, taking: Taking) -> Iterator[CardValue]:
    taken = [side for side in ("", *SIDES) if (measure.key, side) in taking.lengths]
    if not taken:
        yield from (CardValue(side) for side in (SIDES if measure.sided else ("",)))
    elif "" in taken:
        yield _value("", taking.lengths[measure.key, ""])
    else:
        for side in SIDES:
            length = taking.lengths.get((measure.key, side))
            yield _value(side, length) if length else CardValue(side)


def _value(side: str, length: Length) -> CardValue:
    other = other_unit(length.unit)
    return CardValue(side, as_typed(length, other), f"{show_length(length.mm, other)} {other}")


def _lay_out(sheet: Sheet, studio: Profile, page: str, title: str) -> Document:
    rows = card_rows(taking_of(sheet), all_measures())
    long_name = len(sheet.client.name) > LONG_NAME
    pairs = sum(row.pair for row in rows)
    return paper.lay_out(
        "clients/sheets/card.html",
        {
            "studio": studio,
            "sheet": sheet,
            "client": sheet.client,
            "heel": heel_shown(sheet),
            "long_name": long_name,
            "tight": pairs > MANY_PAIRS or long_name or len(sheet.worn) > LONG_WORN,
            "sides": sides_of(rows, page),
            "figures": figures({row.measure.key for row in rows}),
        },
        title=title,
        language=studio.language_tag,
        page=page,
        sheet="card",
    )
