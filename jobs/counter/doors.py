"""Doors to other rooms, each with its state in a line; and what stands where no door is."""

import re
from calendar import day_abbr
from collections.abc import Sequence
from dataclasses import dataclass, field

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET, require_safe

from clients.models import Client
from jobs.makes.models import Make, MakeState
from jobs.planning.models import PlanRules
from jobs.planning.plan.weeks import Shares, week_shares
from jobs.pricing.queries import hour_asked, offered_operations
from jobs.tickets.models import State, Ticket
from studio.backup.queries import read_state
from studio.shop import clock, history
from studio.shop.http import StudioRequest, owner_only
from studio.shop.locales import show_day, show_minutes
from studio.shop.look.bars import Bar, Part
from studio.shop.may import Tick
from studio.shop.messages import mail
from studio.shop.models import Profile, User, WorkingDay
from studio.shop.money import format_money, plain_percent
from studio.shop.paper.printers import SIZES, printers_of
from studio.shop.week import coming_days_off
from studio.shop.words import language_name, provided


@dataclass(frozen=True)
class Door:
    """A room by its address' name; its picture is an icon, or bars of hours, or a share."""

    words: str
    state: str
    room: str
    icon: str = ""
    bars: list[Bar] = field(default_factory=list)
    share: int | None = None


@require_GET
def more(request: StudioRequest) -> HttpResponse:
    """The doors that have no place on a phone's shelf. Five queries, for a helper four."""
    here = Ticket.objects.filter(state__in=State.open()).order_by()
    states = list(here.values_list("state", flat=True))
    clients = Client.objects.filter(erased_at=None, merged_into=None).count()
    operations = offered_operations()
    ideas = Make.objects.filter(state__in=[MakeState.IDEA, MakeState.LINED_UP]).count()
    doors = [
        Door("Tickets", f"{len(states) - states.count(State.READY)} to sew", "tickets", "tickets"),
        Door("Pick-up", f"{states.count(State.READY)} on the rail", "pick-up", "rail"),
        Door("The rail", "All that is here, by place", "rail", "rail"),
        Door("Clients", f"{clients}, by name", "clients", "person"),
        Door("How to measure", "Where the tape lies", "how-to-measure", "measure"),
        Door("Price list", f"{operations} operations", "prices", "paper"),
        Door("Own sewing", f"{ideas} ideas", "own", "wall"),
        Door("To-do", "What to remember", "todo", "tick"),
        Door("Papers to print", "For the wall, the drawer, to hand out", "notices", "print"),
    ]
    if request.user.is_owner:
        doors.insert(5, Door("Money", "Paid and to pay, day by day", "money", "coin"))
        doors.append(Door("Studio", "Hours, tax, papers, people", "studio-settings", "studio"))
    elif request.user.may(Tick.DRAWER):
        doors.insert(5, Door("Your drawer", "Count its cash", "day-end", "coin"))
    return render(request, "counter/more.html", {"doors": doors})


@require_safe
def own_more(request: StudioRequest) -> HttpResponse:
    """The doors of own sewing that have no place on a phone's shelf, and the way back."""
    doors = [
        Door("Make now", "What the free hours and the cloth allow", "what-fits", "clock"),
        Door("Patterns", "Bought and own", "pattern-list", "paper"),
        Door("To-do", "What to remember", "todo", "tick"),
        Door("What I lack", "Gaps in the wardrobe", "gaps", "rail"),
        Door("Sitting", "Look back, and ahead", "sitting", "year"),
        Door("Record", "All that was made, and what became of it", "makes", "wall"),
        Door("The counter", "Today, tickets, clients", "today", "today"),
    ]
    if request.user.is_owner:
        doors.insert(2, Door("Releases", "Patterns for sale", "releases", "coin"))
    return render(request, "counter/more.html", {"doors": doors})


@owner_only
@require_safe
def studio_doors(request: StudioRequest) -> HttpResponse:
    """Everything that can be set, at a glance. Eleven queries beside those of each page."""
    studio, locale = request.studio, request.studio.locale
    days, rules = list(WorkingDay.objects.all()), PlanRules.load()
    parts = week_shares([day.minutes for day in days], rules.own_percent, rules.lost_percent)
    whole = sum(parts, Shares(0, 0, 0))
    longest = max((part.minutes for part in parts), default=0)
    bars = [
        Bar([Part("clients", part.clients), Part("own", part.own)], longest)
        for part in parts
        if part.minutes
    ]
    count, hour = offered_operations(), hour_asked()
    asked = f", {format_money(hour, studio.currency, locale)} an hour" if hour else ""
    logins = User.objects.filter(is_active=True).order_by("pk")
    people = ", ".join(f"{it.shown_name}{'' if it.is_owner else ' (no money)'}" for it in logins)
    share = f"{rules.own_percent} % of the bench, {show_minutes(whole.own)} a week"
    papers = [f"{it.name}, {SIZES[it.size].words}" for it in printers_of(studio)]
    invoices = ", ".join(
        words for words in (
            studio.legal_name or "no legal name yet", studio.iban and "bank account",
            studio.electronic and "electronic",
        ) if words
    )  # fmt: skip
    place = (studio.city or "no address yet", studio.currency, studio.unit, studio.time_zone)
    day_off = coming_days_off().first()
    off = show_day(day_off.day, locale) if day_off else "none ahead"
    latest = history.of(studio).first()
    changed = f"latest {show_day(latest.at, locale)}" if latest else "none yet"
    word = ", ".join([
        "e-mail from here" if mail.load().is_on else "your own mail program",
        "with pages for clients" if studio.page_address else "no pages for clients",
    ])  # fmt: skip
    week = f"{open_days(days)}, {show_minutes(whole.minutes)}"
    doors = [
        Door("Hours and week", week, "studio-week", bars=bars),
        Door("Own share", share, "own-hours", share=rules.own_percent),
        Door("Price list", f"{count} operations{asked}", "prices", "paper"),
        Door(
            "Papers",
            ", ".join(papers) + (", terms" if studio.terms else ""),
            "studio-papers",
            "print",
        ),
        Door(
            "Where garments hang",
            ", ".join(studio.listed_places) or "no places yet",
            "studio-places",
            "rail",
        ),
        Door(
            "Languages of papers",
            f"{language_name(studio.language)} as usual; {len(provided())} ready, or your own",
            "studio-words",
            "message",
        ),
        Door("Word to clients", word, "studio-messages", "mail"),
        Door("Invoices", invoices, "studio-invoices", "bank"),
        Door("People", people, "studio-people", "person"),
        Door("Tax", tax_in_words(studio), "studio-taxes", "coin"),
        Door("Name, place, units", ", ".join(place).replace("_", " "), "studio-profile", "studio"),
        Door("Days off", off, "studio-days-off", "year"),
        Door("Calendar on the phone", "Fittings and promises", "studio-calendar", "phone"),
        Door("Is all well?", "Disk, folder, clock, files", "doctor", "tick"),
        Door("Changes", changed, "studio-changes", "clock"),
    ]
    context = {"doors": doors, "state": read_state(studio)}
    return render(request, "counter/studio.html", context)


def open_days(days: Sequence[WorkingDay]) -> str:
    """``Mon to Fri``, or each day by its name where there is a gap; ``closed``."""
    names = [day_abbr[day.weekday] for day in days if day.minutes]
    numbers = [day.weekday for day in days if day.minutes]
    if len(numbers) > 2 and numbers[-1] - numbers[0] == len(numbers) - 1:
        return f"{names[0]} to {names[-1]}"
    return ", ".join(names) or "closed"


def tax_in_words(studio: Profile) -> str:
    """``in the prices: worn 13.5 %, new 23 %``. Two queries, or none."""
    if studio.tax_mode == Profile.TaxMode.NONE:
        return "none charged"
    rates = []
    for words, tax in (("worn", studio.worn_tax), ("new", studio.new_tax)):
        percent = tax.rate_on(clock.today()) if tax else None
        exempt = tax is not None and tax.exempt
        rate = "no rate" if percent is None else f"{plain_percent(percent)} %"
        rates.append(f"{words} {'exempt' if exempt else rate}")
    mode = "in the prices" if studio.tax_mode == Profile.TaxMode.INCLUDED else "on top"
    return f"{mode}: {', '.join(rates)}"


TICKET = re.compile(r"/t/(\d{2})-(\d{4,})\b", re.ASCII)


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """The page of a wrong address; for a ticket's number, the numbers that differ by a slip."""
    context: dict[str, object] = {}
    user = getattr(request, "user", None)
    if user and user.is_authenticated and (match := TICKET.search(request.path)):
        near = Ticket.objects.filter(number__in=slips(*match.groups())).select_related("client")
        context = {"number": f"{match[1]}-{match[2]}", "near": near[:3]}
    return render(request, "404.html", context, status=404)


def slips(year: str, digits: str) -> set[str]:
    """Numbers with one digit written otherwise, or two beside each other exchanged."""
    written = set()
    for at, own in enumerate(digits):
        before, after = digits[:at], digits[at + 1 :]
        written |= {before + digit + after for digit in "0123456789"}
        if after:
            written.add(before + after[0] + own + after[1:])
    return {f"{year}-{each}" for each in written - {digits}}
