"""How pages show money, lengths, days and minutes in the studio's own locale."""

import unicodedata
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django import template
from django.template.loader_tags import BLOCK_CONTEXT_KEY
from django.utils.html import format_html
from django.utils.safestring import SafeString

from studio.shop import history
from studio.shop.locales import (
    show_clock,
    show_day,
    show_long_day,
    show_minutes,
    show_near_day,
    show_share,
)
from studio.shop.models import Entry, Profile, User
from studio.shop.money import format_money, format_plain, plain_percent
from studio.shop.paper.letters import font_for, unprintable
from studio.shop.words import Words

register = template.Library()


def whole(context: template.Context, words: str) -> str:
    """On paper no line breaks within a figure or a day."""
    return format_html('<span class="figure">{}</span>', words) if "on_paper" in context else words


@register.simple_tag(takes_context=True)
def money(context: template.Context, minor: int, currency: str | None = None) -> str:
    studio: Profile = context["studio"]
    return whole(context, format_money(minor, currency or studio.currency, studio.locale))


@register.simple_tag(takes_context=True)
def phrase(context: template.Context, text: str, plural: str = "", **values: Any) -> SafeString:
    """A phrase of a client's paper in the paper's language; see ``studio.shop.words``."""
    words = context.get("words") or Words()
    return words.html(text, plural, **values)


@register.simple_tag(takes_context=True)
def share(context: template.Context, percent: str) -> str:
    """A percentage of plain digits on a client's paper: ``13.5 %``, ``13,5 %``."""
    return whole(context, show_share(Decimal(percent), context["studio"].locale))


@register.filter
def plain_money(minor: int, currency: str) -> str:
    return format_plain(minor, currency)


@register.simple_tag(takes_context=True)
def day(context: template.Context, value: date | datetime, year: bool = True) -> str:
    return whole(context, show_day(value, context["studio"].locale, year=year))


@register.simple_tag(takes_context=True)
def long_day(context: template.Context, value: date) -> str:
    return show_long_day(value, context["studio"].locale)


@register.simple_tag(takes_context=True)
def near_day(context: template.Context, value: date) -> str:
    return show_near_day(value, context["studio"].locale)


@register.simple_tag(takes_context=True)
def short_day(context: template.Context, value: date) -> str:
    """A day without its weekday: ``30 Nov``."""
    return show_day(value, context["studio"].locale, year=False).split(" ", 1)[1]


@register.simple_tag(takes_context=True)
def moment(context: template.Context, value: datetime) -> str:
    return format_html("{}, {}", day(context, value), clock(context, value))


@register.simple_tag(takes_context=True)
def clock(context: template.Context, value: datetime) -> str:
    return whole(context, show_clock(value, context["studio"].locale))


@register.simple_tag(takes_context=True)
def sentence(context: template.Context, entry: Entry) -> str:
    """An entry of the history in words."""
    return history.sentence(entry, context["studio"].locale)


@register.filter
def undoable(entry: Entry, by: User) -> bool:
    """Whether ``by`` may try to take it back; something may have changed since."""
    return history.undoable([entry], by) is not None


@register.filter
def of(rows: dict[Any, Any], key: Any) -> Any:
    """The row of a mapping that belongs to ``key``, or nothing."""
    return rows.get(key)


@register.filter
def short_name(name: str) -> str:
    """A client under a picture: ``Ada Moss`` is ``Ada M.``"""
    first, *rest = name.split() or [""]
    return f"{first} {rest[-1][0]}." if rest else first


register.filter("minutes", show_minutes)
register.filter("unprintable", unprintable)
register.filter("font_for", font_for)
register.filter("percent", plain_percent)


@register.simple_tag(takes_context=True)
def current(context: template.Context, *names: str) -> SafeString | str:
    """``aria-current`` on the room one stands in."""
    here = _address(context)
    return format_html(' aria-current="{}"', "page") if here in names else ""


@register.simple_tag(takes_context=True)
def in_own_sewing(context: template.Context) -> bool:
    """Whether the page belongs to own sewing: all below ``own/``, and its years."""
    match = getattr(context.get("request"), "resolver_match", None)
    return match is not None and match.route.startswith(("own/", "year/"))


def _address(context: template.Context) -> str | None:
    """The name of the page's address; None where there is no such page."""
    match = getattr(context.get("request"), "resolver_match", None)
    return match.url_name if match else None


@register.inclusion_tag("shop/_state.html")
def state(ticket: object) -> dict[str, object]:
    return {"ticket": ticket}


@register.simple_tag(takes_context=True)
def again(context: template.Context, name: str) -> str:
    """A block of the page once more: the heading repeats the title."""
    text: str = context.render_context[BLOCK_CONTEXT_KEY].get_block(name).render(context)
    return text


@register.simple_tag(takes_context=True)
def whose(context: template.Context) -> str:
    """Whose the own hours are, said to whoever reads: ``your own`` or ``the owner's``."""
    return "your own" if context["user"].is_owner else "the owner's"


@register.filter
def bidi(text: str) -> SafeString:
    """What stays in its own order on a paper that is written from the right, such as a number."""
    from_right = any(unicodedata.bidirectional(letter) in {"R", "AL"} for letter in text)
    return format_html('<span class="{}">{}</span>', "rtl" if from_right else "ltr", text)
