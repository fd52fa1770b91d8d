"""A block of the week in the hand: every day is asked, it is put down, or let loose."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, time
from functools import cached_property
from typing import Any
from urllib.parse import urlencode

from django import forms
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.http import HttpResponse, HttpResponseRedirect, QueryDict
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_POST

from jobs.makes.models import Make
from jobs.planning import actions
from jobs.planning.models import OwnSewingDay
from jobs.planning.plan.another_day import DayAnswer, each_day, own_each_day, with_own_day
from jobs.planning.plan.book import Book, monday_of
from jobs.planning.plan.day_line import DayPart, own_fields
from jobs.planning.plan.workload import Job, OwnDay, Work
from jobs.planning.queries import read_week
from jobs.tickets.actions import TicketError
from jobs.tickets.models import Line, Ticket
from studio.shop import clock
from studio.shop.history import HistoryError
from studio.shop.http import StudioRequest, go_back, say
from studio.shop.locales import show_day
from studio.shop.models import Entry, Profile, User


class LiftForm(forms.Form):
    """Operations of one ticket, or own ``minutes`` that lie on the day ``own``; and the new day.

    ``put`` says that the own minutes were put on their day.
    ``open`` is a day whose parts are links.
    """

    lines = forms.RegexField(r"^\d{1,18}(,\d{1,18}){0,99}$", required=False)
    own = forms.DateField(required=False)
    minutes = forms.IntegerField(min_value=1, max_value=1440, required=False)
    make = forms.IntegerField(min_value=1, required=False)
    put = forms.BooleanField(required=False)
    day = forms.DateField(required=False)
    open = forms.DateField(required=False)


@dataclass(frozen=True)
class LiftedWork:
    """Operations of one ticket. ``lies_on`` is the day on which the plan begins them."""

    job: Job
    works: tuple[Work, ...]
    lies_on: date | None
    ready_by: time

    own = False

    @property
    def fields(self) -> dict[str, Any]:
        """What an address or a form carries."""
        return {"lines": ",".join(str(work.line) for work in self.works)}

    @property
    def query(self) -> str:
        return urlencode(self.fields)

    @property
    def names(self) -> str:
        return ", ".join(f"{work.garment} {work.name.lower()}" for work in self.works)

    @cached_property
    def lines(self) -> frozenset[int]:
        return frozenset(work.line for work in self.works)

    @property
    def minutes(self) -> int:
        return sum(work.minutes for work in self.works)

    @property
    def put(self) -> bool:
        return any(work.day for work in self.works)

    def holds(self, part: DayPart) -> bool:
        return not self.lines.isdisjoint(part.lines) or any(map(self.holds, part.small))

    def answers(self, book: Book, days: Iterable[date]) -> dict[date, DayAnswer]:
        stages = {work.stage for work in self.works}
        return {answer.day: answer for answer in each_day(book, stages, days)}

    def look(self, book: Book, answer: DayAnswer) -> Book:
        """The book with the block on that day, and whose promise breaks agreed anew."""
        later = {row.ticket: clock.at(row.day, self.ready_by) for row in answer.late}

        def moved(job: Job) -> Job:
            if job.ticket in later:
                job = replace(job, promise_at=max(job.promise_at, later[job.ticket]))
            if job.ticket != self.job.ticket:
                return job
            works = (
                replace(work, day=answer.day) if work.line in self.lines else work
                for work in job.works
            )
            return replace(job, works=tuple(works))

        return replace(book, jobs=tuple(map(moved, book.jobs)))


@dataclass(frozen=True)
class LiftedHours:
    """Own minutes that the plan has on the day ``lies_on``, loose there or ``put``."""

    minutes: int
    lies_on: date
    put: bool
    make: int | None
    words: str

    own = True

    @property
    def fields(self) -> dict[str, Any]:
        return own_fields(self.lies_on, self.minutes, self.make, put=self.put)

    @property
    def query(self) -> str:
        return urlencode(self.fields)

    @property
    def was(self) -> date | None:
        return self.lies_on if self.put else None

    def holds(self, part: DayPart) -> bool:
        return part.kind == "own" and not part.pinned and part.put and part.make == self.make

    def answers(self, book: Book, days: Iterable[date]) -> dict[date, DayAnswer]:
        answers = {}
        for day in days:
            minutes = self._on(book, day)
            (answers[day],) = own_each_day(book, minutes, [day], make=self.make, was=self.was)
        return answers

    def look(self, book: Book, answer: DayAnswer) -> Book:
        minutes = self._on(book, answer.day)
        return with_own_day(book, OwnDay(answer.day, minutes, self.make, self.words), self.was)

    def _on(self, book: Book, day: date) -> int:
        """They come to what was put on that day already."""
        there = (own for own in book.own_days if (own.day, own.make) == (day, self.make))
        return self.minutes + sum(own.minutes for own in there if own.day != self.was)


Lifted = LiftedWork | LiftedHours


def lifted_from(data: QueryDict, book: Book, studio: Profile) -> Lifted | None:
    """The block that an address or a form names, if it names one.

    Raises LookupError where it is no longer open, or was never.
    """
    form = LiftForm(data)
    form.is_valid()
    facts = form.cleaned_data
    if facts.get("lines"):
        stages = [f"line-{int(line)}" for line in facts["lines"].split(",")]
        works = tuple(book.load.works[stage] for stage in stages)
        job = book.load.job_of[stages[0]]
        if any(book.load.job_of[stage].ticket != job.ticket for stage in stages):
            raise LookupError(stages)
        return LiftedWork(job, works, _first_day(book, set(stages)), studio.promise_time)
    if facts.get("own") and facts.get("minutes"):
        make, put = facts.get("make"), bool(facts.get("put"))
        for own in book.own_days if put else ():
            if (own.day, own.make) == (facts["own"], make):
                return LiftedHours(own.minutes, own.day, put, make, own.words)
        if put:
            raise LookupError(facts["own"])
        names: dict[int | None, str] = {row.pk: row.words for row in book.makes} | {None: ""}
        return LiftedHours(facts["minutes"], facts["own"], put, make, names[make])
    if data.get("lines") or data.get("own"):
        raise LookupError("nothing")
    return None


def asked_day(data: QueryDict) -> date | None:
    form = LiftForm(data)
    form.is_valid()
    day: date | None = form.cleaned_data.get("day")
    return day


def opened_day(data: QueryDict) -> date | None:
    form = LiftForm(data)
    form.is_valid()
    day: date | None = form.cleaned_data.get("open")
    return day


def _first_day(book: Book, stages: set[str]) -> date | None:
    for bucket, pieces in enumerate(book.plan.days):
        if any(stage in stages for stage, _ in pieces):
            return book.day_of(bucket)
    return None


GONE = "This work is no longer open, or no longer where it was. Lift it again."


@require_POST
def put(request: StudioRequest) -> HttpResponse:
    """Put the block down on ``day``; ``move`` are the tickets whose promises give way, as shown."""
    book, studio = read_week(request.studio).book, request.studio
    form = LiftForm(request.POST)
    day = form.cleaned_data.get("day") if form.is_valid() else None
    try:
        lifted = lifted_from(request.POST, book, studio)
    except LookupError:
        lifted = None
    if lifted is None or day is None:
        messages.error(request, GONE)
        return redirect("week")
    answer = lifted.answers(book, [day])[day]
    if not answer.may_be_chosen or {row.ticket for row in answer.late} != set(
        request.POST.getlist("move")
    ):
        messages.error(request, "The week has changed since, and that day with it. Look again.")
        return redirect(f"{reverse('week-of', args=[monday_of(day)])}?{urlencode(lifted.fields)}")
    try:
        with transaction.atomic():
            entries = _put(request, lifted, answer)
            if answer.late and _breaks(studio, lifted):
                raise actions.PlanError("Even so that day does not hold it. Choose another one.")
    except (actions.PlanError, TicketError) as wrong:
        messages.error(request, str(wrong))
        return redirect(f"{reverse('week-of', args=[monday_of(day)])}?{urlencode(lifted.fields)}")
    words = f"Put on {show_day(day, studio.locale, year=False)}."
    for row in answer.late:
        words += f" {row.client} is promised for {show_day(row.day, studio.locale, year=False)}."
    return say_undoable(request, words, entries, redirect("week-of", monday_of(day)))


def _put(request: StudioRequest, lifted: Lifted, answer: DayAnswer) -> list[Entry]:
    studio, by = request.studio, request.user
    if isinstance(lifted, LiftedHours):
        _owner(by)
        make = get_object_or_404(Make, pk=lifted.make) if lifted.make else None
        there = OwnSewingDay.objects.filter(day=answer.day, make=make).first()
        already = there.minutes if there and answer.day != lifted.was else 0
        return actions.entries_of(
            by,
            lambda: actions.put_own_on_day(
                day=answer.day,
                minutes=lifted.minutes + already,
                studio=studio,
                by=by,
                make=make,
                taken_from=lifted.was,
            ),
        )
    moments = {row.ticket: clock.at(row.day, studio.promise_time) for row in answer.late}
    tickets = Ticket.objects.filter(number__in=moments).select_related("client")
    days = {ticket: max(ticket.promise_at, moments[ticket.number]) for ticket in tickets}
    return actions.put_there(
        lines=_lines(lifted.lines), day=answer.day, days=days, studio=studio, by=by
    )


def _lines(pks: Iterable[int]) -> list[Line]:
    return list(Line.objects.filter(pk__in=pks).select_related("garment__ticket"))


def _breaks(studio: Profile, lifted: Lifted) -> bool:
    """Whether the block, once put, could not stay."""
    risks = read_week(studio).book.load.at_risk
    lines = lifted.lines if isinstance(lifted, LiftedWork) else frozenset()
    return any(work.line in lines for risk in risks for work in risk.works)


def _owner(by: User) -> None:
    if not by.is_owner:
        raise PermissionDenied("Only the owner may move these hours.")


@require_POST
def loose(request: StudioRequest) -> HttpResponse:
    """Let a block, or own minutes of a day, be sewn wherever the plan has them."""
    form = LiftForm(request.POST)
    facts = form.cleaned_data if form.is_valid() else {}
    by = request.user
    if facts.get("own"):
        _owner(by)
        make = get_object_or_404(Make, pk=facts["make"]) if facts.get("make") else None
        entries = actions.entries_of(
            by, lambda: actions.let_own_loose(day=facts["own"], by=by, make=make)
        )
    else:
        lines = _lines(facts.get("lines", "").split(",") if facts.get("lines") else [])
        of_first = [line for line in lines if line.garment.ticket == lines[0].garment.ticket]
        entries = actions.entries_of(by, lambda: actions.let_loose(lines=of_first, by=by))
    monday = monday_of(facts["day"]) if facts.get("day") else None
    back = redirect("week-of", monday) if monday else redirect("week")
    return say_undoable(request, "Let loose: it is sewn wherever the plan has it.", entries, back)


def say_undoable(
    request: StudioRequest, words: str, entries: list[Entry], back: HttpResponseRedirect
) -> HttpResponseRedirect:
    """A notice whose Undo takes all ``entries`` back together and leads where ``back`` does."""
    keys = ",".join(str(entry.pk) for entry in entries)
    undo = reverse("week-undo") if keys else ""
    say(request, words, undo=undo, entries=keys, back=back.url)
    return back


@require_POST
def undo(request: StudioRequest) -> HttpResponse:
    """Take back what the notice names, together."""
    keys = [int(key) for key in request.POST.get("entries", "").split(",") if key.isdecimal()]
    entries = Entry.objects.filter(pk__in=keys, by=request.user)
    try:
        actions.take_back(entries=entries, by=request.user)
        messages.success(request, "Undone.")
    except HistoryError as wrong:
        messages.error(request, str(wrong))
    return go_back(request, "week")
