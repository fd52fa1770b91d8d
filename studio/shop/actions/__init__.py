"""What the owner does to the studio itself: one function, one transaction each."""

from studio.shop.actions.first_run import AlreadySetUpError, set_up
from studio.shop.actions.people import (
    LastOwnerError,
    add_person,
    let_back,
    set_password,
    show_out,
)
from studio.shop.actions.profile import CurrencyFixedError, check_currency, save_profile
from studio.shop.actions.taxes import (
    NamedRate,
    RateError,
    TaxClassInUseError,
    add_rate,
    add_tax,
    remove_rate,
    remove_tax_class,
)
from studio.shop.actions.week import (
    Day,
    add_days_off,
    add_public_holidays,
    remove_day_off,
    save_week,
)

__all__ = [
    "AlreadySetUpError",
    "CurrencyFixedError",
    "Day",
    "LastOwnerError",
    "NamedRate",
    "RateError",
    "TaxClassInUseError",
    "add_days_off",
    "add_person",
    "add_public_holidays",
    "add_rate",
    "add_tax",
    "check_currency",
    "let_back",
    "remove_day_off",
    "remove_rate",
    "remove_tax_class",
    "save_profile",
    "save_week",
    "set_password",
    "set_up",
    "show_out",
]
