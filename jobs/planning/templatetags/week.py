"""How pages speak of a week."""

from datetime import date, timedelta
from functools import lru_cache

from django import template
from django.urls import reverse

from jobs.planning.plan.book import monday_of
from studio.shop import clock
from studio.shop.locales import show_day

register = template.Library()


@register.simple_tag(takes_context=True)
def week_of(context: template.Context, monday: date) -> str:
    """``this week``, ``next week`` or ``the week of Mon 9 Mar``."""
    this = monday_of(clock.today())
    if monday == this:
        return "this week"
    if monday == this + timedelta(weeks=1):
        return "next week"
    return f"the week of {show_day(monday, context['studio'].locale, year=False)}"


@register.simple_tag
@lru_cache(maxsize=4096)
def ticket_url(number: str) -> str:
    """``{% url 'ticket' number %}``, kept: a week names dozens of tickets, and often the same."""
    return reverse("ticket", args=[number])
