"""What pages read of measurement sheets."""

from collections.abc import Collection, Iterable, Mapping
from datetime import date

from django.http import Http404

from clients.fit.changes import Taking
from clients.fit.lengths import Length
from clients.fit.measures import MEASURES, BodyMeasure, Range, spots, stray
from clients.fit.pieces import PieceMeasure, pieces_of
from clients.models import OWN, Client, MeasureRange, OwnMeasure, Sheet


def sheets_of(client: Client) -> list[Sheet]:
    """All sheets with their values, the oldest first. Two queries."""
    sheets = client.sheets.select_related("taken_by").prefetch_related("values__own")
    return list(sheets.order_by("taken_on", "pk"))


def sheets_of_all(clients: Iterable[Client]) -> list[Sheet]:
    """Those of several clients, the oldest first. Three queries."""
    sheets = Sheet.objects.filter(client__in=clients).select_related("taken_by")
    return list(sheets.prefetch_related("values__own").order_by("taken_on", "pk"))


def sheet_at(pk: int) -> Sheet:
    """One sheet with its client and its values. Raises Http404."""
    sheets = Sheet.objects.select_related("client", "taken_by").prefetch_related("values__own")
    sheet = sheets.filter(pk=pk).first()
    if sheet is None:
        raise Http404
    return sheet


def taking_of(sheet: Sheet) -> Taking:
    """The sheet as the fit sums know it, its measures in the order of the list.

    The owner's own follow, and at the end what no list knows any more: nothing is left out.
    """
    values = list(sheet.values.all())
    own = {value.own.pk: value.own for value in values if value.own}
    strays = {value.key: stray(value.key) for value in values if value.key not in MEASURES}
    measures = MEASURES | (strays | measures_of(own.values()) if strays else {})
    places = {spot: place for place, spot in enumerate(spots(measures))}
    lengths = {
        (value.key, value.side): Length(value.mm, value.typed, value.unit)  # type: ignore[arg-type]
        for value in values
    }
    # One that was made for both sides alike may have had sides once.
    ordered = dict(sorted(lengths.items(), key=lambda pair: places.get(pair[0], len(places))))
    return Taking(sheet.taken_on, ordered, sheet.waist_at, sheet.front_from, measures)


def measures_of(own: Iterable[OwnMeasure]) -> dict[str, BodyMeasure]:
    """The owner's own by key, in the owner's order."""
    ordered = sorted(own, key=lambda measure: (measure.place, measure.pk))
    return {measure.key: measure.as_measure() for measure in ordered}


def all_measures() -> dict[str, BodyMeasure]:
    """Those of the list, and the owner's own of the body, retired ones too. One query."""
    return MEASURES | measures_of(OwnMeasure.objects.filter(of=OwnMeasure.Of.BODY))


def pieces_for(drawing: str, taken: Collection[str]) -> list[PieceMeasure]:
    """The measures that a garment has, as it is drawn: those of the list, then the owner's own.

    One that is retired only where it was ``taken``, by the names of its fields. One query.
    """
    own = []
    for row in OwnMeasure.objects.filter(of=OwnMeasure.Of.GARMENT):
        piece = row.as_piece()
        meant = drawing in piece.drawings if piece.drawings else drawing != "curtains"
        if any(key in taken for key in piece.fields) or (meant and not row.retired_at):
            own.append(piece)
    return [*pieces_of(drawing), *own]


def named_pieces(measures: Mapping[str, Mapping[str, str]]) -> dict[str, dict[str, str]]:
    """What a garment keeps as measured, with the names of the owner's own in place of their keys.

    A query only where there are some.
    """
    own: dict[str, str] = {}
    if any(key.startswith(OWN) for typed in measures.values() for key in typed):
        for row in OwnMeasure.objects.filter(of=OwnMeasure.Of.GARMENT):
            own |= row.as_piece().fields
    return {
        column: {own.get(key, key): length for key, length in typed.items()}
        for column, typed in measures.items()
    }


def sheets_before(client: Client, day: date, sheet: Sheet | None = None) -> list[Sheet]:
    """What a sheet of ``day`` is compared with, the oldest first: of that day, what came before it.

    ``sheet`` is the one that is compared, None while it is new. Two queries.
    """
    number = sheet.pk if sheet else float("inf")
    return [one for one in sheets_of(client) if (one.taken_on, one.pk) < (day, number)]


def others_of(sheet: Sheet) -> list[Sheet]:
    """All other sheets of its client without their values, the latest first."""
    return list(sheet.client.sheets.exclude(pk=sheet.pk).order_by("-taken_on", "-pk"))


def own_ranges() -> dict[str, Range]:
    """The owner's own ranges by measure; a measure without one keeps that of the list."""
    rows = MeasureRange.objects.filter(key__in=MEASURES)
    return {row.key: Range(row.low_mm, row.high_mm) for row in rows}
