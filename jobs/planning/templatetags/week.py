"""How pages speak of a week, of its tickets and of its clock."""

from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import Any

from django import template
from django.urls import reverse

from jobs.planning.bench_time import ClockSays, clock_on
from jobs.planning.models import PlanRules
from jobs.planning.plan.book import monday_of
from jobs.planning.plan.weeks import Shares, week_shares
from jobs.planning.running import running_time
from jobs.pricing.models import Operation
from studio.shop import clock
from studio.shop.locales import show_day
from studio.shop.look.bars import Bar, Part, percent
from studio.shop.settings_forms import WeekForm

register = template.Library()


@register.simple_tag(takes_context=True)
def week_of(context: template.Context, monday: date) -> str:
    """``this week``, ``next week`` or ``the week of Mon 9 Mar``."""
    this = monday_of(clock.today())
    if monday == this:
        return "this week"
    if (monday - this).days == 7:
        return "next week"
    return f"the week of {show_day(monday, context['studio'].locale, year=False)}"


@register.simple_tag
@lru_cache(maxsize=4096)
def ticket_url(number: str) -> str:
    """``{% url 'ticket' number %}``, kept: a week names dozens of tickets, and often the same."""
    return reverse("ticket", args=[number])


@register.simple_tag
def clock_says(operation: Operation) -> ClockSays | None:
    """``{% clock_says operation as clock %}``: nothing before enough of them were timed."""
    return clock_on(operation.pk)


@register.inclusion_tag("planning/_running_strip.html", takes_context=True)
def running_strip(context: template.Context) -> dict[str, Any]:
    """What the clock of whoever looks runs for, with Pause and Done; nothing where none runs."""
    request = context.get("request")
    # A page that a form led to cannot always be opened again.
    back = request.get_full_path() if request is not None and request.method == "GET" else ""
    return {
        "running": running_time(context.get("user")),
        "back": back,
        "csrf_token": context.get("csrf_token"),
        "studio": context.get("studio"),
    }


@dataclass(frozen=True)
class Bolt:
    """A day of the usual week on the clock's scale: its form, and its hours from when it opens."""

    form: Any
    bar: Bar


@dataclass(frozen=True)
class BoltPicture:
    """The days, the hours that stand above them (each with its place), and the week's sum."""

    bolts: list[Bolt]
    hours: list[tuple[int, str]]
    whole: Shares


@register.simple_tag
def bolts_of(days: WeekForm) -> BoltPicture:
    """``{% bolts_of days as week %}``: the week as its form stands, with the own share as set."""
    rules = PlanRules.load()
    parts = week_shares(days.minutes(), rules.own_percent, rules.lost_percent)
    opens = days.opens()
    spans = [(start, start + part.minutes) for start, part in zip(opens, parts, strict=True)]
    open_spans = [span for span, part in zip(spans, parts, strict=True) if part.minutes]
    first = min([480, *(start for start, _ in open_spans)]) // 60 * 60
    last = -(-max([1080, *(end for _, end in open_spans)]) // 60) * 60
    bolts = []
    for form, start, part in zip(days.days, opens, parts, strict=True):
        kinds = [Part(kind, getattr(part, kind)) for kind in ("clients", "own", "lost")]
        shown = [Part("before", start - first), *kinds] if part.minutes else []
        bolts.append(Bolt(form, Bar(shown, size=last - first)))
    every = 120 if last - first <= 840 else 240
    hours = [
        (at // 60, percent((at - first) / (last - first))) for at in range(first, last + 1, every)
    ]
    return BoltPicture(bolts, hours, sum(parts, Shares(0, 0, 0)))
