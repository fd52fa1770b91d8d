"""A release as a whole: begun, described, published, put away."""

from typing import Any

from django.db import transaction

from jobs.makes.models import Release, Stage
from jobs.makes.releases.errors import ReleaseError
from studio.shop import clock
from studio.shop.models import Profile

STAGES = ("Draft", "Toile", "Grade", "Test", "Write up", "Publish")


@transaction.atomic
def start_release(*, name: str, **fields: Any) -> Release:
    """A release with the six usual stages. Sent twice it is one.

    Raises ReleaseError where another release has that name.
    """
    # One at a time, so that the second of two at once finds the first.
    Profile.objects.select_for_update().get()
    told = fields | {"name": name}
    there = Release.objects.filter(name=name).first()
    if there is not None:
        if any(getattr(there, field) != value for field, value in told.items()):
            raise ReleaseError(f"There is a release called “{name}” already.")
        return there
    release = Release.objects.create(**told)
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
