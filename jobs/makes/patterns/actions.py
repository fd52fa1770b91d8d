"""What happens to a pattern in the drawer. Each verb is one transaction and safe to send twice."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db import transaction

from jobs.makes.models import Need, Pattern, Picture
from studio.shop import clock
from studio.shop.numbers import lock


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
    """Such a pattern is in the drawer already; ``patterns`` are those that nobody has looked at."""

    def __init__(self, patterns: list[Pattern]) -> None:
        self.patterns = patterns
        super().__init__("You own this already.")


@transaction.atomic
def add_pattern(
    *,
    facts: dict[str, Any],
    needs: Iterable[NeedRow],
    picture: Picture | None = None,
    seen: Collection[int] = (),
) -> Pattern:
    """A pattern comes into the drawer. Sent twice, the second finds the first and refuses.

    ``seen`` are the keys of patterns that were looked at and are another one. Raises OwnedError
    where the name, and the number if it has one, are those of a pattern that is there.
    """
    lock("patterns")
    fresh = Pattern(**facts, picture=picture)
    same = Pattern.objects.filter(name__iexact=fresh.name, number__iexact=fresh.number)
    if unseen := list(same.exclude(pk__in=seen)):
        raise OwnedError(unseen)
    fresh.save()
    _write_needs(fresh, needs)
    return fresh


@transaction.atomic
def change_pattern(
    *,
    pattern: Pattern,
    facts: dict[str, Any],
    needs: Iterable[NeedRow],
    picture: Picture | None = None,
) -> Pattern:
    """Other facts; without a ``picture`` the one that is there stays."""
    pattern = Pattern.objects.select_for_update().get(pk=pattern.pk)
    for name, value in facts.items():
        setattr(pattern, name, value)
    if picture:
        pattern.picture = picture
    pattern.save()
    pattern.needs.all().delete()
    _write_needs(pattern, needs)
    return pattern


def put_away(*, pattern: Pattern) -> None:
    """It has left the drawer; makes from it keep its name."""
    Pattern.objects.filter(pk=pattern.pk, gone_at=None).update(gone_at=clock.now())


def take_back(*, pattern: Pattern) -> None:
    Pattern.objects.filter(pk=pattern.pk).update(gone_at=None)


def _write_needs(pattern: Pattern, needs: Iterable[NeedRow]) -> None:
    Need.objects.bulk_create(Need(pattern=pattern, **vars(row)) for row in needs)
