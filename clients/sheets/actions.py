"""Taking sheets, correcting one on its own day, and the owner's ranges."""

from collections.abc import Collection, Iterable, Mapping
from typing import Any
from uuid import UUID

from django.db import transaction

from clients import verbs
from clients.fit.lengths import Length
from clients.fit.measures import MEASURES, Range, Spot
from clients.models import OWN, Client, Measured, MeasureRange, MeasureSet, OwnMeasure, Sheet
from clients.sheets.files import match, twin_of
from studio.shop import clock
from studio.shop.files import Row
from studio.shop.history import record
from studio.shop.models import Entry, Profile, User
from studio.shop.numbers import lock
from studio.shop.once import OtherContentError, sent_before


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

    Raises GoneError where the client was merged away or erased, SheetError where the form has
    kept another sheet.
    """
    with transaction.atomic():
        client = client.locked()
        content = [client.pk, facts, sorted((*spot, length) for spot, length in lengths.items())]
        made = Sheet.objects.filter(form_key=form_key).first()
        try:
            if sent_before(form_key, "sheet", *content) and made:
                return made
        except OtherContentError:
            pass
        if made and made.client_id != client.pk:
            raise SheetError("This form has kept another client's sheet. Start afresh.")
        if made:
            raise SheetError(
                "This form was saved already as the sheet of that day. What you changed since is "
                "not saved: correct that sheet, or start afresh."
            )
        with record(verbs.TAKE, about=client, by=by, day=facts["taken_on"]) as step:
            sheet = Sheet.objects.create(client=client, taken_by=by, form_key=form_key, **facts)
            step.add(sheet, *_write(sheet, lengths))
        return sheet


def may_correct(sheet: Sheet) -> bool:
    """A sheet is put right on its own day; later it stands, and a new one is taken."""
    return sheet.taken_on == clock.today()


def correct_sheet(
    *,
    sheet: Sheet,
    by: User,
    facts: Mapping[str, Any],
    lengths: Mapping[Spot, Length],
    emptied: Collection[Spot],
) -> Sheet:
    """Other facts and values for a sheet of today.

    Values of which nothing was said stay; those of ``emptied`` go, which whoever corrects saw.
    Raises GoneError, and SheetError for a sheet of another day.
    """
    with transaction.atomic():
        client = sheet.client.locked()
        sheet = Sheet.objects.get(pk=sheet.pk)
        if not may_correct(sheet):
            raise SheetError("A sheet is corrected on its own day only. Take a new one.")
        with record(verbs.CORRECT, about=client, by=by, day=sheet.taken_on) as step:
            step.keep(sheet, sheet.values.all())
            for name, value in facts.items():
                setattr(sheet, name, value)
            sheet.save(update_fields=[*facts])
            _write(sheet, lengths, emptied)
        return sheet


def set_ranges(*, ranges: Mapping[str, Range], by: User) -> None:
    """These are the owner's own ranges of the measures of the list, and no others."""
    with record(verbs.RANGES, about=Profile.objects.get(), by=by) as step:
        lock("measure-ranges")
        step.keep(MeasureRange.objects.all())
        MeasureRange.objects.filter(key__in=MEASURES).exclude(key__in=ranges).delete()
        for key, own in ranges.items():
            ends = {"low_mm": own.low, "high_mm": own.high}
            MeasureRange.objects.update_or_create(key=key, defaults=ends)


def save_own_measure(*, measure: OwnMeasure, place: int, by: User) -> Entry | None:
    """A measure of the owner's own, new or changed, at ``place`` among the others from 1.

    Raises SheetError where another measure is called alike.
    """
    studio = Profile.objects.get()
    with record(verbs.MEASURE, about=[studio, measure], by=by, name=measure.name) as step:
        lock("own-measures")
        if twin := twin_of(measure):
            raise SheetError(twin)
        step.keep(OwnMeasure.objects.all())
        row = [one for one in OwnMeasure.objects.all() if one.pk != measure.pk]
        row.insert(max(place, 1) - 1, measure)
        for number, one in enumerate(row, start=1):
            one.place = number
            one.save()
    return step.entry


def remove_own_measure(*, measure: OwnMeasure, by: User) -> Entry | None:
    """No longer asked. One that a sheet has, or a garment may have, is retired: its name stays."""
    studio = Profile.objects.get()
    with record(verbs.MEASURE_AWAY, about=[studio, measure], by=by, name=measure.name) as step:
        step.keep(OwnMeasure.objects.filter(pk=measure.pk))
        of_garments = measure.of == OwnMeasure.Of.GARMENT
        if of_garments or Measured.objects.filter(own=measure).exists():
            OwnMeasure.objects.filter(pk=measure.pk).update(retired_at=clock.now())
        else:
            OwnMeasure.objects.filter(pk=measure.pk).delete()
    return step.entry


def return_own_measure(*, measure: OwnMeasure, by: User) -> Entry | None:
    studio = Profile.objects.get()
    with record(verbs.MEASURE_BACK, about=[studio, measure], by=by, name=measure.name) as step:
        step.keep(measure)
        OwnMeasure.objects.filter(pk=measure.pk).update(retired_at=None)
    return step.entry


def save_set(*, chosen: MeasureSet, by: User) -> Entry | None:
    """A set of the owner's own, new or changed."""
    with record(verbs.SET, about=Profile.objects.get(), by=by, name=chosen.name) as step:
        step.keep(MeasureSet.objects.filter(pk=chosen.pk))
        new = chosen.pk is None
        chosen.save()
        if new:
            step.add(chosen)
    return step.entry


def remove_set(*, chosen: MeasureSet, by: User) -> Entry | None:
    with record(verbs.SET_AWAY, about=Profile.objects.get(), by=by, name=chosen.name) as step:
        step.keep(MeasureSet.objects.filter(pk=chosen.pk))
        MeasureSet.objects.filter(pk=chosen.pk).delete()
    return step.entry


def _write(
    sheet: Sheet, lengths: Mapping[Spot, Length], emptied: Collection[Spot] = ()
) -> list[Measured]:
    """The sheet gets these values and loses those of ``emptied``; gives what it did not have."""
    new = []
    values = {(value.key, value.side): value for value in sheet.values.all()}
    for spot, value in values.items():
        if spot in emptied and spot not in lengths:
            value.delete()
    own = {measure.key: measure for measure in _own_of(lengths)}
    for spot, length in lengths.items():
        value = values.get(spot) or Measured(
            sheet=sheet, key=spot[0], side=spot[1], own=own.get(spot[0])
        )
        value.mm, value.typed, value.unit = length.mm, length.typed, length.unit
        if value.pk:
            value.save()
        else:
            new.append(value)
    return Measured.objects.bulk_create(new)


def _own_of(lengths: Mapping[Spot, Length]) -> Iterable[OwnMeasure]:
    """The owner's own measures among them. A query only where there are some."""
    numbers = [key.removeprefix(OWN) for key, _ in lengths if key.startswith(OWN)]
    return OwnMeasure.objects.filter(pk__in=[number for number in numbers if number.isdecimal()])


def import_sheets(*, client: Client, by: User, studio: Profile, rows: list[Row]) -> int:
    """Add the sheets that are not here yet, all of them or none; how many.

    Sent twice, the second finds every sheet here. Raises GoneError and SheetError.
    """
    with transaction.atomic():
        client = client.locked()
        new = [row for row in match(rows, client=client, studio=studio) if not row.here]
        for row in new:
            take_sheet(
                client=client,
                by=by,
                facts=row.form.facts(),
                lengths=row.form.lengths(),
                form_key=row.form.cleaned_data["form_key"],
            )
        return len(new)
