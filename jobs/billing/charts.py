"""The money room drawn: a month's takings as columns, what is to be paid as one length."""

import calendar
from datetime import date, timedelta

from jobs.billing.models import Payment
from jobs.billing.queries import OpenMoney, Takings
from studio.shop import clock
from studio.shop.locales import show_day
from studio.shop.look.bars import Bar, Column, Columns, Part
from studio.shop.models import Profile, WorkingDay
from studio.shop.money import format_money

COINS = {
    Payment.Method.CARD: "coin-1",
    Payment.Method.CASH: "coin-2",
    Payment.Method.TRANSFER: "coin-3",
}
"""Ways of paying from the foot of a column up, each with its look."""


def month_chart(takings: Takings, first: date, studio: Profile) -> Columns:
    """A column for each day of the month that begins on ``first``. One query: the open weekdays."""
    today, by_day = clock.today(), takings.by_day
    open_days = set(WorkingDay.objects.filter(minutes__gt=0).values_list("weekday", flat=True))
    length = calendar.monthrange(first.year, first.month)[1]
    columns = []
    for day in (first + timedelta(days=ahead) for ahead in range(length)):
        parts = _parts(by_day.get(day, {}), studio)
        total = sum(by_day.get(day, {}).values())
        columns.append(
            Column(
                show_day(day, studio.locale, year=False),
                parts,
                shown=format_money(total, studio.currency, studio.locale),
                current=day == today,
                href=f"day-end/?day={day}",
                mark=str(day.day) if day.weekday() == 0 or day == today else "",
                closed=day.weekday() not in open_days and not any(part.amount for part in parts),
            )
        )
    words = format_money(takings.all.total, studio.currency, studio.locale)
    return Columns(columns, about=f"Taken each day of {first:%B}, in all {words}", sums=True)


def _parts(amounts: dict[str, int], studio: Profile) -> list[Part]:
    return [
        Part(
            kind,
            amounts.get(method, 0),
            words=Payment.Method(method).label,
            shown=format_money(amounts.get(method, 0), studio.currency, studio.locale),
        )
        for method, kind in COINS.items()
    ]


def year_chart(months: dict[date, dict[str, int]], year: int, studio: Profile) -> Columns:
    """A column for each month of the year: what was taken, by way of paying."""
    columns = []
    for number in range(1, 13):
        first = date(year, number, 1)
        amounts = months.get(first, {})
        columns.append(
            Column(
                f"{first:%B}",
                _parts(amounts, studio),
                shown=format_money(sum(amounts.values()), studio.currency, studio.locale),
                current=first == clock.today().replace(day=1),
                mark=f"{first:%B}"[0],
            )
        )
    taken = sum(sum(amounts.values()) for amounts in months.values())
    words = format_money(taken, studio.currency, studio.locale)
    return Columns(columns, about=f"Taken each month of {year}, in all {words}", sums=True)


def to_pay_bar(open_money: OpenMoney, studio: Profile) -> Bar:
    """What is to be paid as one length in three; what is nothing has no part."""
    parts = [
        ("coin-3", open_money.in_work, "In work"),
        ("coin-2", open_money.ready, "On the rail"),
        ("coin-1", open_money.gone, "Handed over"),
    ]
    shown = [
        Part(kind, amount, words, shown=format_money(amount, studio.currency, studio.locale))
        for kind, amount, words in parts
    ]
    whole = format_money(open_money.owed, studio.currency, studio.locale)
    return Bar(shown, about=f"To pay {whole}")
