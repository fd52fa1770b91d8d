"""Changes to the studio's profile."""

from django.db import transaction

from studio.shop.models import NumberSeries, Profile


class CurrencyFixedError(Exception):
    """Tickets are written in the old currency."""


def check_currency(currency: str) -> None:
    """Raises CurrencyFixedError when ``currency`` is another than the one numbers were given in."""
    kept = Profile.objects.filter(pk=1).exclude(currency=currency).first()
    if kept and NumberSeries.objects.exists():
        raise CurrencyFixedError(
            f"Tickets have been written in {kept.currency}, so the currency stays {kept.currency}."
        )


def save_profile(*, studio: Profile, fields: list[str]) -> None:
    """Keep the named fields of the profile. Raises CurrencyFixedError."""
    with transaction.atomic():
        if "currency" in fields:
            check_currency(studio.currency)
        studio.save(update_fields=fields)
