"""The stages of a release: the owner names, orders, guesses and ticks them."""

from django.db import transaction
from django.db.models import Max, ProtectedError

from jobs.makes.models import Release, Stage
from jobs.makes.releases.actions.releases import locked
from jobs.makes.releases.errors import ReleaseError
from studio.shop import clock


@transaction.atomic
def add_stage(*, release: Release, name: str, minutes: int = 0) -> Stage:
    """One more, after the others. Sent twice it is one.

    Raises ReleaseError where the release has another stage of that name.
    """
    release = locked(release)
    there = release.stages.filter(name=name).first()
    if there is not None:
        if there.minutes != minutes:
            raise ReleaseError(_taken(name))
        return there
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
    for position, one in enumerate(row):
        one.place = position
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
