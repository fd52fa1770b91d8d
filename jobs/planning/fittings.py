"""A fitting is booked, or moved, while the client stands there; and what becomes of it.

Beside it the other times of the calendar: appointments, and own hours that were put on a day.
"""

from collections.abc import Callable, Iterable
from datetime import date, datetime, timedelta
from itertools import groupby
from typing import Any

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.html import format_html
from django.views.decorators.http import require_http_methods, require_POST

from jobs.planning import actions
from jobs.planning.lifted import asked_day, say_undoable
from jobs.planning.models import Appointment, Fitting
from jobs.planning.plan.book import monday_of
from jobs.planning.plan.fitting_times import FittingSearch, Offer
from jobs.planning.queries import StudioWeek, fitting_rows, read_lines, read_week, ticket_row
from jobs.pricing.models import FittingPlace
from jobs.tickets.models import MessageKind, Ticket
from jobs.tickets.queries import ticket_or_404
from jobs.tickets.views import say_step
from studio.shop import clock
from studio.shop.forms import Chips, HoursField, day_input, hour_input
from studio.shop.http import StudioRequest, go_back, sent
from studio.shop.locales import show_clock, show_day, show_minutes, show_when
from studio.shop.models import Entry, Profile
from studio.shop.templatetags.look import icon

OTHER = "other"
BY_ADDRESS = ("kind", "day", "time")
SHORTEST = 5
MORNING = "10:00"
OWN = 120
"""Minutes of own sewing unless somebody says otherwise."""
# Another length is offered other times; without scripts the page says so when it is sent.
OTHER_TIMES = {
    "hx-get": "",
    "hx-trigger": "change",
    "hx-target": "#offer",
    "hx-select": "#offer",
    "hx-swap": "outerHTML",
    "hx-params": "minutes",
}


def minutes_field(most: int, **attrs: str) -> forms.IntegerField:
    return forms.IntegerField(
        label="Minutes",
        min_value=5,
        max_value=most,
        initial=30,
        widget=forms.NumberInput(attrs={"inputmode": "numeric", "step": "any"} | attrs),
    )


class Times(forms.RadioSelect):
    """Times as chips, a row for each day."""

    template_name = "planning/times.html"


class WhenForm(forms.Form):
    """One of the times on offer, or another. Cleans to ``starts_at``, an aware moment."""

    slot = forms.CharField(label="Free times", required=False, widget=Times, max_length=40)
    day = forms.DateField(label="Another day", required=False, widget=day_input())
    time = forms.TimeField(label="at", required=False, widget=hour_input())

    def offer(self, times: Iterable[datetime], locale: str) -> None:
        """Show these times as chips."""
        days = groupby(times, key=lambda moment: show_day(moment, locale, year=False))
        rows = [
            (day, [(moment.isoformat(), show_clock(moment, locale)) for moment in moments])
            for day, moments in days
        ]
        self.fields["slot"].widget.choices = [*rows, (OTHER, "Another time")]

    def clean_slot(self) -> datetime | None:
        slot = self.cleaned_data["slot"]
        if slot in {"", OTHER}:
            return None
        try:
            moment = datetime.fromisoformat(slot)
        except ValueError:
            moment = None
        if moment is None or moment.tzinfo is None:
            raise ValidationError("Choose one of the times, or write another.")
        return moment

    def clean(self) -> dict[str, Any]:
        facts = super().clean() or {}
        slot, day, hour = (facts.get(name) for name in ("slot", "day", "time"))
        typed = clock.at(day, hour) if day and hour else None
        if slot and typed and typed != slot:
            self.add_error("slot", "Choose one of the times, or write another: not both.")
        if not slot and not self.errors:
            for name, value, wrong in (
                ("day", day, "Choose a time above, or say which day."),
                ("time", hour, "Say at what time."),
            ):
                if value is None:
                    self.add_error(name, wrong)
        facts["starts_at"] = slot or typed
        return facts

    def refuse(self, message: str, field: str) -> None:
        """Say it beside what was chosen."""
        self.add_error("slot" if self.cleaned_data.get("slot") else field or "time", message)


class FittingForm(WhenForm):
    kind = forms.ChoiceField(choices=Fitting.Kind.choices, widget=Chips)
    minutes = minutes_field(480, **OTHER_TIMES)
    field_order = ["kind", "minutes", "slot", "day", "time"]


FITTINGS = Fitting.objects.select_related("ticket__client")


def offer_times(
    ticket: Ticket, studio: Profile, minutes: int, moving: Fitting | None = None
) -> Offer:
    """Times for a new fitting of ``minutes``, or for ``moving`` one: a query more than the week."""
    return fitting_search(ticket, read_week(studio), minutes, moving).offer()


def fitting_search(
    ticket: Ticket, week: StudioWeek, minutes: int, moving: Fitting | None = None
) -> FittingSearch:
    """One query."""
    lines = read_lines([ticket.pk])
    return FittingSearch(
        book=week.book,
        hours=week.hours,
        lost_percent=week.rules.lost_percent,
        ticket=ticket_row(ticket),
        lines=lines,
        fittings=week.fittings_of(ticket),
        minutes=minutes,
        moving=fitting_rows([moving])[0] if moving else None,
    )


def fitting_words(fitting: Fitting, studio: Profile) -> str:
    """Such as ``First fitting, Tue 8 Dec 16:00``."""
    return f"{fitting.get_kind_display()}, {show_when(fitting.starts_at, studio.locale)}"


@require_http_methods(["GET", "POST"])
def book(request: StudioRequest, number: str) -> HttpResponse:
    """A new fitting. ``?minutes=`` offers times of that length; kind, day and time may be asked."""
    ticket = ticket_or_404(number)
    if not ticket.is_open:
        messages.info(request, f"Ticket {ticket.number} is {ticket.get_state_display().lower()}.")
        return redirect(ticket)
    asked = {name: request.GET[name] for name in BY_ADDRESS if name in request.GET}
    usual = _usual(ticket, request.GET.get("minutes"))
    form = FittingForm(sent(request), initial=usual | asked)
    offer = offer_times(ticket, request.studio, _minutes(form))
    if form.is_valid():
        facts = form.cleaned_data
        fitting = _try(
            form,
            lambda: actions.book_fitting(
                ticket=ticket,
                starts_at=facts["starts_at"],
                minutes=facts["minutes"],
                kind=facts["kind"],
                studio=request.studio,
                by=request.user,
            ),
        )
        if fitting:
            return _booked(request, fitting, offer)
    return _page(request, ticket, form, offer)


@require_http_methods(["GET", "POST"])
def move(request: StudioRequest, pk: int) -> HttpResponse:
    """Another time for a fitting that is booked or was missed."""
    fitting = get_object_or_404(FITTINGS, pk=pk)
    ticket = fitting.ticket
    form = WhenForm(sent(request))
    offer = offer_times(ticket, request.studio, fitting.minutes, fitting)
    if form.is_valid():
        moment = form.cleaned_data["starts_at"]
        moved = _try(
            form,
            lambda: actions.move_fitting(
                fitting=fitting, starts_at=moment, studio=request.studio, by=request.user
            ),
        )
        if moved:
            return _booked(request, moved, offer)
    return _page(request, ticket, form, offer, fitting)


def _usual(ticket: Ticket, minutes: str | None) -> dict[str, str | int]:
    """The next kind in turn, as long as the fitting before it."""
    last = ticket.fittings.exclude(state=Fitting.State.CANCELLED).last()
    usual: dict[str, str | int] = {
        "kind": Fitting.Kind.NEXT if last else Fitting.Kind.FIRST,
        "minutes": last.minutes if last else 30,
    }
    if minutes and minutes.isdecimal():
        usual["minutes"] = int(minutes)
    return usual


def _minutes(form: FittingForm) -> int:
    """The length to offer times for: what was typed if it is one."""
    typed = form["minutes"].value()
    try:
        minutes: int = form.fields["minutes"].clean(typed)
    except ValidationError:
        return 30
    return minutes


def _try(form: WhenForm, act: Callable[[], Fitting]) -> Fitting | None:
    try:
        return act()
    except actions.PlanError as wrong:
        form.refuse(str(wrong), wrong.field)
        return None


def _booked(request: StudioRequest, fitting: Fitting, offer: Offer) -> HttpResponse:
    messages.success(request, _booked_words(request, fitting))
    if offer.too_soon(fitting.starts_at):
        first = show_when(offer.times[0], request.studio.locale)
        messages.warning(
            request,
            f"The work before it, {show_minutes(offer.minutes)}, can be done by {first} "
            "at the earliest.",
        )
    return redirect(fitting.ticket)


def _booked_words(request: StudioRequest, fitting: Fitting) -> str:
    """With the way to tell the client, whose next fitting it has to be: messages are about that."""
    words = f"Booked: {fitting_words(fitting, request.studio)}."
    ahead = fitting.ticket.fittings.filter(state=Fitting.State.BOOKED, starts_at__gt=clock.now())
    if ahead.order_by("starts_at").first() != fitting:
        return words
    address = reverse("ticket-message", args=[fitting.ticket])
    link = '{} <a href="{}?kind={}">{}Message</a>'
    return format_html(link, words, address, MessageKind.FITTING, icon("message"))


def _page(
    request: StudioRequest,
    ticket: Ticket,
    form: WhenForm,
    offer: Offer,
    fitting: Fitting | None = None,
) -> HttpResponse:
    form.offer(offer.times, request.studio.locale)
    garments = ticket.garments.filter(removed_at=None).prefetch_related("lines", "photos")
    context = {"ticket": ticket, "form": form, "offer": offer, "fitting": fitting}
    return render(request, "planning/fitting.html", context | {"garments": garments})


@require_POST
def kept(request: StudioRequest, pk: int) -> HttpResponse:
    return _step(request, pk, actions.keep_fitting)


@require_POST
def missed(request: StudioRequest, pk: int) -> HttpResponse:
    return _step(request, pk, actions.miss_fitting)


@require_POST
def cancel(request: StudioRequest, pk: int) -> HttpResponse:
    return _step(request, pk, actions.cancel_fitting)


PLACES = {"": FittingPlace.AFTER, FittingPlace.BEFORE.value: FittingPlace.BEFORE}


@require_POST
def work_after(request: StudioRequest, number: str) -> HttpResponse:
    """Each line says after which fitting it is worked on, or that it is before.

    ``line-<pk>`` is a fitting, empty or ``before``.
    """
    ticket = ticket_or_404(number)
    fittings = {str(fitting.pk): fitting for fitting in ticket.fittings.all()}
    for garment in ticket.garments.all():
        for line in garment.lines.all():
            chosen = request.POST.get(f"line-{line.pk}")
            if chosen is not None and (chosen in PLACES or chosen in fittings):
                place, fitting = PLACES.get(chosen, FittingPlace.AFTER), fittings.get(chosen)
                actions.work_after(line=line, fitting=fitting, place=place, by=request.user)
    return redirect(ticket)


def _step(request: StudioRequest, pk: int, act: Callable[..., Fitting]) -> HttpResponse:
    fitting = get_object_or_404(Fitting.objects.select_related("ticket"), pk=pk)
    was = fitting.state
    try:
        fitting = act(fitting=fitting, by=request.user)
    except actions.PlanError as wrong:
        messages.error(request, str(wrong))
    else:
        if fitting.state != was:
            words = f"{fitting.get_kind_display()}: {fitting.get_state_display().lower()}."
            say_step(request, fitting.ticket, words)
    return go_back(request, fitting.ticket)


class AppointmentForm(forms.Form):
    """Something other than a fitting. Cleans to ``starts_at`` too."""

    kind = forms.ChoiceField(
        choices=Appointment.Kind.choices,
        initial=Appointment.Kind.OTHER,
        widget=Chips,
    )
    name = forms.CharField(label="What", max_length=120, required=False)
    day = forms.DateField(
        label="Day", widget=day_input(), error_messages={"required": "Say on which day."}
    )
    time = forms.TimeField(
        label="Time", widget=hour_input(), error_messages={"required": "Say at what time."}
    )
    minutes = HoursField(
        label="How long",
        help_text="Hours, such as 4, 1:30 or 0:20.",
        initial=30,
        widget=forms.TextInput({"data-whole": True}),
    )

    def clean_minutes(self) -> int:
        minutes: int = self.cleaned_data["minutes"]
        if minutes < SHORTEST:
            raise forms.ValidationError("Say how long, five minutes at least.")
        return minutes

    def clean(self) -> dict[str, Any]:
        facts = super().clean() or {}
        if facts.get("kind") == Appointment.Kind.OTHER and not facts.get("name"):
            self.add_error("name", "Say what it is.")
        if facts.get("day") and facts.get("time"):
            facts["starts_at"] = clock.at(facts["day"], facts["time"])
        return facts


def coming_appointments(since: date) -> QuerySet[Appointment]:
    """Those that are not over before the day ``since``."""
    return Appointment.objects.filter(starts_at__gte=clock.at(since, datetime.min.time()))


@require_http_methods(["GET", "POST"])
def appointments(request: StudioRequest) -> HttpResponse:
    """The list, and a form that an address like ``?kind=own&day=2026-12-01&minutes=90`` fills.

    Own sewing on a day is asked first how long; it begins in the morning, or now, unless its owner
    says otherwise, and leads back to its week.
    """
    initial: dict[str, Any] = {
        name: request.GET[name] for name in BY_ADDRESS if name in request.GET
    }
    if initial.get("kind") != Appointment.Kind.OWN:
        initial = {"day": clock.today()} | initial
    if (minutes := request.GET.get("minutes", "")).isdecimal():
        initial["minutes"] = int(minutes)
    if initial.get("kind") == Appointment.Kind.OWN:
        initial = {"time": _morning(initial.get("day", "")), "minutes": OWN} | initial
    form = AppointmentForm(sent(request), initial=initial)
    if form.is_valid() and (done := _put_appointment(request, form)):
        return done
    own_day = asked_day(request.GET) if initial.get("kind") == Appointment.Kind.OWN else None
    context: dict[str, Any] = {"form": form, "own_day": own_day}
    if not own_day:
        context["coming"] = coming_appointments(clock.today())
    return render(request, "planning/appointments.html", context)


def _morning(day: str) -> str:
    """When own sewing begins unless somebody says otherwise; today not before the next quarter."""
    now = clock.local(clock.now())
    if day != now.date().isoformat() or f"{now:%H:%M}" < MORNING:
        return MORNING
    soon = now + timedelta(minutes=15 - now.minute % 15)
    return f"{soon:%H:%M}"


@require_http_methods(["GET", "POST"])
def appointment(request: StudioRequest, pk: int) -> HttpResponse:
    """One of them, to be given another day, hour or length."""
    one = get_object_or_404(Appointment, pk=pk)
    starts = clock.local(one.starts_at)
    initial = {"kind": one.kind, "name": one.name, "minutes": one.minutes}
    initial |= {"day": starts.date(), "time": starts.time()}
    form = AppointmentForm(sent(request), initial=initial)
    if form.is_valid() and (done := _put_appointment(request, form, one)):
        return done
    return render(request, "planning/appointment.html", {"form": form, "one": one})


@require_POST
def appointment_remove(request: StudioRequest, pk: int) -> HttpResponse:
    appointment = get_object_or_404(Appointment, pk=pk)
    entries = actions.entries_of(
        request.user,
        lambda: actions.take_off_appointment(appointment=appointment, by=request.user),
    )
    return say_undoable(request, f"{appointment}: removed.", entries, redirect("appointments"))


def _say_appointment(
    request: StudioRequest, appointment: Appointment, entries: list[Entry]
) -> HttpResponse:
    when = show_when(appointment.starts_at, request.studio.locale)
    back = redirect("appointments")
    if appointment.kind == Appointment.Kind.OWN:
        back = redirect("week-of", monday_of(clock.local(appointment.starts_at).date()))
    return say_undoable(request, f"{appointment}: {when}.", entries, back)


def _put_appointment(
    request: StudioRequest, form: AppointmentForm, one: Appointment | None = None
) -> HttpResponse | None:
    """Put on its day, or ``one`` of them changed."""
    facts = {name: form.cleaned_data[name] for name in ("name", "starts_at", "minutes")}
    facts |= {"studio": request.studio, "by": request.user}
    put: list[Appointment] = []

    def act() -> None:
        if one:
            put.append(actions.change_appointment(appointment=one, **facts))
        else:
            put.append(actions.put_appointment(kind=form.cleaned_data["kind"], **facts))

    try:
        entries = actions.entries_of(request.user, act)
    except actions.PlanError as wrong:
        form.add_error(wrong.field or None, str(wrong))
        return None
    return _say_appointment(request, put[0], entries)
