"""Larkfield Sewing Room itself: an invented studio in an invented town."""

from datetime import date, time

from studio.shop.models import Profile, TaxClass, TaxRate, User, WorkingDay

OWNER = ("demo", "larkfield-demo")
HELPER = ("helper", "larkfield-help")

WEEK = [360, 420, 420, 420, 300, 0, 0]


def open_shop() -> tuple[Profile, User, User]:
    """The profile, the owner and a helper. The tax rates are invented figures, not advice."""
    repairs = _tax("Repairs of worn clothes", "13.5")
    standard = _tax("Standard", "23")
    studio = Profile.objects.create(
        pk=1,
        name="Larkfield Sewing Room",
        street="3 Mill Lane",
        postcode="X00 XX00",
        city="Larkfield",
        country="IE",
        phone="01 555 0100",
        email="room@larkfield.example",
        time_zone="Europe/Dublin",
        currency="EUR",
        tax_mode=Profile.TaxMode.INCLUDED,
        tax_number="IE0000000X",
        worn_tax=repairs,
        new_tax=standard,
        lead_days=7,
        promise_time=time(17),
        terms=(
            "Try the garment on before you leave. "
            "Tell us within a week if something is not right. We ask you to collect within "
            "30 days of the day promised."
        ),
        invoice_sentence="Thank you. Payable by card, cash or transfer.",
    )
    for weekday, minutes in enumerate(WEEK):
        WorkingDay.objects.create(weekday=weekday, minutes=minutes, starts=time(9))
    return studio, _user(OWNER, "Wren", User.Role.OWNER), _user(HELPER, "Tilly", User.Role.HELPER)


def _tax(name: str, percent: str) -> TaxClass:
    tax_class = TaxClass.objects.create(name=name)
    TaxRate.objects.create(tax_class=tax_class, percent=percent, valid_from=date(2020, 1, 1))
    return tax_class


def _user(login: tuple[str, str], name: str, role: str) -> User:
    return User.objects.create_user(login[0], password=login[1], first_name=name, role=role)
