"""The garment sheet: a piece laid flat beside one that fits, and what the difference is."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from django import forms
from django.contrib import messages
from django.forms.boundfield import BoundField
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from clients.fields import LengthField, unit_of
from clients.fit.lengths import Length
from clients.fit.pieces import WINDOW, Change, PieceMeasure, change_of
from clients.sheets.known import Body, body_of
from clients.sheets.queries import pieces_for
from jobs.pricing.models import Basis, Measure
from jobs.tickets.actions import measure_piece
from jobs.tickets.actions.agree import amount_agreed, is_asked
from jobs.tickets.actions.lock import TicketError
from jobs.tickets.fit.answers import Pin, Show
from jobs.tickets.fit.body import answers
from jobs.tickets.fit.doubts import AmountDoubt, amount_doubt
from jobs.tickets.fit.views import garment_or_404, open_lines
from jobs.tickets.models import Garment, Line
from jobs.tickets.views import ask_for_amount
from studio.shop.forms import StudioFormMixin
from studio.shop.http import StudioRequest, sent
from studio.shop.look.garments import drawing_of
from studio.shop.models import Profile, User

COLUMNS = {"piece": "This piece", "fits": "One that fits"}
AT_A_WINDOW = {"piece": "Now", "fits": "Wanted"}
EACH = {"hem": Basis.LEG, "cuffs": Basis.SLEEVE, "legs": Basis.LEG}
LEGS = {"trousers", "jeans", "shorts", "jumpsuit"}


@dataclass(frozen=True)
class AskedLine:
    """A line that a difference answers, and what is to be asked before it is agreed there."""

    line: Line
    doubt: AmountDoubt | None


@dataclass(frozen=True)
class Difference:
    """What a row comes to: the amount for a line, and the lines that ask for it."""

    says: str
    pin: Pin
    lines: list[AskedLine]


@dataclass(frozen=True)
class SheetRow:
    piece: PieceMeasure
    name: str
    key: str
    cells: tuple[BoundField, ...]
    difference: Difference | None

    @property
    def says_something(self) -> bool:
        return any(cell.value() or cell.errors for cell in self.cells)


class GarmentSheetForm(StudioFormMixin, forms.Form):
    """Two lengths for each measure that such a garment has, none of them needed."""

    def __init__(
        self, *args: Any, garment: Garment, studio: Profile, by: User, **kwargs: Any
    ) -> None:
        drawing = drawing_of(garment.kind_name)
        self.by = by
        taken = {key for lengths in garment.measures.values() for key in lengths}
        self.garment, self.pieces = garment, pieces_for(drawing, taken)
        self.columns = AT_A_WINDOW if drawing == "curtains" else COLUMNS
        self.title = "Rail and drop" if drawing == "curtains" else "Laid flat"
        unit = unit_of(studio)
        start = {
            f"{column}-{key}": typed.removesuffix(f" {unit}")
            for column, lengths in garment.measures.items()
            for key, typed in lengths.items()
        }
        super().__init__(*args, studio=studio, initial=start, **kwargs)
        for piece in self.pieces:
            for key, name in piece.fields.items():
                for column, words in self.columns.items():
                    # What was once written beside it stays.
                    if column == "fits" and key in WINDOW and f"fits-{key}" not in start:
                        continue
                    field = LengthField(label=f"{name}, {words.lower()}", required=False)
                    field.for_studio(studio)
                    self.fields[f"{column}-{key}"] = field

    def measures(self) -> dict[str, dict[str, str]]:
        """As typed with their units, by column."""
        found: dict[str, dict[str, str]] = {}
        for name, length in self.cleaned_data.items():
            column, _, key = name.partition("-")
            if length:
                found.setdefault(column, {})[key] = length.with_unit
        return found

    def rows(self, lines: list[Line]) -> Iterator[SheetRow]:
        """Every measure; where both were taken, what the difference comes to."""
        for piece in self.pieces:
            for key, name in piece.fields.items():
                names = [f"{column}-{key}" for column in self.columns]
                cells = tuple(self[name] for name in names if name in self.fields)
                lengths = [_length(cell) for cell in cells]
                here, fits = lengths if len(lengths) == len(self.columns) else (None, None)
                change = change_of(piece, here.mm, fits.mm) if here and fits else None
                difference = self._difference(change, lines) if change else None
                yield SheetRow(piece, name, key, cells, difference)

    def _difference(self, change: Change, lines: list[Line]) -> Difference:
        unit, place = unit_of(self.studio), change.piece.place
        shown = Show("in" if unit == "in" else "cm")(change.by)
        measure = Measure.LET_OUT if change.more else Measure.TAKE_OFF
        whole = place == "hem" and drawing_of(self.garment.kind_name) not in LEGS
        basis = Basis.TOTAL if whole or change.piece.half else EACH.get(place, Basis.TOTAL)
        if change.piece.half and place == "legs":
            basis = Basis.LEG
        pin = Pin(change.by, shown, measure, basis)
        asked = [line for line in lines if answers({place}, line)] if place else []
        return Difference(
            pin.words, pin, [AskedLine(line, self._doubt(line, pin)) for line in asked]
        )

    def _doubt(self, line: Line, pin: Pin) -> AmountDoubt | None:
        """What is agreed already is not asked about again."""
        if line.pinned == pin.words:
            return None
        return amount_doubt(self.garment.kind_name, line, pin, self.body)

    @cached_property
    def body(self) -> Body:
        return body_of(self.garment.ticket.client, by=self.by)


def _length(cell: BoundField) -> Length | None:
    """What stands in a field, as far as it can be read."""
    try:
        length: Length | None = cell.field.clean(cell.value())
    except forms.ValidationError:
        return None
    return length


@require_http_methods(["GET", "POST"])
def garment_sheet(request: StudioRequest, pk: int) -> HttpResponse:
    """Keep the measures; with ``line`` and ``key`` agree a difference on that line."""
    garment = garment_or_404(pk)
    form = GarmentSheetForm(sent(request), garment=garment, studio=request.studio, by=request.user)
    lines = open_lines(garment)
    if request.method == "POST" and form.is_valid():
        try:
            measure_piece(garment=garment, measures=form.measures(), by=request.user)
            if put := request.POST.get("put"):
                _put(request, form, lines, put)
            else:
                messages.success(request, "Saved.")
        except TicketError as wrong:
            messages.error(request, str(wrong))
        return redirect("garment-sheet", garment.pk)
    rows = list(form.rows(lines))
    sides = {row.piece.key for row in rows if row.key != row.piece.key and row.says_something}
    context = {"garment": garment, "form": form, "rows": rows, "sides": sides}
    return render(request, "tickets/fit/garment_sheet.html", context)


def _put(request: StudioRequest, form: GarmentSheetForm, lines: list[Line], put: str) -> None:
    """Agree, or ask for, the difference of the row on the line that it answers. Raises TicketError.

    One that is hard to believe is asked about: what is ``put`` then has to say that it is right.
    """
    key, number, sure = (*put.split(":", 2), "", "")[:3]
    for row in form.rows(lines):
        for asked in row.difference.lines if row.difference and row.key == key else []:
            line = asked.line
            if str(line.pk) == number and row.difference:
                if asked.doubt and asked.doubt.key != sure:
                    raise TicketError(asked.doubt.says)
                reason, pin = f"{row.name} as one that fits", row.difference.pin
                if is_asked(line, request.user):
                    ask_for_amount(request, line, pin, reason=reason)
                    return
                with amount_agreed(line, pin, request.studio, request.user, reason):
                    pass
                messages.success(request, f"Agreed on {line.name}: {pin.words}.")
                return
    raise TicketError("This difference is no longer there.")
