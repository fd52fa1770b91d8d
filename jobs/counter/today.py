"""The first page: what the week says of today, beside what is owed and the first steps."""

from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from django.db.models import Q, QuerySet
from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from jobs.billing.queries import with_balances
from jobs.counter.messages.drafts import count_to_say
from jobs.planning.clock import GUESSES
from jobs.planning.messages import about_wait
from jobs.planning.queries import read_week
from jobs.planning.rush import time_question
from jobs.planning.today import MOST_ON_RAIL, DaySheet, RiskRow, day_sheet
from jobs.planning.todo import open_in_the_studio
from jobs.pricing.models import Operation
from jobs.tickets.agreements import tell_asked
from jobs.tickets.models import AskedChange, State, Ticket
from studio.backup import asked
from studio.backup.queries import read_state, waiting_words
from studio.shop import clock
from studio.shop.http import StudioRequest
from studio.shop.may import Tick
from studio.shop.models import Profile, User

MOST_ROWS = 5
"""Rows of the day in sight; of more of them the last place says how many."""


@dataclass(frozen=True)
class AtRisk:
    """A promise at risk, and the link that asks its client again where that is the mend."""

    row: RiskRow
    ask: str


@require_GET
def today(request: StudioRequest) -> HttpResponse:
    week = read_week(request.studio, until=clock.today())
    sheet = day_sheet(week, request.studio, request.user)
    begun = week.tickets or week.book.makes or sheet.under_way or sheet.running
    first_day = not begun and not Ticket.objects.exists()
    todo = open_in_the_studio()
    first_rows = sheet.rows if len(sheet.rows) <= MOST_ROWS else sheet.rows[: MOST_ROWS - 1]
    waits = sheet.tickets_on_others + len(sheet.not_yet) + len(sheet.unmeasured) + len(todo)
    say = count_to_say(request.studio)
    there = asked.load()
    context: dict[str, Any] = {
        "sheet": sheet,
        "first_rows": first_rows,
        "more_rows": sheet.rows[len(first_rows) :],
        # What is late stands above already.
        "coming_rows": ":2" if sheet.after_hours else ":4",
        "waits": waits,
        "idle": week.book.idle,
        "guesses": GUESSES,
        "at_risk": [AtRisk(row, _ask(row, request.studio)) for row in sheet.risks],
        "rail": sheet.ready[:MOST_ON_RAIL],
        "first_day": first_day,
        "todo": todo,
        "asks": time_question(week, request.studio),
        "say": say,
        "goes_back": there and (there.wrong or waiting_words(there, request.studio)),
    }
    if request.user.may(Tick.PRICES):
        context["balances"] = _balances(sheet)
    waiting = Q(accepted=None, ticket__state__in=State.open())
    if request.user.is_owner:
        rows = AskedChange.objects.filter(waiting)
        context["backup"] = backup = read_state(request.studio)
        # A missing one is a line of its own once the first steps, which name it, are put away.
        context["backup_line"] = backup.latest or (backup.missing and request.studio.steps_away)
    else:
        news = Q(answered_at__gte=clock.now() - STAYS_ANSWERED)
        rows = AskedChange.objects.filter(waiting | news, by=request.user)
    context["asked"] = _asked(rows, request.user, request.studio)
    if not request.user.is_owner and (sheet.at_risk or sheet.unmeasured):
        context["owner"] = User.objects.filter(role=User.Role.OWNER).order_by("pk").first()
    if first_day:
        context["operations"] = Operation.objects.count()
    return render(request, "counter/today.html", context)


STAYS_ANSWERED = timedelta(days=2)
"""How long who asked reads the answer on her own page; it stays on the ticket."""


def _asked(rows: QuerySet[AskedChange], by: User, studio: Profile) -> list[tuple[AskedChange, str]]:
    """What would change, in words for ``by``, the oldest first."""
    prices = by.may(Tick.PRICES)
    return [
        (
            asked,
            tell_asked(
                asked.delta, studio.locale, currency=asked.ticket.currency if prices else ""
            ),
        )
        for asked in rows.select_related("by", "ticket__client").order_by("pk")
    ]


def _ask(row: RiskRow, studio: Profile) -> str:
    """The way to ask that the client likes best; "" where nobody knows one."""
    if row.wait is None:
        return ""
    links = about_wait(row.wait, studio).links
    return links[0].href if links else ""


def _balances(sheet: DaySheet) -> dict[int, int]:
    """What is still to be paid for what hangs ready, by the ticket's key. One query, or none."""
    shown = {ticket.pk for ticket in sheet.ready[:MOST_ON_RAIL]}
    shown |= {row.ticket.pk for row in sheet.rows if row.kind == "pick-up" and row.ticket}
    if not shown:
        return {}
    return dict(with_balances(Ticket.objects.filter(pk__in=shown)).values_list("pk", "balance"))
