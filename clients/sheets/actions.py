"""Taking sheets, correcting one on its own day, and the owner's ranges."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db import transaction

from clients.actions import held
from clients.fit.lengths import Length
from clients.fit.measures import Range, Spot
from clients.models import Client, Measured, MeasureRange, Sheet
from clients.sheets.files import sort_out
from studio.shop import clock
from studio.shop.files import Entry
from studio.shop.models import Profile, User
from studio.shop.numbers import lock


class SheetError(Exception):
    """Why a sheet cannot be kept or corrected."""


def take_sheet(
    *,
    client: Client,
    by: User,
    facts: Mapping[str, Any],
    lengths: Mapping[Spot, Length],
    form_key: UUID,
) -> Sheet:
    """A new sheet with its values. The same ``form_key`` twice is one sheet.

    Raises GoneError where the client was merged away or erased, SheetError where the form was
    that of another client.
    """
    with transaction.atomic():
        client = held(client)
        if made := Sheet.objects.filter(form_key=form_key).first():
            if made.client_id != client.pk:
                raise SheetError("This form has kept another client's sheet. Start afresh.")
            return made
        sheet = Sheet.objects.create(client=client, taken_by=by, form_key=form_key, **facts)
        _write(sheet, lengths)
        return sheet


def may_correct(sheet: Sheet) -> bool:
    """A sheet is put right on its own day; later it stands, and a new one is taken."""
    return sheet.taken_on == clock.today()


def correct_sheet(
    *, sheet: Sheet, facts: Mapping[str, Any], lengths: Mapping[Spot, Length]
) -> Sheet:
    """Other facts and values for a sheet of today.

    Raises GoneError, and SheetError for a sheet of another day.
    """
    with transaction.atomic():
        held(sheet.client)
        sheet = Sheet.objects.get(pk=sheet.pk)
        if not may_correct(sheet):
            raise SheetError("A sheet is corrected on its own day only. Take a new one.")
        for name, value in facts.items():
            setattr(sheet, name, value)
        sheet.save(update_fields=[*facts])
        sheet.values.all().delete()
        _write(sheet, lengths)
        return sheet


def set_ranges(*, ranges: Mapping[str, Range]) -> None:
    """These are the owner's own ranges, and no others."""
    with transaction.atomic():
        lock("measure-ranges")
        MeasureRange.objects.all().delete()
        MeasureRange.objects.bulk_create(
            MeasureRange(key=key, low_mm=own.low, high_mm=own.high) for key, own in ranges.items()
        )


def _write(sheet: Sheet, lengths: Mapping[Spot, Length]) -> None:
    Measured.objects.bulk_create(
        Measured(sheet=sheet, key=key, side=side, mm=one.mm, typed=one.typed, unit=one.unit)
        for (key, side), one in lengths.items()
    )


@dataclass(frozen=True)
class Taken:
    """How many sheets were added, and how many were here already."""

    added: int
    here: int


def take_in(*, client: Client, by: User, studio: Profile, entries: list[Entry]) -> Taken:
    """Add the sheets that are not here yet; all of them or none.

    Sent twice, the second finds every sheet here. Raises GoneError and SheetError.
    """
    with transaction.atomic():
        client = held(client)
        found = sort_out(entries, client=client, studio=studio)
        new = [one for one in found if not one.here]
        for one in new:
            take_sheet(
                client=client,
                by=by,
                facts=one.form.facts(),
                lengths=one.form.lengths(),
                form_key=one.form.cleaned_data["form_key"],
            )
        return Taken(len(new), len(found) - len(new))
