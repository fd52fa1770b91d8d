"""What is printed from a page: Today, the week and the year, laid out as papers.

Each says the same as its page, with the studio's name and the time of printing. What a helper does
not see on the page is not on the paper.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from itertools import chain
from typing import Any

from django.http import Http404, HttpResponse
from django.utils.dateparse import parse_date
from django.utils.text import Truncator
from django.views.decorators.http import require_safe

from jobs.billing.charts import year_chart
from jobs.billing.queries import taken_by_month, with_balances
from jobs.billing.sealed_book import last_seal_of
from jobs.counter.notices import lay_out
from jobs.counter.year.queries import Narrowed, year_sheet
from jobs.counter.year.views import known_year
from jobs.makes.lengths import length_unit
from jobs.planning.plan.book import monday_of
from jobs.planning.plan.day_line import DayPart
from jobs.planning.queries import read_week
from jobs.planning.today import DayRow, DaySheet, day_sheet, read_garments
from jobs.planning.week import FIRST, SheetDay, WeekSheet, past_week, week_sheet
from jobs.tickets.facts import places_of
from jobs.tickets.models import Garment, Ticket
from jobs.tickets.queries import numbers_of_year
from studio.shop import clock, paper
from studio.shop.http import StudioRequest
from studio.shop.locales import show_clock, show_day, show_minutes
from studio.shop.look.bars import WORDS, Bar, Columns
from studio.shop.look.garments import Drawing, draw
from studio.shop.may import Tick
from studio.shop.models import Profile
from studio.shop.paper import PAGES, show_pdf
from studio.shop.paper.drawings import bar_svg, columns_svg, garment_svg, key_svg, strut_svg
from studio.shop.paper.printers import size_of

ACROSS = {"A4": "A4-folded", "Letter": "Letter-folded"}


@dataclass
class Pictures:
    """The pictures of one paper by their names, each drawn once."""

    drawn: dict[str, bytes] = field(default_factory=dict)
    garments: dict[Drawing, str] = field(default_factory=dict)

    def add(self, name: str, picture: bytes) -> str:
        self.drawn.setdefault(name, picture)
        return name

    def garment(self, kind: str, colour: str = "", work: Iterable[Any] = ()) -> tuple[str, str]:
        """The name of its picture, and its words."""
        marks = tuple((one.name, getattr(one, "work_order", 0) or 0) for one in work)
        drawing = draw(kind, colour, marks)
        name = self.garments.setdefault(drawing, f"garment-{len(self.garments)}")
        return self.add(name, garment_svg(drawing)), drawing.words

    def key(self, kind: str) -> str:
        return self.add(f"key-{kind}", key_svg(kind))


@dataclass(frozen=True)
class Key:
    picture: str
    words: str
    shown: str


@dataclass(frozen=True)
class DayLine:
    """A row of Today: when, whose and what, how long; ``box`` is to be ticked by hand."""

    when: str
    title: str
    detail: str
    minutes: int = 0
    until: str = ""
    picture: tuple[str, str] | None = None
    kind: str = ""
    chalk: str = ""
    box: bool = False


@dataclass(frozen=True)
class PickUpLine:
    ticket: Any
    what: str
    hangs: str
    balance: int | None
    picture: tuple[str, str] | None


def _wide(page: str) -> float:
    """What lies between the side margins, in mm."""
    return PAGES[page].width - 2 * PAGES[page].side


@require_safe
def today_paper(request: StudioRequest) -> HttpResponse:
    studio = request.studio
    week = read_week(studio, until=clock.today())
    sheet = day_sheet(week, studio, request.user)
    pictures, name = Pictures(), f"Today {show_day(sheet.day, studio.locale)}"
    wide = _wide(size_of(studio, "lists"))
    pictures.add("day", bar_svg(sheet.bar, wide))
    prices = request.user.may(Tick.PRICES)
    coming = [
        (day, [_line(row, sheet, pictures, studio) for row in day.rows]) for day in sheet.coming
    ]
    document = lay_out(
        studio,
        name,
        "today",
        sheet="day",
        pictures=pictures.drawn,
        day=sheet.day,
        day_sheet=sheet,
        rows=[_line(row, sheet, pictures, studio) for row in sheet.rows],
        coming=coming,
        keys=_bar_keys(sheet.bar, pictures),
        told=_bar_words(sheet.bar),
        ready=_pick_ups(sheet, pictures, money=prices),
        sees_prices=prices,
    )
    return show_pdf(name, paper.write([document], title=name))


def _bar_keys(bar: Bar, pictures: Pictures) -> list[Key]:
    return [
        Key(pictures.key(part.kind), part.name, part.shown or show_minutes(int(part.amount)))
        for part in bar.shown
    ]


def _bar_words(bar: Bar) -> str:
    parts = (f"{part.name} {part.shown or show_minutes(int(part.amount))}" for part in bar.shown)
    return f"{bar.about}: {', '.join(parts)}"


def _line(row: DayRow, sheet: DaySheet, pictures: Pictures, studio: Profile) -> DayLine:
    when = show_clock(row.starts, studio.locale)
    if clock.local(row.starts).date() < sheet.day:
        when = show_day(row.starts, studio.locale, year=False)
    title, detail = _said(row, sheet)
    title, detail = Truncator(title).chars(TITLE), Truncator(detail).chars(WORK)
    picture = None
    if row.garments:
        one = row.garments[0]
        picture = pictures.garment(one.kind_name, one.colour, one.lines.all())
    elif row.block and row.block.make:
        picture = pictures.garment(row.block.make.words)
    due = min((job.promise_at for job in row.block.jobs), default=None) if row.block else None
    chalk = f"Must be sewn today: {show_minutes(sheet.must)}" if row.chalk else ""
    return DayLine(
        when=when,
        title=title,
        detail=detail,
        minutes=row.minutes,
        until=_moment(due, sheet, studio) if due else "",
        picture=picture,
        kind=row.kind,
        chalk=chalk,
        box=row.kind in {"work", "fitting", "pick-up", "sewn", "own"},
    )


def _moment(at: datetime, sheet: DaySheet, studio: Profile) -> str:
    """By when it is promised: the hour of today, else the day."""
    day = clock.local(at).date()
    words = show_clock(at, studio.locale) if day == sheet.day else ""
    words = words or show_day(at, studio.locale, year=False)
    return f"late, {words}" if at < sheet.now else words


def _said(row: DayRow, sheet: DaySheet) -> tuple[str, str]:
    """What it is, and whose with what is done. Garments have their letters, as on their tags."""
    pieces = ", ".join(str(one) for one in row.garments)
    if row.block and row.block.jobs:
        names = ", ".join(row.names)
        if row.small:
            whose = "; ".join(f"{job.ticket} {job.client}" for job, _ in row.small)
            return f"{len(row.small)} small things: {names}", whose
        job = row.block.jobs[0]
        return pieces or names, f"{job.ticket} {_name(job.client)}: {_amounts(row) or names}"
    if row.kind == "own":
        words = row.block.make.words if row.block and row.block.make else ""
        return words or (str(row.appointment) if row.appointment else ""), "Own sewing"
    if row.fitting and row.ticket:
        whose = f"{row.ticket.number} {_name(row.ticket.client)}"
        return row.fitting.kind, f"{whose}: {pieces}" if pieces else whose
    if row.appointment:
        return str(row.appointment), "Appointment"
    title = {"unready": "Promised, not ready", "pick-up": "Pick-up"}.get(row.kind)
    if title is None:
        title = f"{row.to_tick} to tick" if row.to_tick else "All sewn"
    whose = f"{row.ticket.number} {_name(row.ticket.client)}" if row.ticket else ""
    return title, f"{whose}: {pieces}" if pieces else whose


def _name(client: str) -> str:
    return Truncator(client).chars(WHOSE)


def _amounts(row: DayRow) -> str:
    """Each operation with how far, of the lines that lie in the block."""
    wanted = {part.work.line for part in row.block.parts} if row.block else set()
    lines = [line for one in row.garments for line in one.lines.all() if line.pk in wanted]
    return "; ".join(", ".join(filter(None, (line.name, line.pinned))) for line in lines)


def _pick_ups(sheet: DaySheet, pictures: Pictures, *, money: bool) -> list[PickUpLine]:
    """All that is ready, with place and balance. Four queries for any number, or none."""
    keys = {ticket.pk for ticket in sheet.ready}
    garments = read_garments(keys)
    rows: dict[int, int] = {}
    if money and keys:
        balances = with_balances(Ticket.objects.filter(pk__in=keys))
        rows = dict(balances.values_list("pk", "balance"))
    return [
        PickUpLine(
            ticket,
            Truncator(", ".join(map(str, garments.get(ticket.pk, [])))).chars(TITLE),
            places_of(garments.get(ticket.pk, [])),
            rows.get(ticket.pk),
            _first(garments.get(ticket.pk, []), pictures),
        )
        for ticket in sheet.ready
    ]


def _first(garments: list[Garment], pictures: Pictures) -> tuple[str, str] | None:
    if not garments:
        return None
    one = garments[0]
    return pictures.garment(one.kind_name, one.colour, one.lines.all())


LINE_HIGH = 3.7  # of small letters, in mm
LEAST = 4.3
EM = 2.822  # 8 pt in mm
BESIDE = 5.6  # what the tone and the space around a day take, in mm
PICTURE = 7.6
NARROW = frozenset("iljtfrI.,:;'|!()- ")
BROAD = frozenset("WMmw@%&\N{HORIZONTAL ELLIPSIS}\N{EM DASH}")
TITLE, WHOSE, WORK = 90, 48, 160  # letters of a row of Today
SPARE = {"free", "lost"}


@dataclass(frozen=True)
class WeekBlock:
    """A part of a day as high as it is long, with as many lines of words as it has room for."""

    kind: str
    strut: str
    kind_words: str
    lines: list[str]
    picture: tuple[str, str] | None = None
    wraps: bool = False


@dataclass(frozen=True)
class WeekDay:
    day: date
    sums: str
    today: bool
    shut: bool
    blocks: list[WeekBlock]
    over: list[WeekBlock]
    must: int


@require_safe
def week_paper(request: StudioRequest, monday: str) -> HttpResponse:
    """Seven days to scale on one page that lies across. Own sewing stands on it as on the page."""
    studio, this = request.studio, monday_of(clock.today())
    try:
        day = parse_date(monday)
    except ValueError:
        day = None
    if day is None or not FIRST <= day <= this + timedelta(days=366):
        raise Http404("The plan is not laid out as far as this week.")
    wanted = monday_of(day)
    if wanted < this:
        sheet = past_week(wanted)
    else:
        try:
            sheet = week_sheet(read_week(studio, until=wanted + timedelta(days=6)), wanted)
        except LookupError:
            raise Http404("The plan is not laid out as far as this week.") from None
    pictures, size = Pictures(), size_of(studio, "lists")
    page = ACROSS.get(size, f"{size}-across")
    name = f"Week of {show_day(wanted, studio.locale)}"
    document = lay_out(
        studio,
        name,
        "week",
        page=page,
        sheet="week",
        pictures=pictures.drawn,
        week=sheet,
        days=_week_days(sheet, pictures, studio, page),
        keys=_week_keys(sheet, pictures),
    )
    return show_pdf(name, paper.write([document], title=name))


def long(text: str) -> float:
    """How long a line of bold letters is at the most, in mm."""
    widths = (
        1.1 if sign in BROAD or ord(sign) > 0x2E80 else 0.38 if sign in NARROW
        else 0.76 if sign.isupper() or sign.isdecimal() else 0.66
        for sign in text
    )  # fmt: skip
    return EM * sum(widths)


def shortened(text: str, room: float) -> str:
    """As much of it as is ``room`` mm long, with an ellipsis where something is left out."""
    if long(text) <= room:
        return text
    end = "\N{HORIZONTAL ELLIPSIS}"
    while text and long(text + end) > room:
        text = text[:-1]
    return text.rstrip() + end


def _room(page: str) -> float:
    """How high the days may be: what head, names of the days and key leave, in mm."""
    size = PAGES[page]
    return size.height - 2 * size.top - 42


def _week_days(sheet: WeekSheet, pictures: Pictures, studio: Profile, page: str) -> list[WeekDay]:
    """All days on one scale: the longest fills the room."""
    room, wide = _room(page), _wide(page) / 7 - BESIDE
    days = [[*_parts(day.parts), *_parts(day.over)] for day in sheet.days]
    low, high = 0.0, room
    for _ in range(30):
        scale = (low + high) / 2
        fits = all(sum(_high(part, scale) for part in parts) <= room for parts in days)
        low, high = (scale, high) if fits else (low, scale)
    scale = min(low, room / 240)

    def blocks(parts: list[DayPart]) -> list[WeekBlock]:
        return [_block(part, _high(part, scale), wide, pictures, studio) for part in _parts(parts)]

    return [
        WeekDay(
            day.bar.day,
            _sums(day),
            day.today,
            day.shut,
            blocks(day.parts),
            blocks(day.over),
            day.must,
        )
        for day in sheet.days
    ]


def _parts(parts: list[DayPart]) -> list[DayPart]:
    return [part for part in parts if part.minutes]


def _high(part: DayPart, scale: float) -> float:
    return max(LEAST, part.minutes * scale)


def _sums(day: SheetDay) -> str:
    if day.shut:
        return "nothing sewn" if day.past else "closed"
    words = [show_minutes(day.sewing)] if day.sewing or not day.own else []
    words += [f"own {show_minutes(day.own)}"] if day.own else []
    return ", ".join([*words, *(["closed"] if day.closed else [])])


def _block(
    part: DayPart, high: float, wide: float, pictures: Pictures, studio: Profile
) -> WeekBlock:
    room = max(1, int((high - 0.6) / LINE_HIGH))
    strut = pictures.add(f"{part.kind}-{high:.1f}", strut_svg(part.kind, high))
    picture = None
    if part.garments and high >= 12:
        one = part.garments[0]
        picture = pictures.garment(one.kind, one.colour, one.work)
        wide -= PICTURE
    words, lines = WORDS.get(part.kind, part.kind.capitalize()), _words(part, room, studio)
    # A line that breaks between its words leaves room at each end.
    wraps = sum(1 + int(long(line) / (wide - 8)) for line in lines) <= room
    wraps = wraps and all(long(word) <= wide for line in lines for word in line.split())
    if not wraps:
        lines = [shortened(line, wide) for line in lines]
    return WeekBlock(part.kind, strut, words, lines, picture, wraps=wraps)


def _words(part: DayPart, room: int, studio: Profile) -> list[str]:
    """Whose and how long first; then the garments; then the number."""
    minutes = show_minutes(part.minutes)
    if part.kind in SPARE:
        return [f"{minutes} {'free' if part.kind == 'free' else 'gone by'}"]
    if part.pinned:
        title = f"{show_clock(part.starts, studio.locale)} {part.client or part.words}"
        lines = [title, f"{part.words.lower()}, {minutes}" if part.client else minutes]
    elif part.kind in {"own", "releases"}:
        title = part.words or WORDS[part.kind]
        lines = [f"{title} {minutes}"] if room == 1 else [title, minutes]
    elif len(part.small) > 1:
        whose = ", ".join(small.client for small in part.small)
        lines = [f"{len(part.small)} small things {minutes}", whose]
    elif room == 1:
        lines = [f"{minutes} {part.client}: {part.says}"]
    else:
        lines = [part.client, part.says, f"{part.ticket}, {minutes}"]
    return lines[:room]


def _week_keys(sheet: WeekSheet, pictures: Pictures) -> list[Key]:
    """What the sides of the blocks stand for, with the week's hours of each."""
    minutes: dict[str, int] = {}
    for part in chain.from_iterable([*day.parts, *day.over] for day in sheet.days):
        minutes[part.kind] = minutes.get(part.kind, 0) + part.minutes
    names = WORDS | {"appointments": "Appointments"}
    return [
        Key(pictures.key(kind), names[kind], show_minutes(minutes[kind]))
        for kind in names
        if minutes.get(kind)
    ]


@require_safe
def year_paper(request: StudioRequest, year: int) -> HttpResponse:
    """Months by purpose as a chart with its table, and the year's figures."""
    studio, year, owner = request.studio, known_year(year), request.user.is_owner
    sheet = year_sheet(year, narrowed=Narrowed(), money=owner)
    taken = year_chart(taken_by_month(year), year, studio) if sheet.income else None
    pictures, wide = Pictures(), _wide(size_of(studio, "lists"))
    pictures.add("hours", columns_svg(sheet.hours, wide, 42))
    if taken:
        pictures.add("taken", columns_svg(taken, wide, 30))
    name = f"The year {year}"
    document = lay_out(
        studio,
        name,
        "year",
        sheet="year",
        pictures=pictures.drawn,
        year=sheet,
        hours=_chart_rows(sheet.hours),
        keys=[Key(pictures.key(kind.kind), kind.name, "") for kind in sheet.hours.kinds],
        taken=taken,
        taken_keys=[Key(pictures.key(it.kind), it.name, "") for it in taken.kinds] if taken else [],
        numbers=numbers_of_year(year) if owner else None,
        seal=last_seal_of(year) if owner else None,
        length_unit=length_unit(studio),
        owner=owner,
    )
    return show_pdf(name, paper.write([document], title=name))


@dataclass(frozen=True)
class MonthRow:
    name: str
    minutes: list[int]

    @property
    def whole(self) -> int:
        return sum(self.minutes)


def _chart_rows(chart: Columns) -> list[MonthRow]:
    """The table behind the chart, and at its end what the columns come to."""
    rows = [
        MonthRow(column.name, [int(part.amount) for part in column.parts])
        for column in chart.columns
    ]
    sums = [sum(row.minutes[at] for row in rows) for at in range(len(rows[0].minutes))]
    return [*rows, MonthRow("In all", sums)]
