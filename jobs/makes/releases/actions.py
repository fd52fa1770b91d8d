"""The verbs of a release: each one transaction, and sent twice as good as once."""

from datetime import date
from typing import Any, TypeVar
from uuid import UUID, uuid4

from django.db import transaction
from django.db.models import Max, ProtectedError

from jobs.makes.models import Cost, Erratum, Release, Sale, Stage, Tester
from jobs.makes.releases.sales_file import plan_sales
from studio.shop import clock
from studio.shop.files import Row as CsvRow
from studio.shop.models import Profile


class ReleaseError(ValueError):
    """A step that a release cannot take. Its sentence says what can be done."""


STAGES = ("Draft", "Toile", "Grade", "Test", "Write up", "Publish")


@transaction.atomic
def start_release(*, name: str, **fields: Any) -> Release:
    """A release with the six usual stages. Sent twice it is one.

    Raises ReleaseError where another release has that name.
    """
    # One at a time, so that the second of two at once finds the first.
    Profile.objects.select_for_update().get()
    facts = fields | {"name": name}
    release = Release.objects.filter(name=name).first()
    if release is not None:
        if any(getattr(release, field) != value for field, value in facts.items()):
            raise ReleaseError(f"There is a release called “{name}” already.")
        return release
    release = Release.objects.create(**facts)
    Stage.objects.bulk_create(
        Stage(release=release, name=stage, place=place) for place, stage in enumerate(STAGES)
    )
    return release


@transaction.atomic
def change_release(*, release: Release, **fields: Any) -> Release:
    """Write on it. Raises ReleaseError where another release has its new name."""
    release = locked(release)
    others = Release.objects.exclude(pk=release.pk)
    if "name" in fields and others.filter(name=fields["name"]).exists():
        raise ReleaseError(f"There is a release called “{fields['name']}” already.")
    for field, value in fields.items():
        setattr(release, field, value)
    release.save(update_fields=list(fields))
    return release


@transaction.atomic
def publish(*, release: Release) -> Release:
    """Out from today, or from the day it came out already."""
    release = locked(release)
    return change_release(release=release, published_on=release.published_on or clock.today())


def withdraw(*, release: Release) -> Release:
    """Not published after all. What was sold stays."""
    return change_release(release=release, published_on=None)


def put_away(*, release: Release, away: bool) -> Release:
    """Put it in the drawer with all that is written on it, or take it out again."""
    return change_release(release=release, put_away_at=clock.now() if away else None)


def locked(release: Release) -> Release:
    """The release as it is now; nobody else changes what hangs on it in this transaction."""
    return Release.objects.select_for_update().get(pk=release.pk)


@transaction.atomic
def add_stage(*, release: Release, name: str, minutes: int = 0) -> Stage:
    """One more, after the others. Sent twice it is one.

    Raises ReleaseError where the release has another stage of that name.
    """
    release = locked(release)
    stage = release.stages.filter(name=name).first()
    if stage is not None:
        if stage.minutes != minutes:
            raise ReleaseError(_taken(name))
        return stage
    last = release.stages.aggregate(last=Max("place"))["last"]
    place = 0 if last is None else last + 1
    return Stage.objects.create(release=release, name=name, minutes=minutes, place=place)


@transaction.atomic
def change_stage(*, stage: Stage, name: str, minutes: int) -> Stage:
    """Another name or guess. Raises ReleaseError where another stage has that name."""
    release = locked(stage.release)
    if release.stages.filter(name=name).exclude(pk=stage.pk).exists():
        raise ReleaseError(_taken(name))
    stage.name, stage.minutes = name, minutes
    stage.save(update_fields=["name", "minutes"])
    return stage


@transaction.atomic
def move_stage(*, stage: Stage, step: int, place: int) -> None:
    """One place up (``step`` -1) or down (1); at the end nothing changes.

    ``place`` is where the page showed it, from 0: elsewhere by now, it was moved already.
    """
    row = list(locked(stage.release).stages.all())
    if row.index(stage) != place or not 0 <= place + step < len(row):
        return
    row.insert(place + step, row.pop(place))
    for position, moved in enumerate(row):
        moved.place = position
    Stage.objects.bulk_update(row, ["place"])


@transaction.atomic
def set_done(*, stage: Stage, done: bool) -> Stage:
    """Tick it, or take the tick off. A second tick leaves the moment of the first."""
    locked(stage.release)
    stage.refresh_from_db()
    if done != (stage.done_at is not None):
        stage.done_at = clock.now() if done else None
        stage.save(update_fields=["done_at"])
    return stage


@transaction.atomic
def take_stage_off(*, stage: Stage) -> None:
    """This release goes without it. Raises ReleaseError when minutes hang on it."""
    locked(stage.release)
    try:
        with transaction.atomic():
            stage.delete()
    except ProtectedError:
        raise ReleaseError(f"Minutes hang on “{stage.name}”, so it stays.") from None


def _taken(name: str) -> str:
    return f"This release has a stage called “{name}” already."


Row = TypeVar("Row", Tester, Erratum, Cost)


@transaction.atomic
def write_row(kind: type[Row], *, release: Release, **facts: Any) -> Row:
    """One more row with these facts. The same facts sent twice are one row."""
    row = {"release": locked(release), **facts}
    return kind.objects.filter(**row).first() or kind.objects.create(**row)


@transaction.atomic
def change_row(row: Row, **facts: Any) -> Row:
    """Write these facts on the row instead of what they were."""
    for field, value in facts.items():
        setattr(row, field, value)
    row.save(update_fields=list(facts))
    return row


@transaction.atomic
def take_row_off(row: Tester | Erratum | Cost | Sale) -> None:
    """It was written by mistake. Taken off twice, it is gone all the same."""
    type(row).objects.filter(pk=row.pk).delete()


@transaction.atomic
def sell(*, release: Release, day: date, copies: int, net: int, form_key: UUID) -> Sale:
    """Copies of a day and what was left of them; less than none where they came back.

    The same form sent twice is one sale.
    """
    release, facts = locked(release), {"day": day, "copies": copies, "net": net}
    sale, new = Sale.objects.get_or_create(release=release, row_key=str(form_key), defaults=facts)
    if not new and (sale.day, sale.copies, sale.net) != (day, copies, net):
        # The browser went back to a page that had been sent, and another sale was typed there.
        return Sale.objects.create(release=release, row_key=str(uuid4()), **facts)
    return sale


@transaction.atomic
def import_sales(*, release: Release, rows: list[CsvRow], studio: Profile) -> int:
    """Add the rows that are not here yet; how many. Sent twice, the second adds nothing."""
    plan = plan_sales(rows, locked(release), studio)
    Sale.objects.bulk_create(
        Sale(release=release, day=sold.day, copies=sold.copies, net=sold.net, row_key=sold.key)
        for sold in plan.new
    )
    return len(plan.new)
