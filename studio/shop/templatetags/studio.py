"""How pages show money, lengths, days and minutes in the studio's own locale."""

from datetime import date, datetime

from babel.dates import format_date, format_time
from django import template
from django.template.loader_tags import BLOCK_CONTEXT_KEY
from django.urls import Resolver404, resolve
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString

from studio.shop.models import Profile
from studio.shop.money import format_money, format_plain

register = template.Library()


def show_day(day: date | datetime, locale: str, *, year: bool = True) -> str:
    """A day with its weekday, such as ``Fri 27 Nov 2026``, local to the studio."""
    if isinstance(day, datetime):
        day = timezone.localtime(day).date()
    return format_date(day, "EEE d MMM y" if year else "EEE d MMM", locale=locale)


def show_clock(moment: datetime, locale: str) -> str:
    """The local time of day in the locale's short form."""
    return format_time(timezone.localtime(moment).time(), "short", locale=locale)


def show_minutes(minutes: int) -> str:
    """``95`` is ``1 h 35``; under an hour ``35 min``."""
    hours, rest = divmod(int(minutes), 60)
    if not hours:
        return f"{rest} min"
    return f"{hours} h {rest:02d}" if rest else f"{hours} h"


@register.simple_tag(takes_context=True)
def money(context: template.Context, minor: int, currency: str | None = None) -> str:
    studio: Profile = context["studio"]
    return format_money(minor, currency or studio.currency, studio.locale)


@register.filter
def plain_money(minor: int, currency: str) -> str:
    return format_plain(minor, currency)


@register.simple_tag(takes_context=True)
def day(context: template.Context, value: date | datetime, year: bool = True) -> str:  # noqa: FBT001, FBT002 -- template tags take positional arguments
    return show_day(value, context["studio"].locale, year=year)


@register.simple_tag(takes_context=True)
def moment(context: template.Context, value: datetime) -> str:
    locale = context["studio"].locale
    return f"{show_day(value, locale)}, {show_clock(value, locale)}"


@register.simple_tag(takes_context=True)
def clock(context: template.Context, value: datetime) -> str:
    return show_clock(value, context["studio"].locale)


register.filter("minutes", show_minutes)


@register.simple_tag(takes_context=True)
def current(context: template.Context, *names: str) -> SafeString | str:
    """``aria-current`` on the room one stands in."""
    try:
        here = resolve(context["request"].path).url_name
    except Resolver404:
        return ""
    return format_html(' aria-current="{}"', "page") if here in names else ""


@register.inclusion_tag("shop/_state.html")
def state(ticket: object) -> dict[str, object]:
    return {"ticket": ticket}


@register.simple_tag(takes_context=True)
def again(context: template.Context, name: str) -> str:
    """A block of the page once more: the heading repeats the title."""
    return context.render_context[BLOCK_CONTEXT_KEY].get_block(name).render(context)
