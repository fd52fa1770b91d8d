"""The verbs of a release: each one transaction, safe to send twice, and recorded.

Each gives the entry of the history that tells of it, None where nothing changed; what makes a row
gives that first.
"""

from collections.abc import Collection, Mapping, Sequence
from datetime import date
from typing import Any, TypeVar
from uuid import UUID

from django.db import transaction
from django.db.models import Max, ProtectedError

from jobs.makes import pictures, verbs
from jobs.makes.models import Cost, Erratum, Make, Picture, Release, Sale, Stage, Tester
from jobs.makes.releases.sales_file import plan_sales
from studio.shop import clock
from studio.shop.files import Row as CsvRow
from studio.shop.history import Verb, record
from studio.shop.models import Entry, Profile, User
from studio.shop.once import OtherContentError, sent_before
from studio.shop.pictures import FreshPicture

STAGES = ("Draft", "Toile", "Grade", "Test", "Photograph", "Write up", "Publish")

Row = TypeVar("Row", Tester, Erratum, Cost)


class ReleaseError(ValueError):
    """A step that a release cannot take. Its sentence says what can be done."""


@pictures.with_pictures
def start_release(
    *, name: str, by: User, photo: FreshPicture | None = None, **fields: Any
) -> tuple[Release, Entry | None]:
    """A release with the usual stages. Sent twice it is one.

    Raises ReleaseError where another release has that name.
    """
    # One at a time, so that the second of two at once finds the first.
    Profile.objects.select_for_update().get()
    facts = fields | {"name": name}
    if release := Release.objects.filter(name=name).first():
        if any(getattr(release, field) != value for field, value in facts.items()):
            raise ReleaseError(f"There is a release called “{name}” already.")
        return release, None
    release = Release(**facts)
    with record(verbs.START_RELEASE, about=[release], by=by, release=name) as step:
        if photo:
            release.picture = pictures.keep(photo)
            step.add(release.picture)
        release.save()
        stages = Stage.objects.bulk_create(
            Stage(release=release, name=stage, place=place) for place, stage in enumerate(STAGES)
        )
        step.add(release, *stages)
    return release, step.entry


@pictures.with_pictures
def change_release(
    *, release: Release, by: User, photo: FreshPicture | None = None, **fields: Any
) -> Entry | None:
    """Write on it. Raises ReleaseError where another release has its new name."""
    return _change(release, verbs.CHANGE_RELEASE, by, photo, **fields)


@transaction.atomic
def price_release(*, release: Release, by: User, **fields: Any) -> Entry | None:
    """What a copy costs, what is kept of it, and what an hour is worth."""
    return _change(release, verbs.PRICE_RELEASE, by, **fields)


@transaction.atomic
def publish(*, release: Release, by: User) -> Entry | None:
    """Out from today, or from the day it came out already."""
    day = _locked(release).published_on or clock.today()
    return _change(release, verbs.PUBLISH, by, published_on=day)


@transaction.atomic
def withdraw(*, release: Release, by: User) -> Entry | None:
    """Not published after all. What was sold stays."""
    return _change(release, verbs.WITHDRAW, by, published_on=None)


@transaction.atomic
def put_away(*, release: Release, away: bool, by: User) -> Entry | None:
    """Put it in the drawer with all that is written on it, or take it out again."""
    if away == (_locked(release).put_away_at is not None):
        return None
    verb = verbs.PUT_RELEASE_AWAY if away else verbs.TAKE_RELEASE_OUT
    return _change(release, verb, by, put_away_at=clock.now() if away else None)


def _change(
    release: Release, verb: Verb, by: User, photo: FreshPicture | None = None, **fields: Any
) -> Entry | None:
    release = _locked(release)
    name = fields.get("name", release.name)
    if Release.objects.exclude(pk=release.pk).filter(name=name).exists():
        raise ReleaseError(f"There is a release called “{name}” already.")
    with record(verb, about=release, by=by, release=name) as step:
        step.keep(release)
        if photo:
            fields["picture"] = pictures.keep(photo)
            step.add(fields["picture"])
        for field, value in fields.items():
            setattr(release, field, value)
        release.save(update_fields=list(fields))
    return step.entry


@pictures.with_pictures
def add_stage(
    *, release: Release, name: str, by: User, minutes: int = 0, photo: FreshPicture | None = None
) -> tuple[Stage, Entry | None]:
    """One more, after the others. Sent twice it is one.

    Raises ReleaseError where the release has another stage of that name.
    """
    release = _locked(release)
    if stage := release.stages.filter(name=name).first():
        if stage.minutes != minutes:
            raise ReleaseError(_taken(name))
        return stage, None
    last = release.stages.aggregate(last=Max("place"))["last"]
    place = 0 if last is None else last + 1
    with record(verbs.ADD_STAGE, about=release, by=by, stage=name) as step:
        stage = Stage(release=release, name=name, minutes=minutes, place=place)
        if photo:
            stage.picture = pictures.keep(photo)
            step.add(stage.picture)
        stage.save()
        step.add(stage)
    return stage, step.entry


@pictures.with_pictures
def change_stage(
    *, stage: Stage, name: str, minutes: int, by: User, photo: FreshPicture | None = None
) -> Entry | None:
    """Another name, guess or picture. Raises ReleaseError where another stage has that name."""
    release = _locked(stage.release)
    if release.stages.filter(name=name).exclude(pk=stage.pk).exists():
        raise ReleaseError(_taken(name))
    with record(verbs.CHANGE_STAGE, about=release, by=by, stage=name) as step:
        step.keep(stage)
        stage.name, stage.minutes = name, minutes
        if photo:
            stage.picture = pictures.keep(photo)
            step.add(stage.picture)
        stage.save(update_fields=["name", "minutes", "picture"])
    return step.entry


@transaction.atomic
def guess_stages(
    *, release: Release, guesses: Mapping[int, int], done: Collection[int], by: User
) -> Entry | None:
    """The minutes of all stages by their keys, and which are done, at once.

    A stage that the page did not show stays as it is; a second tick leaves the moment of the first.
    """
    release = _locked(release)
    with record(verbs.GUESS_STAGES, about=release, by=by, release=release.name) as step:
        stages = release.stages.filter(pk__in=list(guesses))
        step.keep(stages)
        rows = list(stages)
        for stage in rows:
            stage.minutes = guesses[stage.pk]
            stage.done_at = (stage.done_at or clock.now()) if stage.pk in done else None
        Stage.objects.bulk_update(rows, ["minutes", "done_at"])
    return step.entry


@pictures.with_pictures
def add_to_release(
    *, release: Release, by: User, sample: Make | None = None, photos: Sequence[FreshPicture] = ()
) -> Entry | None:
    """A make that was sewn to show it, and photographs of it."""
    release = _locked(release)
    with record(verbs.ADD_TO_RELEASE, about=release, by=by, release=release.name) as step:
        step.keep(release)
        rows = [pictures.keep(photo) for photo in photos]
        step.add(*rows)
        release.pictures.add(*rows)
        if sample:
            release.samples.add(sample)
    return step.entry


@transaction.atomic
def take_from_release(
    *, release: Release, by: User, sample: Make | None = None, picture: Picture | None = None
) -> Entry | None:
    """The make or the photograph does not belong to it any more."""
    release = _locked(release)
    with record(verbs.TAKE_FROM_RELEASE, about=release, by=by, release=release.name) as step:
        step.keep(release)
        if sample:
            release.samples.remove(sample)
        if picture:
            release.pictures.remove(picture)
            if release.picture_id == picture.pk:
                release.picture = None
                release.save(update_fields=["picture"])
    return step.entry


@transaction.atomic
def move_stage(*, stage: Stage, step: int, place: int, by: User) -> Entry | None:
    """One place up (``step`` -1) or down (1); at the end nothing changes.

    ``place`` is where the page showed it, from 0: elsewhere by now, it was moved already.
    """
    release = _locked(stage.release)
    row = list(release.stages.all())
    if row.index(stage) != place or not 0 <= place + step < len(row):
        return None
    with record(verbs.MOVE_STAGE, about=release, by=by, stage=stage.name) as moving:
        moving.keep(release.stages.all())
        row.insert(place + step, row.pop(place))
        for position, moved in enumerate(row):
            moved.place = position
        Stage.objects.bulk_update(row, ["place"])
    return moving.entry


@transaction.atomic
def set_done(*, stage: Stage, done: bool, by: User) -> Entry | None:
    """Tick it, or take the tick off. A second tick leaves the moment of the first."""
    release = _locked(stage.release)
    stage.refresh_from_db()
    if done == (stage.done_at is not None):
        return None
    verb = verbs.TICK_STAGE if done else verbs.UNTICK_STAGE
    with record(verb, about=release, by=by, stage=stage.name) as step:
        step.keep(stage)
        stage.done_at = clock.now() if done else None
        stage.save(update_fields=["done_at"])
    return step.entry


@transaction.atomic
def take_stage_off(*, stage: Stage, by: User) -> Entry | None:
    """This release goes without it. Raises ReleaseError when minutes hang on it."""
    release = _locked(stage.release)
    try:
        with record(verbs.TAKE_STAGE_OFF, about=release, by=by, stage=stage.name) as step:
            step.keep(stage)
            Stage.objects.filter(pk=stage.pk).delete()
    except ProtectedError:
        raise ReleaseError(f"Minutes hang on “{stage.name}”, so it stays.") from None
    return step.entry


@transaction.atomic
def write_row(
    kind: type[Row], *, release: Release, by: User, **facts: Any
) -> tuple[Row, Entry | None]:
    """One more row with these facts. The same facts sent twice are one row."""
    facts["release"] = release = _locked(release)
    if row := kind.objects.filter(**facts).first():
        return row, None
    row = kind(**facts)
    with record(verbs.ADD_ROW[kind], about=release, by=by, row=str(row)) as step:
        row.save()
        step.add(row)
    return row, step.entry


@transaction.atomic
def change_row(row: Tester | Erratum | Cost | Sale, *, by: User, **facts: Any) -> Entry | None:
    """Write these facts on the row instead of what they were."""
    release = _locked(row.release)
    with record(verbs.CHANGE_ROW[type(row)], about=release, by=by, row=str(row)) as step:
        step.keep(row)
        for field, value in facts.items():
            setattr(row, field, value)
        row.save(update_fields=list(facts))
    return step.entry


@transaction.atomic
def take_row_off(row: Tester | Erratum | Cost | Sale, *, by: User) -> Entry | None:
    """It was written by mistake. Taken off twice, it is gone all the same."""
    release = _locked(row.release)
    with record(verbs.TAKE_ROW_OFF[type(row)], about=release, by=by, row=str(row)) as step:
        step.keep(row)
        type(row).objects.filter(pk=row.pk).delete()
    return step.entry


class SoldAlreadyError(ReleaseError):
    """The form was saved as ``sale`` before it was changed and sent again."""

    def __init__(self, sale: Sale) -> None:
        super().__init__("This form was already saved.")
        self.sale = sale


def sale_of(release: Release, form_key: UUID) -> Sale | None:
    """The sale that this form has made."""
    return release.sales.filter(row_key=str(form_key)).first()


@transaction.atomic
def sell(
    *, release: Release, day: date, copies: int, net: int, form_key: UUID, by: User
) -> tuple[Sale, Entry | None]:
    """Copies of a day and what was left of them; less than none where they came back.

    The same form sent twice is one sale. Raises SoldAlreadyError where it has made another one.
    """
    release = _locked(release)
    try:
        again = sent_before(form_key, release.pk, day, copies, net)
    except OtherContentError:
        again = False
    if made := sale_of(release, form_key):
        if again:
            return made, None
        raise SoldAlreadyError(made)
    sale = Sale.objects.create(
        release=release, row_key=str(form_key), day=day, copies=copies, net=net
    )
    with record(verbs.SELL, about=release, by=by, copies=copies, day=day) as step:
        step.add(sale)
    return sale, step.entry


@transaction.atomic
def import_sales(
    *, release: Release, rows: list[CsvRow], studio: Profile, by: User
) -> Entry | None:
    """Add the rows that are not here yet. Sent twice, the second adds nothing."""
    release = _locked(release)
    new = plan_sales(rows, release, studio).new
    many = "1 row" if len(new) == 1 else f"{len(new)} rows"
    with record(verbs.IMPORT_SALES, about=release, by=by, rows=many) as step:
        sales = Sale.objects.bulk_create(
            Sale(release=release, day=sold.day, copies=sold.copies, net=sold.net, row_key=sold.key)
            for sold in new
        )
        step.add(*sales)
    return step.entry


def _locked(release: Release) -> Release:
    """The release as it is now; nobody else changes what hangs on it in this transaction."""
    return Release.objects.select_for_update().get(pk=release.pk)


def _taken(name: str) -> str:
    return f"This release has a stage called “{name}” already."
