"""What the owner does to the studio itself: one function, one transaction each."""

from calendar import day_name
from collections.abc import Collection, Iterable, Mapping
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import date, time, timedelta
from decimal import Decimal
from typing import Any

import holidays
from django.contrib.auth.hashers import make_password
from django.db import IntegrityError, transaction
from django.db.models import Q

from studio.shop import clock, verbs
from studio.shop.history import Step, Verb, note, record
from studio.shop.history.recording import differing
from studio.shop.may import Tick
from studio.shop.messages import mail
from studio.shop.models import (
    DayOff,
    Entry,
    NumberSeries,
    Profile,
    TaxClass,
    TaxRate,
    User,
    WorkingDay,
)
from studio.shop.money import plain_percent


class CurrencyFixedError(Exception):
    """Tickets are written in the old currency."""


def check_currency(currency: str) -> None:
    """Raises CurrencyFixedError when ``currency`` is another than the one numbers were given in."""
    kept = Profile.objects.filter(pk=1).exclude(currency=currency).first()
    if kept and NumberSeries.objects.exists():
        raise CurrencyFixedError(
            f"Tickets have been written in {kept.currency}, so the currency stays {kept.currency}."
        )


def the_studio() -> Profile:
    """What every step of this room is about: the one row of the profile."""
    return Profile(pk=1)


def save_profile(*, studio: Profile, fields: list[str], by: User) -> Entry | None:
    """Keep the named fields of the profile. Raises CurrencyFixedError."""
    with record(verbs.PROFILE_CHANGED, about=studio, by=by) as step:
        if "currency" in fields:
            check_currency(studio.currency)
        step.parameters["fields"] = [name for name in differing(studio) if name in fields]
        step.keep(studio)
        studio.save(update_fields=fields)
    return step.entry


def set_mail(*, server: mail.MailServer, by: User) -> None:
    """Messages go out through it from now on; none of its words are written down but its name."""
    with transaction.atomic():
        if server.is_on:
            note(verbs.MAIL_SET, about=the_studio(), by=by, host=server.host)
        elif mail.load().is_on:
            note(verbs.MAIL_OFF, about=the_studio(), by=by)
        mail.save(server)


class LastOwnerError(Exception):
    """Somebody must be able to open every page."""


# Of logins only the step is written down: what a row holds of a password is nobody's to read. To
# hash one takes a second or more, in which nobody else could write: it is done before the writing.


def add_person(*, username: str, first_name: str, password: str, role: str, by: User) -> User:
    """A new login. The form has checked that the name is free and the password a good one."""
    person = User(
        username=User.normalize_username(username),
        password=make_password(password),
        first_name=first_name,
        role=role,
    )
    with transaction.atomic():
        person.save(force_insert=True)
        note(verbs.LOGIN_ADDED, about=the_studio(), by=by, name=person.shown_name)
    return person


def set_password(*, person: User, password: str, by: User) -> None:
    """A new password; all sessions that were opened with the old one end."""
    person.set_password(password)
    with transaction.atomic():
        person.save(update_fields=["password"])
        note(verbs.PASSWORD_CHANGED, about=the_studio(), by=by, name=person.shown_name)


def set_ticks(*, person: User, ticks: Collection[str], by: User) -> Entry | None:
    """What a helper may do from now on, beside what every helper may."""
    with record(verbs.TICKS_SET, about=the_studio(), by=by, name=person.shown_name) as step:
        person = User.objects.select_for_update().get(pk=person.pk)
        step.keep(person)
        person.ticks = [tick.value for tick in Tick if tick.value in ticks]
        person.save(update_fields=["ticks"])
    return step.entry


def show_out(*, person: User, by: User) -> None:
    """The login stops working at once and its sessions end; what the person did stays on record.

    Raises LastOwnerError for the last owner who can still log in.
    """
    with transaction.atomic():
        owners = User.objects.select_for_update().filter(role=User.Role.OWNER, is_active=True)
        if {owner.pk for owner in owners} == {person.pk}:
            raise LastOwnerError("This is the only owner who can log in.")
        person.is_active = False
        person.save(update_fields=["is_active"])
        note(verbs.LOGIN_STOPPED, about=the_studio(), by=by, name=person.shown_name)


def let_back(*, person: User, by: User) -> None:
    with transaction.atomic():
        person.is_active = True
        person.save(update_fields=["is_active"])
        note(verbs.LOGIN_RESUMED, about=the_studio(), by=by, name=person.shown_name)


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


def add_tax(*, tax: NamedRate, by: User) -> TaxClass:
    """A new kind of tax with its first rate."""
    with record(verbs.TAX_ADDED, about=the_studio(), by=by, name=tax.name) as step:
        made = TaxClass.objects.create(name=tax.name, exempt=tax.exempt, sentence=tax.sentence)
        step.add(made)
        if tax.percent is not None:
            add_rate(tax_class=made, percent=tax.percent, valid_from=tax.valid_from, by=by)
    return made


def save_tax(*, tax_class: TaxClass, by: User) -> None:
    """Another name or sentence; the rates stay."""
    with record(verbs.TAX_CHANGED, about=the_studio(), by=by, name=tax_class.name) as step:
        step.parameters["fields"] = differing(tax_class)
        step.keep(tax_class)
        tax_class.save()


def add_rate(*, tax_class: TaxClass, percent: Decimal, valid_from: date, by: User) -> TaxRate:
    """The rate that holds from a day on.

    The first rate of a class may begin on any day, a later one today at the earliest. Raises
    RateError otherwise, or when a rate begins on that day already.
    """
    with _rate_step(verbs.RATE_ADDED, tax_class, percent, valid_from, by) as step:
        begun = tax_class.rates.order_by("valid_from").first()
        if begun and valid_from < clock.today():
            raise RateError("A new rate begins today or later; what was charged before stays.")
        if tax_class.rates.filter(valid_from=valid_from).exists():
            raise RateError("A rate begins on that day already. Remove it first.")
        rate = TaxRate.objects.create(tax_class=tax_class, percent=percent, valid_from=valid_from)
        step.add(rate)
    return rate


def remove_rate(*, rate: TaxRate, by: User) -> None:
    """Take back a rate that has not held on any past day. Raises RateError."""
    if rate.valid_from < clock.today():
        raise RateError("This rate has been in use. Add a new one that takes over from it.")
    with _rate_step(verbs.RATE_REMOVED, rate.tax_class, rate.percent, rate.valid_from, by) as step:
        step.keep(rate)
        TaxRate.objects.filter(pk=rate.pk).delete()


def _rate_step(
    verb: Verb, tax_class: TaxClass, percent: Decimal, day: date, by: User
) -> AbstractContextManager[Step]:
    facts = {"name": tax_class.name, "percent": plain_percent(percent), "day": day.isoformat()}
    return record(verb, about=the_studio(), by=by, **facts)


def remove_tax_class(*, tax_class: TaxClass, by: User) -> None:
    """Tickets and invoices keep their own copy, so only the profile can stand in the way."""
    with record(verbs.TAX_REMOVED, about=the_studio(), by=by, name=tax_class.name) as step:
        step.keep(tax_class, tax_class.rates.all())
        if Profile.objects.filter(Q(worn_tax=tax_class) | Q(new_tax=tax_class)).exists():
            raise TaxClassInUseError("Choose another tax for worn and new garments first.")
        TaxClass.objects.filter(pk=tax_class.pk).delete()


@dataclass(frozen=True)
class BenchDay:
    """One weekday (Monday 0): when the bench opens and how many minutes it has."""

    weekday: int
    starts: time
    minutes: int


@transaction.atomic
def save_week(
    *, days: Iterable[BenchDay], by: User, studio: Profile | None = None, fields: Iterable[str] = ()
) -> list[Entry]:
    """The bench hours of every weekday, and with them the named ``fields`` of the profile."""
    profile = save_profile(studio=studio, fields=[*fields], by=by) if studio else None
    with record(verbs.WEEK_CHANGED, about=the_studio(), by=by) as step:
        step.keep(WorkingDay.objects.all())
        before = {row.weekday: (row.starts, row.minutes) for row in WorkingDay.objects.all()}
        changed = [day for day in days if before.get(day.weekday) != (day.starts, day.minutes)]
        step.parameters["days"] = [day_name[day.weekday] for day in changed]
        for day in changed:
            WorkingDay.objects.update_or_create(
                weekday=day.weekday, defaults={"starts": day.starts, "minutes": day.minutes}
            )
    return [entry for entry in (profile, step.entry) if entry]


def add_days_off(*, first: date, last: date, reason: str, by: User) -> int:
    """Close the studio from ``first`` to ``last``; how many days that were open until now.

    A day that is closed already keeps its reason, so sending it twice changes nothing.
    """
    days = [first + timedelta(days=step) for step in range((last - first).days + 1)]
    facts = {"first": first.isoformat(), "last": last.isoformat(), "reason": reason}
    with record(verbs.CLOSED, about=the_studio(), by=by, **facts) as step:
        return _close(dict.fromkeys(days, reason), step)


def add_public_holidays(*, country: str, year: int, by: User) -> int:
    """Close the studio on the country's public holidays; how many days that were open until now."""
    public = holidays.country_holidays(country, years=year, language="en_US")
    with record(verbs.CLOSED_ON_HOLIDAYS, about=the_studio(), by=by, year=year) as step:
        count = _close({day: name[:100] for day, name in public.items()}, step)
        step.parameters["count"] = count
    return count


def _close(days: dict[date, str], step: Step) -> int:
    these = DayOff.objects.filter(day__in=list(days))
    step.keep(these)
    closed = set(these.values_list("day", flat=True))
    fresh = [DayOff(day=day, reason=why) for day, why in days.items() if day not in closed]
    DayOff.objects.bulk_create(fresh, ignore_conflicts=True)
    return len(fresh)


def remove_day_off(*, day_off: DayOff, by: User) -> None:
    day = day_off.day.isoformat()
    with record(verbs.OPENED, about=the_studio(), by=by, day=day) as step:
        step.keep(day_off)
        DayOff.objects.filter(pk=day_off.pk).delete()


class AlreadySetUpError(Exception):
    """There is a studio already; nothing was changed."""


def set_up(
    *,
    profile: Mapping[str, Any],
    tax: NamedRate | None,
    week: Iterable[BenchDay],
    username: str,
    password: str,
) -> User:
    """Make the studio, its week and the owner's login; the owner is returned.

    ``profile`` holds the profile's other fields; worn and new garments start with the same ``tax``.
    ``password`` is as Django keeps it: so it waited since the first screen. Raises
    AlreadySetUpError when a studio exists, so sending it twice makes one.
    """
    with transaction.atomic():
        if Profile.objects.filter(pk=1).exists():
            raise AlreadySetUpError
        studio = Profile(pk=1, **profile)
        try:
            studio.save(force_insert=True)
        except IntegrityError as error:
            raise AlreadySetUpError from error
        owner = User.objects.create(username=username, password=password, role=User.Role.OWNER)
        note(verbs.SET_UP, about=studio, by=owner)
        if tax:
            studio.worn_tax = studio.new_tax = add_tax(tax=tax, by=owner)
            studio.save(update_fields=["worn_tax", "new_tax"])
        save_week(days=week, by=owner)
    return owner
