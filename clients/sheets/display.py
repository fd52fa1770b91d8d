"""Sheets in the studio's own units and days: rows and lines that pages only have to print."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import cached_property

from django.forms.boundfield import BoundField

from clients.fields import unit_of
from clients.fit.changes import Course, Taking, changed, comparable, course, newest, trend
from clients.fit.lengths import Length, Unit, plain, show_change, show_length, split_unit
from clients.fit.measures import (
    AT_WAIST,
    SIDES,
    BodyMeasure,
    Spot,
    bra_size,
    bust_size,
    by_high_bust,
    drop,
    spot_name,
    spots,
)
from clients.sheets.figure import Doll, tape_on
from clients.sheets.forms import SheetForm, field_name
from studio.shop.locales import show_day
from studio.shop.look.bars import Point, Trend
from studio.shop.money import exact, round_half_up

WIDE, HIGH, EDGE = 120, 32, 4  # units of the picture, and what is kept free around the line


@dataclass(frozen=True)
class Sparkline:
    """The corners of the line and its last point, in whole units from the upper left."""

    points: tuple[tuple[int, int], ...]

    @property
    def line(self) -> str:
        return " ".join(f"{x},{y}" for x, y in self.points)

    @property
    def last(self) -> tuple[int, int]:
        return self.points[-1]


def sparkline(points: Sequence[tuple[date, Decimal]]) -> Sparkline:
    """Days to the right, millimetres upwards, both as wide as there is room; at least one point."""
    days = [day.toordinal() for day, _ in points]
    sizes = [exact(mm) for _, mm in points]
    span, rise = days[-1] - days[0], max(sizes) - min(sizes)
    room, height = WIDE - 2 * EDGE, HIGH - 2 * EDGE
    return Sparkline(
        tuple(
            (
                EDGE + (round_half_up(exact(day - days[0]) * room / span) if span else room),
                EDGE + (round_half_up((max(sizes) - mm) * height / rise) if rise else height // 2),
            )
            for day, mm in zip(days, sizes, strict=True)
        )
    )


@dataclass(frozen=True)
class Value:
    """One measure of one day as it was typed. ``change`` is the difference to the sheet before."""

    day: str
    name: str
    shown: str
    change: str = ""
    elsewhere: bool = False  # taken from another place of the body than the last one


LAID = Decimal(15)  # mm of change from which on the tape lies on the figure


def changed_most(taking: Taking, before: Taking | None) -> set[str]:
    """The measures that have changed by so much that the figure shows where."""
    changes = {spot[0]: changed(taking, before, spot) for spot in taking.lengths}
    return {key for key, mm in changes.items() if mm is not None and abs(mm) >= LAID}


@dataclass(frozen=True)
class Compared:
    """A measure on two days: less or more as a bar of at most 40 of 100 from the middle."""

    name: str
    was: str
    now: str
    change: str
    start: int
    wide: int


def compared(taking: Taking, before: Taking, unit: Unit) -> tuple[list[Compared], list[str]]:
    """What has changed, the largest first, and the names of what is the same in both."""
    changes = [(spot, changed(taking, before, spot)) for spot in taking.lengths]
    known = [(spot, mm) for spot, mm in changes if mm is not None]
    differing = sorted((pair for pair in known if pair[1]), key=lambda pair: -abs(pair[1]))
    most = abs(differing[0][1]) if differing else Decimal(1)
    rows = []
    for spot, mm in differing:
        wide = max(1, round_half_up(abs(exact(mm)) * 40 / exact(most)))
        rows.append(
            Compared(
                spot_name(spot, taking.measures),
                as_typed(before.lengths[spot], unit),
                as_typed(taking.lengths[spot], unit),
                shown_change(mm, unit),
                50 if mm > 0 else 50 - wide,
                wide,
            )
        )
    return rows, [spot_name(spot, taking.measures) for spot, mm in known if not mm]


@dataclass(frozen=True)
class CourseRow:
    """One measure through the sheets. ``outlook`` says how it may be on the day asked for."""

    last: Value
    spark: Sparkline
    chart: Trend
    alt: str
    values: tuple[Value, ...]
    outlook: str


def as_typed(length: Length, unit: Unit) -> str:
    """As it was typed; with its unit where that is not the studio's."""
    _, own = split_unit(plain(length.typed))
    return length.typed if own or length.unit == unit else f"{length.typed} {length.unit}"


def shown_change(mm: Decimal | None, unit: Unit) -> str:
    return "" if mm is None else show_change(mm, unit)


def value_rows(taking: Taking, before: Taking | None, unit: Unit) -> list[Value]:
    """Every value of a sheet with its difference to the one before."""
    return [
        Value(
            day="",
            name=spot_name(spot, taking.measures),
            shown=as_typed(length, unit),
            change=shown_change(changed(taking, before, spot), unit),
        )
        for spot, length in taking.lengths.items()
    ]


def course_rows(
    takings: Sequence[Taking], unit: Unit, locale: str, day: date | None, *, growing: bool = False
) -> Iterator[CourseRow]:
    """Every measure that was ever taken; ``takings`` from the oldest. O(measures x sheets)."""
    measures = {key: measure for taking in takings for key, measure in taking.measures.items()}
    for spot in spots(measures):
        measured = course(takings, spot)
        if not measured.points:
            continue
        taken = [sheet for sheet in takings if spot in sheet.lengths]
        last, name = taken[-1], spot_name(spot, measures)
        values = tuple(
            Value(
                day=show_day(sheet.day, locale),
                name=name,
                shown=as_typed(sheet.lengths[spot], unit),
                elsewhere=not comparable(spot[0], sheet, last),
            )
            for sheet in taken
        )
        shown = as_typed(last.lengths[spot], unit)
        words = _in_words(name, measured, unit, locale)
        yield CourseRow(
            last=Value(values[-1].day, name, shown, shown_change(measured.change, unit)),
            spark=sparkline(measured.points),
            chart=Trend(
                [
                    Point(on.toordinal(), float(mm), show_day(on, locale), show_length(mm, unit))
                    for on, mm in measured.points
                ],
                words,
            ),
            alt=words,
            values=values,
            outlook=outlook(measured, unit, day, growing=growing) if day else "",
        )


def outlook(measured: Course, unit: Unit, day: date, *, growing: bool) -> str:
    """What a measure may come to on ``day``, in words."""
    line = trend(measured.points, day)
    if line is None:
        return "too few to say"
    ends = (line.low, line.expected, line.high)
    if growing:
        ends = line.growing(measured.last)
    low, mid, high = (show_length(mm, unit) for mm in ends)
    return f"{mid} ({low} to {high}), {show_change(ends[1] - measured.last, unit)}"


def _in_words(name: str, measured: Course, unit: Unit, locale: str) -> str:
    points = ", ".join(
        f"{show_length(mm, unit)} on {show_day(taken, locale)}" for taken, mm in measured.points
    )
    return f"{name}: {points}"


def sizes_of(taking: Taking, unit: Unit) -> list[tuple[str, str]]:
    """What is read off a sheet: size by the bust, bra size, drop, and which bust to choose by."""
    mm = {key: taking.values.get((key, "")) for key in ("bust", "high_bust", "underbust", "waist")}
    bust, high_bust, underbust, waist = mm.values()
    sizes: list[tuple[str, str]] = []
    if bust is None:
        return sizes
    if size := bust_size(bust):
        sizes.append(("Women's size by the bust, EN 13402-3", str(size)))
    if underbust is not None and (bra := bra_size(underbust, bust)):
        sizes.append(("Bra size, EN 13402", bra))
    if high_bust is not None and by_high_bust(high_bust, bust):
        difference = show_length(bust - high_bust, unit)
        words = f"by the high bust: the bust is {difference} {unit} more"
        sizes.append(("Choose a pattern", words))
    if waist is not None:
        chest_less_waist = drop(bust, waist)
        usual = ", as in a ready-made suit" if chest_less_waist.usual else ""
        shown = show_length(chest_less_waist.mm, unit)
        sizes.append(("Chest less waist", f"{shown} {unit}{usual}"))
    return sizes


@dataclass(frozen=True)
class MeasureField:
    """One field. ``last`` is what was taken last, on ``day``, ``change`` the difference to it."""

    bound: BoundField
    last: str
    change: str
    day: date | None


@dataclass(frozen=True)
class MeasureRow:
    measure: BodyMeasure
    place: MeasureField
    sides: tuple[MeasureField, ...]

    @property
    def sets(self) -> str:
        return " ".join((*(["usual"] if self.measure.usual else []), *self.measure.sets))

    @property
    def tape(self) -> Doll:
        return tape_on(self.measure.at)

    @property
    def missing(self) -> bool:
        """Whether none of the sheets before has it, on either side."""
        return not any(place.day for place in (self.place, *self.sides))

    @property
    def shown(self) -> bool:
        """Whether the page has it: one that is retired only where something stands in it."""
        place = self.place.bound
        return not self.measure.retired or self.opens or bool(place.value() or place.errors)

    @property
    def opens(self) -> bool:
        """Whether left and right are shown at once: there is something in them, or wrong."""
        return any(side.bound.value() or side.bound.errors for side in self.sides)


class SheetRows:
    """The measures of ``form``, the usual ones first, beside what was taken ``before``."""

    def __init__(self, form: SheetForm, before: Sequence[Taking]) -> None:
        self.form, self.before, self.unit = form, before, unit_of(form.studio)
        self.taking = form.taking() if self._readable() else None
        self.all = [row for row in map(self._row, form.measures.values()) if row.shown]
        if not form.is_bound:
            self.usual[0].place.bound.field.widget.attrs["autofocus"] = True

    def _readable(self) -> bool:
        if not self.form.is_bound:
            return False
        self.form.full_clean()
        return "taken_on" in self.form.cleaned_data

    @cached_property
    def usual(self) -> list[MeasureRow]:
        return [row for row in self.all if row.measure.usual]

    @cached_property
    def own(self) -> list[MeasureRow]:
        return [row for row in self.all if row.measure.own]

    @cached_property
    def others(self) -> list[MeasureRow]:
        return [row for row in self.all if not (row.measure.usual or row.measure.own)]

    @property
    def others_open(self) -> bool:
        """Whether something among the rarer measures is filled in or wrong."""
        return any(
            row.opens or row.place.bound.value() or row.place.bound.errors for row in self.others
        )

    def _row(self, measure: BodyMeasure) -> MeasureRow:
        sides = SIDES if measure.sided else ()
        return MeasureRow(
            measure,
            self._place((measure.key, "")),
            tuple(self._place((measure.key, side)) for side in sides),
        )

    def _place(self, spot: Spot) -> MeasureField:
        bound = self.form[field_name(spot)]
        bound.field.widget.attrs["data-high"] = f"{self.form.measures[spot[0]].range.high}"
        before = newest(self.before, spot)
        if before is None:
            return MeasureField(bound, "", "", None)
        last = before.lengths[spot]
        # The field says so to who cannot see it; the script reckons with the rest.
        bound.field.help_text = bound.help_text = f"last {as_typed(last, self.unit)}"
        facts = ("waist_at", "front_from")
        at = {f"data-{name}": getattr(before, name) for name in facts}
        bound.field.widget.attrs |= at | {"data-last": f"{last.mm}", "data-at": _levels(spot)}
        change = changed(self.taking, before, spot) if self.taking else None
        return MeasureField(bound, bound.help_text, shown_change(change, self.unit), before.day)


def _levels(spot: Spot) -> str:
    """The fields that have to say the same as last time for a difference to mean something."""
    waist = ["waist_at"] if spot[0] in AT_WAIST else []
    return " ".join(waist + (["front_from"] if spot[0] == "front_waist" else []))
