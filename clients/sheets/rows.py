"""The rows of the form: a measure, its sides folded away, the last value and the difference."""

from dataclasses import dataclass
from functools import cached_property

from django.forms.boundfield import BoundField

from clients.fields import unit_of
from clients.fit.changes import Taking, changed
from clients.fit.measures import AT_WAIST, MEASURES, SIDES, Measure, Spot
from clients.sheets.forms import SheetForm, field_name
from clients.sheets.showing import as_typed, shown_change


@dataclass(frozen=True)
class Place:
    """One field. ``last`` is what the sheet before says, ``change`` the difference to it."""

    bound: BoundField
    last: str
    change: str


@dataclass(frozen=True)
class MeasureRow:
    measure: Measure
    place: Place
    sides: tuple[Place, ...]

    @property
    def opens(self) -> bool:
        """Whether left and right are shown at once: there is something in them, or wrong."""
        return any(side.bound.value() or side.bound.errors for side in self.sides)


class SheetRows:
    """The measures of ``form``, the usual ones first, beside those of the sheet before."""

    def __init__(self, form: SheetForm, before: Taking | None) -> None:
        self.form, self.before, self.unit = form, before, unit_of(form.studio)
        self.taking = form.taking() if self._readable() else None
        self.all = [self._row(measure) for measure in MEASURES.values()]
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
    def others(self) -> list[MeasureRow]:
        return [row for row in self.all if not row.measure.usual]

    @property
    def others_open(self) -> bool:
        """Whether something among the rarer measures is filled in or wrong."""
        return any(
            row.opens or row.place.bound.value() or row.place.bound.errors for row in self.others
        )

    def _row(self, measure: Measure) -> MeasureRow:
        sides = SIDES if measure.sided else ()
        return MeasureRow(
            measure,
            self._place((measure.key, "")),
            tuple(self._place((measure.key, side)) for side in sides),
        )

    def _place(self, spot: Spot) -> Place:
        bound = self.form[field_name(spot)]
        last = self.before.lengths.get(spot) if self.before else None
        shown = f"last {as_typed(last, self.unit)}" if last else ""
        if last:
            # The field says so to who cannot see it; the script reckons with the rest.
            bound.field.help_text = bound.help_text = shown
            bound.field.widget.attrs |= {"data-last": f"{last.mm}", "data-at": _levels(spot)}
        change = changed(self.taking, self.before, spot) if self.taking else None
        return Place(bound, shown, shown_change(change, self.unit))


def _levels(spot: Spot) -> str:
    """The fields that have to say the same as last time for a difference to mean something."""
    waist = ["waist_at"] if spot[0] in AT_WAIST else []
    return " ".join(waist + (["front_from"] if spot[0] == "front_waist" else []))
