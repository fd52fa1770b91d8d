"""What happens to a pattern in the drawer: each verb one transaction, safe to send twice, recorded.

Each gives the entry of the history that tells of it, None where nothing changed.
"""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db import transaction

from jobs.makes import pictures, verbs
from jobs.makes.models import Make, Need, Pattern, PatternVersion
from jobs.makes.patterns.queries import uses_of
from studio.shop import clock
from studio.shop.history import Verb, record
from studio.shop.models import Entry, User
from studio.shop.numbers import lock
from studio.shop.pictures import FreshPicture


@dataclass(frozen=True)
class NeedRow:
    """So much cloth of that width, in one size. Names are those of ``Need``."""

    width_mm: Decimal
    width_typed: str
    length_mm: Decimal
    length_typed: str
    unit: str
    size: str = ""


class OwnedError(Exception):
    """Such a pattern is in the drawer already; ``patterns`` are those that nobody looked at."""

    def __init__(self, patterns: list[Pattern]) -> None:
        self.patterns = patterns
        super().__init__("You own this already.")


class NothingToCarryError(ValueError):
    """Nothing was changed that could be carried into a pattern."""

    def __init__(self) -> None:
        super().__init__("Write first what was changed.")


@pictures.with_pictures
def add_pattern(
    *,
    facts: dict[str, Any],
    needs: Iterable[NeedRow],
    by: User,
    photo: FreshPicture | None = None,
    seen: Collection[int] = (),
) -> tuple[Pattern, Entry | None]:
    """A pattern comes into the drawer. Sent twice, the second finds the first and refuses.

    ``seen`` are the keys of patterns that were looked at and are another one. Raises OwnedError
    where the name, and the number if it has one, are those of a pattern that is there.
    """
    lock("patterns")
    pattern = Pattern(**facts)
    same = Pattern.objects.filter(name__iexact=pattern.name, number__iexact=pattern.number)
    if unseen := list(same.exclude(pk__in=seen)):
        raise OwnedError(unseen)
    with record(verbs.ADD_PATTERN, about=[pattern], by=by, pattern=pattern.name) as step:
        if photo:
            pattern.picture = pictures.keep(photo)
            step.add(pattern.picture)
        pattern.save()
        step.add(pattern, *_write_needs(pattern, needs))
    return pattern, step.entry


@pictures.with_pictures
def change_pattern(
    *,
    pattern: Pattern,
    facts: dict[str, Any],
    needs: Iterable[NeedRow],
    by: User,
    photo: FreshPicture | None = None,
) -> Entry | None:
    """Other facts; without a ``photo`` the picture that is there stays."""
    pattern, rows = _locked(pattern), list(needs)
    with record(verbs.CHANGE_PATTERN, about=pattern, by=by, pattern=facts["name"]) as step:
        step.keep(pattern, pattern.needs.all())
        for name, value in facts.items():
            setattr(pattern, name, value)
        if photo:
            pattern.picture = pictures.keep(photo)
            step.add(pattern.picture)
        pattern.save()
        names = list(NeedRow.__dataclass_fields__)
        before = pattern.needs.order_by("pk").values(*names)
        if [NeedRow(**need) for need in before] != rows:
            pattern.needs.all().delete()
            _write_needs(pattern, rows)
    return step.entry


def put_away(*, pattern: Pattern, by: User) -> Entry | None:
    """It has left the drawer; makes from it keep its name."""
    return _put(verbs.PUT_PATTERN_AWAY, pattern, clock.now(), by)


def take_back(*, pattern: Pattern, by: User) -> Entry | None:
    return _put(verbs.TAKE_PATTERN_BACK, pattern, None, by)


@transaction.atomic
def carry_in(*, pattern: Pattern, make: Make, by: User) -> Entry | None:
    """What was changed on a make stands in the pattern from now on.

    The same words, carried in from it before and not taken out, stand there once. Raises
    NothingToCarryError where the make says of no change, or is not sewn from the pattern.
    """
    pattern = _locked(pattern)
    words = next((use.changes for use in uses_of(make) if use.pattern == pattern), "").strip()
    if not words:
        raise NothingToCarryError
    standing = pattern.versions.filter(make=make, taken_out_at=None)
    if standing.filter(words=words).exists():
        return None
    facts = {"pattern": pattern.name, "change": words}
    with record(verbs.CARRY_IN, about=[pattern, make], by=by, **facts) as step:
        step.keep(standing)
        standing.update(taken_out_at=clock.now())
        step.add(pattern.versions.create(make=make, words=words, carried_at=clock.now()))
    return step.entry


@transaction.atomic
def take_change_out(*, version: PatternVersion, by: User) -> Entry | None:
    """The change does not stand in the pattern any more; it can be carried in again."""
    pattern = _locked(version.pattern)
    version = PatternVersion.objects.get(pk=version.pk)
    if version.taken_out_at is not None:
        return None
    facts = {"pattern": pattern.name, "change": version.words}
    about = [pattern, version.make] if version.make else [pattern]
    with record(verbs.TAKE_CHANGE_OUT, about=about, by=by, **facts) as step:
        step.keep(version)
        PatternVersion.objects.filter(pk=version.pk).update(taken_out_at=clock.now())
    return step.entry


@transaction.atomic
def _put(verb: Verb, pattern: Pattern, gone_at: datetime | None, by: User) -> Entry | None:
    pattern = _locked(pattern)
    if (pattern.gone_at is None) == (gone_at is None):
        return None
    with record(verb, about=pattern, by=by, pattern=pattern.name) as step:
        step.keep(pattern)
        pattern.gone_at = gone_at
        pattern.save(update_fields=["gone_at"])
    return step.entry


def _locked(pattern: Pattern) -> Pattern:
    """The pattern as it is now; nobody else changes it in this transaction."""
    return Pattern.objects.select_for_update().get(pk=pattern.pk)


def _write_needs(pattern: Pattern, needs: Iterable[NeedRow]) -> list[Need]:
    return Need.objects.bulk_create(Need(pattern=pattern, **vars(row)) for row in needs)
