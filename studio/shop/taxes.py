"""Which tax holds on a day, as facts that a ticket's line copies and keeps."""

from datetime import date
from decimal import Decimal
from typing import TypedDict

from studio.shop.models import Profile, TaxClass


class TaxError(ValueError):
    """The studio charges tax, but its settings do not say which rate."""


class TaxFacts(TypedDict):
    """``percent`` is a plain decimal as text, such as ``"13.5"``; ``"0"`` when exempt."""

    name: str
    percent: str
    exempt: bool
    sentence: str


def rate_on(tax_class: TaxClass, day: date) -> Decimal | None:
    """The percentage of the class on that day; None when none holds yet, 0 when it is exempt."""
    if tax_class.exempt:
        return Decimal(0)
    return (
        tax_class.rates.filter(valid_from__lte=day)
        .order_by("-valid_from")
        .values_list("percent", flat=True)
        .first()
    )


def plain_percent(percent: Decimal) -> str:
    """``13.500`` is ``13.5`` and ``20.000`` is ``20``: no trailing zeros, never an exponent."""
    return f"{percent.normalize():f}"


def tax_for(profile: Profile, wear: str, day: date) -> TaxFacts | None:
    """The tax on work on a worn or a new garment, on a day. None where the studio charges no tax.

    Raises TaxError when no class is chosen for such garments or no rate of it holds on that day.
    """
    if profile.tax_mode == Profile.TaxMode.NONE:
        return None
    tax_class = profile.new_tax if wear == "new" else profile.worn_tax
    if tax_class is None:
        raise TaxError(f"Choose the tax on {wear} garments under Studio, Taxes.")
    percent = rate_on(tax_class, day)
    if percent is None:
        raise TaxError(
            f"No rate of the tax “{tax_class.name}” holds on {day:%d %b %Y}. "
            "Add one under Studio, Taxes."
        )
    return {
        "name": tax_class.name,
        "percent": plain_percent(percent),
        "exempt": tax_class.exempt,
        "sentence": tax_class.sentence,
    }
