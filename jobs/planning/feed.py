"""Fittings and promise dates as a calendar that a phone subscribes to (RFC 5545), and its pages.

The address is the key: whoever has it reads the calendar without a login, so it is 256 bits of
chance, names nobody in full unless the owner wants it, and is revoked by making another.
"""

from collections import Counter
from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta
from itertools import pairwise

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe
from icalendar import Calendar, Event

from clients.models import Client
from jobs.planning.actions import close_feed, open_feed
from jobs.planning.models import CalendarFeed, Fitting
from jobs.tickets.models import Agreement, Ticket
from studio.shop import clock
from studio.shop.doors.logins import fresh_password
from studio.shop.http import StudioRequest, absolute, owner_only
from studio.shop.models import Profile

LOOK_BACK = timedelta(days=31)
"""Fittings that are over stay in the calendar for a month."""
REFRESH = timedelta(hours=1)
DOMAIN = "sewing-studio.invalid"
"""RFC 5545, 3.8.4.7 asks for identifiers that are unique in the world; RFC 2606 keeps this name
free of any machine, and the identifiers in front of it are random."""


def calendar(studio: Profile, *, full_names: bool) -> bytes:
    """The feed: booked and kept fittings from a month ago on, and what open tickets promise.

    Moments are written in UTC, which is the same moment whatever the reader's zone and season.
    Three queries, whatever the number of tickets.
    """
    feed = Calendar()
    feed.add("prodid", "-//Sewing studio//Fittings and promise dates//EN")
    feed.add("version", "2.0")
    feed.add("name", studio.name)
    feed.add("x-wr-calname", studio.name)
    feed.add("refresh-interval", REFRESH, parameters={"value": "DURATION"})
    feed.add("x-published-ttl", "PT1H")
    for event in (*_fittings(full_names), *_promises(full_names)):
        feed.add_component(event)
    return bytes(feed.to_ical())


def initials(name: str) -> str:
    """``Maeve Ní Tuohy`` as ``M. N. T.``"""
    return " ".join(f"{word[0].upper()}." for word in name.split())


def _fittings(full_names: bool) -> Iterator[Event]:
    fittings = Fitting.objects.select_related("ticket__client").filter(
        state__in=[Fitting.State.BOOKED, Fitting.State.KEPT],
        starts_at__gte=clock.now() - LOOK_BACK,
    )
    for fitting in fittings:
        client = _named(fitting.ticket.client, full_names)
        event = _event(
            str(fitting.uid),
            f"{fitting.get_kind_display()}: {client}, {fitting.ticket}",
            fitting.starts_at,
            fitting.sequence,
        )
        event.add("duration", timedelta(minutes=fitting.minutes))
        yield event


def _promises(full_names: bool) -> Iterator[Event]:
    tickets = list(Ticket.objects.open().select_related("client").order_by("promise_at", "pk"))
    moves = _moves(tickets)
    for ticket in tickets:
        client = _named(ticket.client, full_names)
        event = _event(
            str(ticket.form_key),
            f"Ready by: {client}, {ticket}",
            ticket.promise_at,
            moves[ticket.pk],
        )
        # It takes no time of the day: RFC 5545, 3.6.1 and 3.8.2.7.
        event.add("transp", "TRANSPARENT")
        yield event


def _moves(tickets: Iterable[Ticket]) -> Counter[int]:
    """How often each ticket's promise was moved: a calendar's ``SEQUENCE`` counts nothing else."""
    versions = Agreement.objects.filter(ticket__in=tickets).order_by("ticket", "version")
    promised = versions.values_list("ticket_id", "data__promise_at")
    return Counter(
        ticket
        for (earlier, before), (ticket, after) in pairwise(promised)
        if earlier == ticket and before != after
    )


def _event(uid: str, summary: str, starts_at: datetime, sequence: int) -> Event:
    event = Event()
    event.add("uid", f"{uid}@{DOMAIN}")
    event.add("dtstamp", clock.in_utc(clock.now()))
    event.add("dtstart", clock.in_utc(starts_at))
    event.add("summary", summary)
    event.add("sequence", sequence)
    return event


def _named(client: Client, full_names: bool) -> str:
    return client.name if full_names else initials(client.name)


@login_not_required
@require_safe
def calendar_feed(request: HttpRequest, key: str) -> HttpResponse:
    """What a calendar program fetches. A wrong or revoked key is no page at all."""
    feed = CalendarFeed.objects.filter(key=key).first()
    studio = Profile.load()
    if feed is None or studio is None:
        raise Http404
    return HttpResponse(
        calendar(studio, full_names=feed.full_names),
        content_type="text/calendar; charset=utf-8",
        headers={
            "Cache-Control": "private, max-age=900",
            "Content-Disposition": 'inline; filename="studio.ics"',
            "X-Robots-Tag": "noindex",
        },
    )


@owner_only
@require_safe
def feed_page(request: StudioRequest) -> HttpResponse:
    """The address for the phone, and how to revoke it."""
    feed = CalendarFeed.objects.first()
    address = absolute(request, reverse("calendar-feed", args=[feed.key])) if feed else ""
    return render(request, "planning/calendar.html", {"feed": feed, "address": address})


@owner_only
@require_POST
@fresh_password
def feed_open(request: StudioRequest) -> HttpResponse:
    had_one = CalendarFeed.objects.exists()
    open_feed(full_names="full_names" in request.POST, by=request.user)
    messages.success(
        request,
        "New address made; the one before no longer works." if had_one else "Address made.",
    )
    return redirect("studio-calendar")


@owner_only
@require_POST
def feed_close(request: StudioRequest) -> HttpResponse:
    close_feed()
    messages.success(request, "The calendar's address no longer works.")
    return redirect("studio-calendar")
