"""Taxes and their rates. A rate that has begun is never rewritten: a later one takes over."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db import transaction
from django.db.models import Q

from studio.shop import clock
from studio.shop.models import Profile, TaxClass, TaxRate


class RateError(ValueError):
    """A rate that would rewrite the past; the message says what to do."""


class TaxClassInUseError(Exception):
    """The profile still points to the class."""


@dataclass(frozen=True)
class NamedRate:
    """A tax the owner names. An exempt one has no percentage but a sentence."""

    name: str
    percent: Decimal | None
    exempt: bool
    sentence: str
    valid_from: date


def add_tax(*, tax: NamedRate) -> TaxClass:
    """A new kind of tax with its first rate."""
    with transaction.atomic():
        made = TaxClass.objects.create(name=tax.name, exempt=tax.exempt, sentence=tax.sentence)
        if tax.percent is not None:
            add_rate(tax_class=made, percent=tax.percent, valid_from=tax.valid_from)
    return made


def add_rate(*, tax_class: TaxClass, percent: Decimal, valid_from: date) -> TaxRate:
    """The rate that holds from a day on.

    The first rate of a class may begin on any day, a later one today at the earliest. Raises
    RateError otherwise, or when a rate begins on that day already.
    """
    with transaction.atomic():
        begun = tax_class.rates.order_by("valid_from").first()
        if begun and valid_from < clock.today():
            raise RateError("A new rate begins today or later; what was charged before stays.")
        if tax_class.rates.filter(valid_from=valid_from).exists():
            raise RateError("A rate begins on that day already. Remove it first.")
        return TaxRate.objects.create(tax_class=tax_class, percent=percent, valid_from=valid_from)


def remove_rate(*, rate: TaxRate) -> None:
    """Take back a rate that has not held on any past day. Raises RateError."""
    if rate.valid_from < clock.today():
        raise RateError("This rate has been in use. Add a new one that takes over from it.")
    with transaction.atomic():
        rate.delete()


def remove_tax_class(*, tax_class: TaxClass) -> None:
    """Tickets and invoices keep their own copy, so only the profile can stand in the way."""
    with transaction.atomic():
        if Profile.objects.filter(Q(worn_tax=tax_class) | Q(new_tax=tax_class)).exists():
            raise TaxClassInUseError("Choose another tax for worn and new garments first.")
        tax_class.delete()
