"""The first run: an empty database becomes a studio with an owner."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django.db import IntegrityError, transaction

from studio.shop.actions.people import add_person
from studio.shop.actions.taxes import NamedRate, add_tax
from studio.shop.actions.week import Day, save_week
from studio.shop.models import Profile, User


class AlreadySetUpError(Exception):
    """There is a studio already; nothing was changed."""


def set_up(
    *,
    profile: Mapping[str, Any],
    taxes: Sequence[NamedRate],
    worn_tax: int | None,
    new_tax: int | None,
    week: Iterable[Day],
    username: str,
    first_name: str,
    password: str,
) -> User:
    """Make the studio, its taxes, its week and the owner's login; the owner is returned.

    ``profile`` holds the profile's other fields; ``worn_tax`` and ``new_tax`` are indices into
    ``taxes``. Raises AlreadySetUpError when a studio exists, so sending it twice makes one.
    """
    with transaction.atomic():
        if Profile.objects.filter(pk=1).exists():
            raise AlreadySetUpError
        studio = Profile(pk=1, **profile)
        try:
            studio.save(force_insert=True)
        except IntegrityError as error:
            raise AlreadySetUpError from error
        classes = [add_tax(tax=tax) for tax in taxes]
        studio.worn_tax = None if worn_tax is None else classes[worn_tax]
        studio.new_tax = None if new_tax is None else classes[new_tax]
        studio.save(update_fields=["worn_tax", "new_tax"])
        save_week(days=week)
        return add_person(
            username=username, first_name=first_name, password=password, role=User.Role.OWNER
        )
