"""A week on one sheet: seven days to scale, whose hours they are, and what must be sewn."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time, timedelta
from itertools import chain
from operator import attrgetter
from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.db.models import Q
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET

from jobs.planning.bench_time import minutes_behind, own_by_week
from jobs.planning.lifted import GONE, Lifted, asked_day, lifted_from, opened_day
from jobs.planning.models import Appointment, BenchTime, Fitting, PlanRules
from jobs.planning.plan.another_day import DayAnswer
from jobs.planning.plan.bench import MINUTE
from jobs.planning.plan.book import GLANCE, Book, OwnTotals, monday_of, week_of
from jobs.planning.plan.day_line import DayPart, PicturedGarment, beyond, planned_parts
from jobs.planning.plan.weeks import DayBar, MustDoBy, WeekBars, must_do, week_bars, weeks_ahead
from jobs.planning.plan.workload import DayAtRisk, OwnDay
from jobs.planning.queries import (
    StudioWeek,
    TakenHours,
    TimeRow,
    minutes_by_day,
    read_garments,
    read_hours,
    read_own_weeks,
    read_taken,
    read_times,
    read_week,
)
from jobs.planning.rush import time_question
from studio.shop import clock
from studio.shop.http import StudioRequest
from studio.shop.look.bars import Bar, Column, Columns, Part

WEEK = timedelta(weeks=1)
KINDS: dict[str, str] = {
    BenchTime.Purpose.CLIENT: "clients",
    BenchTime.Purpose.OWN: "own",
    BenchTime.Purpose.RELEASE: "releases",
}
ASKED = 2
"""Open days of every other week that are asked too, from its first on."""
LENGTH, OVERFULL, CUT = 22.0, 13.0, 4.8
"""Heights of a line: the longest day of a week, of one too full, and the most of what is over."""
SIZES = [("thin sliver", 1.1), ("thin", 2.3), ("low", 4.4), ("tall", 7.2)]
"""How parts of less than so many heights are laid out."""
SMALL = 20
"""Minutes below which work of a day to come is folded on a phone, where more lies on that day."""


@dataclass(frozen=True)
class DrawnPart:
    """A part of a day as it is drawn: ``height`` heights of a line long, ``size`` its layout.

    ``grip`` is the address by which it is lifted, empty where it stays; ``up``: it is in the hand.
    ``small`` are pooled in it. A ``folded`` one waits on a phone until its day is unrolled.
    """

    part: DayPart
    height: str = ""
    size: str = ""
    grip: str = ""
    up: bool = False
    small: tuple["DrawnPart", ...] = ()
    folded: bool = False


@dataclass(frozen=True)
class SheetDay:
    """``past`` days are over, ``today`` is under way, ``shut`` ones have neither work nor hours.

    On ``closed`` ones clients are not served. ``over`` does not fit by the end of the day; ``must``
    are the minutes of today's must-do.
    ``answer`` is what the day says to work that is lifted. ``drawn`` are ``parts`` on the page:
    one picture with one link, or, on the ``unrolled`` day, each a link.
    """

    bar: DayBar
    parts: list[DayPart]
    over: list[DayPart] = field(default_factory=list)
    past: bool = True
    today: bool = False
    closed: bool = False
    must: int = 0
    answer: DayAnswer | None = None
    unrolled: bool = False
    drawn: list[DrawnPart] = field(default_factory=list)
    drawn_over: list[DrawnPart] = field(default_factory=list)

    @property
    def folded(self) -> list[DrawnPart]:
        return [each for each in self.drawn if each.folded]

    @property
    def works(self) -> bool:
        """Whether anything lies on it that can be opened."""
        return any(part.kind not in {"free", "lost"} for part in chain(self.parts, self.over))

    @property
    def shut(self) -> bool:
        return not (self.bar.whole or self.parts or self.over)

    @property
    def sewing(self) -> int:
        """Minutes for clients, sewn and planned."""
        return self.bar.clients + self.bar.done_clients

    @property
    def own(self) -> int:
        return self.bar.own + self.bar.done_own

    @property
    def minutes(self) -> int:
        """As long as the day is drawn."""
        return sum(part.minutes for part in chain(self.parts, self.over))

    @property
    def chalk(self) -> int | None:
        """The place of the last part without which the must-do is not met."""
        places = [place for place, part in enumerate(self.parts) if part.must]
        return max(places, default=None) if self.must else None

    @property
    def lane(self) -> Bar:
        """The day lying on its side."""
        parts = [
            Part(part.kind, part.minutes, done=part.minutes if part.done else 0)
            for part in chain(self.parts, self.over)
        ]
        before = self.parts[: self.chalk + 1] if self.chalk is not None else []
        return Bar(parts, must=sum(part.minutes for part in before))


@dataclass(frozen=True)
class WeekAhead:
    """One of the coming weeks at a glance. ``answer`` is that of its best day to what is lifted."""

    bars: WeekBars
    own: OwnTotals
    chart: Columns
    answer: DayAnswer | None = None

    @property
    def monday(self) -> date:
        return self.bars.monday


@dataclass(frozen=True)
class WeekSheet:
    """``bars`` and ``days`` of the week. ``due`` is the must-do until it ends, None once it did.

    ``past`` weeks show what was sewn. ``taken`` are the own minutes that tickets took. ``later``
    is the next week that can be shown. ``at_risk`` and ``own_at_risk`` are blocks that cannot be
    on the day they were put on. ``promises`` is how many there are where all of them hold;
    ``trouble`` says that one does not.
    """

    bars: WeekBars
    days: list[SheetDay]
    own: OwnTotals
    taken: list[TakenHours]
    past: bool
    due: MustDoBy | None = None
    ahead: list[WeekAhead] = field(default_factory=list)
    later: date | None = None
    at_risk: list[DayAtRisk] = field(default_factory=list)
    own_at_risk: list[tuple[OwnDay, int]] = field(default_factory=list)
    promises: int = 0
    trouble: bool = False

    @property
    def monday(self) -> date:
        return self.bars.monday

    @property
    def sunday(self) -> date:
        return self.monday + timedelta(days=6)

    @property
    def in_turn(self) -> list[SheetDay]:
        """Today and the days to come first, those that are over last."""
        return sorted(self.days, key=lambda day: not self.past and day.past)

    @property
    def over(self) -> int:
        """Minutes due this week that do not fit by their day."""
        return sum(part.minutes for day in self.days for part in day.over)

    @property
    def taken_minutes(self) -> int:
        return sum(row.minutes for row in self.taken)

    @property
    def only_fittings(self) -> bool:
        """Whether nothing else keeps from the bench."""
        return all(part.kind != "appointments" for day in self.days for part in day.parts)

    @property
    def own_bar(self) -> Bar:
        return own_bar(self.own)


def own_bar(own: OwnTotals, size: int = 0) -> Bar:
    """What becomes of the owner's hours of a week; ``size`` is what is usual, if it is drawn."""
    parts = [
        Part("own", own.sewn, "Sewn", done=own.sewn),
        Part("own", own.fits, "Still fits"),
        Part("lost", own.gone_by, "Gone by"),
        Part("over", own.no_room, "No room"),
    ]
    return Bar(parts, size=size, about=f"Own hours from {own.monday}")


def week_sheet(
    week: StudioWeek,
    monday: date,
    answers: dict[date, DayAnswer] | None = None,
    lifted: Lifted | None = None,
) -> WeekSheet:
    """This week or one of those the bench is laid out for, with what days say to what is lifted.

    Raises LookupError for any other week.
    """
    book, answers = week.book, answers or {}
    today, behind = book.bench.today, minutes_behind(week)
    own = own_by_week(week, behind)
    if monday not in own:
        raise LookupError(monday)
    done, pinned = sewn_parts(week.times), pinned_parts(week, monday)
    bars, must, over = week_bars(book, monday, behind), must_do(book, today), beyond(book)
    days = [
        SheetDay(
            bar,
            [
                *done.get(bar.day, []),
                *_lost(bar),
                *_in_clock_order(
                    pinned.get(bar.day, []),
                    planned_parts(book, bar.day, must.needed if bar.day == today else frozenset()),
                ),
            ],
            over.get(bar.day, []),
            past=bar.day < today,
            today=bar.day == today,
            closed=not week.hours.is_open(bar.day),
            must=must.minutes if bar.day == today else 0,
            answer=answers.get(bar.day),
        )
        for bar in bars.days
    ]
    all_bars, trouble = weeks_ahead(book, behind), _troubled(book, over)
    most = max(1, *(bars.longest for bars in all_bars))
    return WeekSheet(
        bars=bars,
        days=_drawn(_pictured(days), lifted),
        own=own[monday],
        taken=[row for row in week.taken if row.monday == monday],
        past=False,
        due=must_do(book, monday + timedelta(days=6)),
        ahead=[
            WeekAhead(
                each,
                own[each.monday],
                _chart(each, most),
                _best(answers, each.monday) if each.monday != monday else None,
            )
            for each in all_bars
        ],
        later=monday + WEEK if monday + WEEK <= book.bench.buckets[-1].day else None,
        at_risk=book.load.at_risk,
        own_at_risk=book.own_at_risk,
        promises=0 if trouble else len(book.jobs),
        trouble=trouble,
    )


def _best(answers: dict[date, DayAnswer], monday: date) -> DayAnswer | None:
    """Of the days of a week that were asked, the one that costs least; none breaks a promise."""
    of_week = [answers[day] for day in week_of(monday) if day in answers]
    able = [answer for answer in of_week if answer.may_be_chosen and not answer.late]
    return min(able, key=lambda answer: answer.cost, default=None)


def _troubled(book: Book, over: dict[date, list[DayPart]]) -> bool:
    """Whether any promise does not hold."""
    return bool(over or book.load.overdue or book.load.clashes or (book.idle and book.jobs))


def _in_clock_order(pinned: Iterable[DayPart], planned: Iterable[DayPart]) -> list[DayPart]:
    """What keeps its hour comes before what could begin then."""
    return sorted([*pinned, *planned], key=lambda part: (part.starts, part.kind == "free"))


def _lost(bar: DayBar) -> list[DayPart]:
    return [DayPart("lost", bar.lost, clock.at(bar.day, time.min), done=True)] if bar.lost else []


def _chart(bars: WeekBars, most: int) -> Columns:
    columns = [
        Column(
            "",
            [
                Part("clients", bar.clients + bar.done_clients),
                Part("fittings", bar.appointments + bar.done_appointments),
                Part("own", bar.own + bar.done_own),
                Part("releases", bar.done_releases),
                Part("free", bar.free),
                Part("lost", bar.lost),
            ],
        )
        for bar in bars.days
    ]
    return Columns(columns, most=most)


def sewn_parts(times: Iterable[TimeRow]) -> dict[date, list[DayPart]]:
    """What was really sewn, by local day: each ticket is one part; own work follows."""
    zone = timezone.get_current_timezone()
    rows: dict[tuple[date, str, str], list[TimeRow]] = defaultdict(list)
    for row in times:
        if row.minutes:
            day = row.started_at.astimezone(zone).date()
            rows[day, row.purpose, row.ticket or ""].append(row)
    parts: dict[date, list[DayPart]] = defaultdict(list)
    for (day, purpose, ticket), spent in sorted(rows.items()):
        names = dict.fromkeys(
            f"{row.garment} {row.name}" if ticket else row.make_words or row.release_name or ""
            for row in spent
        )
        parts[day].append(
            DayPart(
                kind=KINDS[purpose],
                minutes=sum(row.minutes or 0 for row in spent),
                starts=min(row.started_at for row in spent),
                words=", ".join(filter(None, names)),
                ticket=ticket,
                client=spent[0].client or "",
                done=True,
            )
        )
    return parts


def pinned_parts(week: StudioWeek, monday: date) -> dict[date, list[DayPart]]:
    """Fittings, appointments and own hours that keep an hour, by local day."""
    bench, sunday = week.book.bench, monday + timedelta(days=6)
    parts: dict[date, list[DayPart]] = defaultdict(list)
    for fitting in week.fittings:
        day = bench.day_of(fitting.starts)
        if monday <= day <= sunday and not fitting.fell_through:
            ticket = week.ticket_of[fitting.ticket]
            parts[day].append(
                DayPart(
                    "fittings",
                    fitting.minutes,
                    fitting.starts,
                    words=fitting.kind,
                    ticket=ticket.number,
                    client=ticket.client,
                    done=fitting.ends <= bench.now,
                    pinned=True,
                )
            )
    for row in week.appointments:
        day = bench.day_of(row.starts_at)
        own = row.kind == Appointment.Kind.OWN
        # Own hours that are over count by the clock that ran.
        if monday <= day <= sunday and not (own and row.ends_at <= bench.now):
            parts[day].append(
                DayPart(
                    "own" if own else "appointments",
                    (row.ends_at - max(row.starts_at, bench.now)) // MINUTE if own else row.minutes,
                    row.starts_at,
                    words=str(row),
                    appointment=row.pk,
                    done=row.ends_at <= bench.now,
                    pinned=True,
                )
            )
    return parts


def _pictured(days: list[SheetDay]) -> list[SheetDay]:
    """The days with the garments of their work. One query."""
    parts = [part for day in days for part in chain(day.parts, day.over)]
    lines = {line for part in parts for each in (part, *part.small) for line in each.lines}
    rows = {(row.ticket, row.letter): row for row in read_garments(lines)} if lines else {}

    def dressed(part: DayPart) -> DayPart:
        if part.small:
            return replace(part, small=tuple(map(dressed, part.small)))
        works = defaultdict(list)
        for piece in part.work:
            works[piece.work.garment].append(piece.work)
        garments = tuple(
            PicturedGarment(letter, row.kind, row.colour, row.photo, tuple(work))
            for letter, work in sorted(works.items())
            if (row := rows.get((part.ticket, letter)))
        )
        return replace(part, garments=garments)

    return [
        replace(day, parts=list(map(dressed, day.parts)), over=list(map(dressed, day.over)))
        for day in days
    ]


def _drawn(days: list[SheetDay], lifted: Lifted | None = None) -> list[SheetDay]:
    """The days drawn on one scale; those that are over have nothing to lift."""
    whole = (day.minutes - sum(part.minutes for part in day.over) for day in days)
    scale = (OVERFULL if any(day.over for day in days) else LENGTH) / max(240, *whole)

    def drawn(part: DayPart, day: SheetDay) -> DrawnPart:
        # No work is drawn too short to be touched.
        length = part.minutes * scale
        high = length if part.kind in {"free", "lost"} else max(1.6, length)
        most = CUT if part.kind == "over" else high
        size = next((name for name, limit in SIZES if high < limit), "tall roomy")
        fixed = part.done or part.pinned or part.kind in {"free", "lost"}
        return DrawnPart(
            part,
            height=f"{min(high, most):.2f}",
            size="tall cut" if high > most else size,
            grip="" if fixed else urlencode(part.fields(day.bar.day)),
            up=lifted is not None and lifted.holds(part),
            small=tuple(drawn(each, day) for each in part.small),
            folded=not (fixed or day.today or part.kind == "over")
            and part.minutes < SMALL
            and len(day.parts) > 2,
        )

    return [
        replace(
            day,
            drawn=[drawn(part, day) for part in day.parts],
            drawn_over=[drawn(part, day) for part in day.over],
        )
        for day in days
    ]


def past_week(monday: date) -> WeekSheet:
    """The minutes that were spent, in eight queries. Own hours are held against the usual share."""
    sunday = monday + timedelta(days=6)
    starts, ends = (clock.at(monday + timedelta(days=days), time.min) for days in (0, 7))
    times, rules = read_times(starts, ends), PlanRules.load()
    hours, chosen = read_hours(monday, sunday), read_own_weeks(monday, sunday)
    done, sewn, busy = sewn_parts(times), minutes_by_day(times), _expected(starts, ends)
    bars = [
        DayBar(
            day=day,
            capacity=0,
            clients=0,
            own=0,
            appointments=0,
            free=0,
            done_appointments=sum(part.minutes for part in busy.get(day, [])),
            done_clients=sewn.get((day, "client"), 0),
            done_own=sewn.get((day, "own"), 0),
            done_releases=sewn.get((day, "release"), 0),
        )
        for day in week_of(monday)
    ]
    target = chosen.get(monday, hours.usual_own(monday, rules.own_percent))
    return WeekSheet(
        bars=WeekBars(monday, tuple(bars)),
        days=_drawn(
            [SheetDay(bar, [*done.get(bar.day, []), *busy.get(bar.day, [])]) for bar in bars]
        ),
        own=OwnTotals(monday, target, sum(bar.done_own for bar in bars), 0, gone=target),
        taken=read_taken(monday, sunday),
        past=True,
        later=monday + WEEK,
    )


def _expected(starts: datetime, ends: datetime) -> dict[date, list[DayPart]]:
    """The fittings kept and the other appointments of each day. Two queries."""
    of_week = Q(starts_at__gte=starts, starts_at__lt=ends)
    fittings = Fitting.objects.filter(of_week, state=Fitting.State.KEPT).order_by()
    others = Appointment.objects.filter(of_week, kind=Appointment.Kind.OTHER).order_by()
    names = "kind", "ticket__number", "ticket__client__name"
    rows = [
        DayPart("fittings", minutes, moment, Fitting.Kind(kind).label, number, client)
        for moment, minutes, kind, number, client in fittings.values_list(
            "starts_at", "minutes", *names
        )
    ]
    rows += [
        DayPart("appointments", minutes, moment, name)
        for moment, minutes, name in others.values_list("starts_at", "minutes", "name")
    ]
    parts: dict[date, list[DayPart]] = defaultdict(list)
    for row in sorted(rows, key=attrgetter("starts")):
        parts[clock.local(row.starts).date()].append(replace(row, done=True, pinned=True))
    return parts


FIRST = date(2000, 1, 3)
"""The Monday before which nothing can have been written down."""


@require_GET
def week_page(request: StudioRequest, monday: date | None = None) -> HttpResponse:
    """The week of ``monday``; any other day leads to its Monday.

    With a block in the hand (`lifted.LiftForm`) every day has its answer, and with a day chosen the
    week is as it would be.
    """
    this = monday_of(clock.today())
    wanted = monday or this
    if not FIRST <= wanted <= this + timedelta(days=366):
        raise Http404("The plan is not laid out as far as this week.")
    if wanted != monday_of(wanted):
        return redirect("week-of", monday_of(wanted))
    if wanted < this:
        shown: dict[str, Any] = {"sheet": past_week(wanted), "idle": False}
    else:
        try:
            shown = _planned(request, wanted)
        except LookupError:
            messages.error(request, GONE)
            return redirect("week-of", wanted)
    earlier = wanted - WEEK
    sheet, unrolled = shown["sheet"], opened_day(request.GET)
    days = [replace(day, unrolled=day.bar.day == unrolled) for day in sheet.days]
    shown |= {"this": this, "earlier": earlier if earlier >= FIRST else None}
    shown["sheet"] = replace(sheet, days=days)
    return render(request, "planning/week.html", shown)


def _planned(request: StudioRequest, monday: date) -> dict[str, Any]:
    """The sheet, whether there is no bench time to plan with, and what is in the hand.

    Raises LookupError for a block that is not there.
    """
    week = read_week(request.studio, until=monday + timedelta(days=6))
    if not week.book.bench.buckets[-1].day >= monday:
        raise Http404("The plan is not laid out as far as this week.")
    idle, named = week.book.idle, request.GET and not week.book.idle
    lifted = lifted_from(request.GET, week.book, request.studio) if named else None
    if lifted is None:
        sheet = week_sheet(week, monday)
        asks = time_question(week, request.studio)
        return {"sheet": sheet, "idle": idle, "asks": asks, "percent": week.rules.own_percent}
    day, bench = asked_day(request.GET), week.book.bench
    weeks = (week_of(monday_of(bench.today) + WEEK * ahead) for ahead in range(GLANCE))
    open_days = ([day for day in each if bench.minutes_on(day)] for each in weeks)
    others = chain.from_iterable(days[:ASKED] for days in open_days)
    asked = {*week_of(monday), *others, *([day] if day else [])}
    answers = lifted.answers(week.book, sorted(asked))
    chosen = answers.get(day) if day else None
    if chosen is None or not chosen.may_be_chosen:
        sheet = week_sheet(week, monday, answers, lifted)
        return {"sheet": sheet, "idle": idle, "lifted": lifted}
    looked = replace(week, book=lifted.look(week.book, chosen))
    sheet = week_sheet(looked, monday, answers, lifted)
    return {"sheet": sheet, "idle": idle, "lifted": lifted, "chosen": chosen}
