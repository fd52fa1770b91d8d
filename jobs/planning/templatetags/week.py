"""How pages speak of a week, and draw it to scale."""

from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import Any

from babel.dates import format_date
from django import template
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from jobs.planning import lifted
from jobs.planning.models import PlanRules
from jobs.planning.plan.book import monday_of
from jobs.planning.plan.day_line import DayPart, PicturedGarment
from jobs.planning.plan.week_shares import Shares, week_shares
from studio.shop import clock
from studio.shop.locales import show_day
from studio.shop.look.bars import Bar, Part, percent
from studio.shop.models import Profile
from studio.shop.settings_forms import WeekForm
from studio.shop.templatetags.look import garment_drawing

register = template.Library()
register.filter("may_be_chosen", lifted.may_be_chosen)


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


@register.filter
def short_day(day: date, studio: Profile) -> str:
    """A day without its weekday: ``30 Nov``."""
    return show_day(day, studio.locale, year=False).split(" ", 1)[1]


@register.filter
def weekday(day: date, studio: Profile) -> str:
    """A day of the week that is shown: ``Mon 30``."""
    return format_date(day, "EEE d", locale=studio.locale)


@dataclass(frozen=True)
class DrawnLength:
    """How long a part of a day is drawn: the strut that holds it open, and a name for its size."""

    strut: SafeString
    name: str


@register.simple_tag
@lru_cache(maxsize=4096)
def length(minutes: int, scale: float, kind: str = "") -> DrawnLength:
    """``scale`` is the height of a minute in rem; no work is drawn too short to be touched."""
    high = minutes * scale if kind in {"free", "lost"} else max(1.6, minutes * scale)
    strut = format_html('<svg class="strut" width="1" height="{}em"/>', f"{high:.2f}")
    names = [("thin sliver", 1.1), ("thin", 2.3), ("low", 4.4), ("tall", 7.2)]
    return DrawnLength(strut, next((name for name, most in names if high < most), "tall roomy"))


@register.simple_tag
def picture_of(garment: PicturedGarment) -> SafeString:
    if garment.photo:
        source = reverse("photo", args=[garment.photo])
        return format_html('<img class="garment" src="{}" alt="" loading="lazy">', source)
    return garment_drawing(garment.kind, garment.colour, garment.work, "tile bare")


@register.simple_tag
def in_hand(block: lifted.Lifted | str | None, part: DayPart) -> bool:
    """Whether the part is what was lifted; a page without a block in the hand gives none."""
    if isinstance(block, lifted.LiftedWork | lifted.LiftedHours):
        return any(block.holds(row) for row in (part, *part.small))
    return False


@register.simple_tag
def lift_address(part: DayPart, day: date) -> str:
    return lifted.address_of(part, day)


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
