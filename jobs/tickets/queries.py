"""What pages and papers read of tickets, and of the marks on their photographs."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, datetime
from itertools import groupby
from uuid import UUID

from django.db.models import (
    Case,
    Count,
    Exists,
    OuterRef,
    Prefetch,
    Q,
    QuerySet,
    Subquery,
    When,
)
from django.db.models.functions import Coalesce
from django.http import Http404

from clients.models import Client
from jobs.tickets.models import (
    Agreement,
    AgreementSheet,
    FitSum,
    Garment,
    Line,
    Mark,
    PadNumber,
    Photo,
    State,
    Ticket,
)
from studio.shop import clock
from studio.shop.models import NumberSeries


def ticket_or_404(number: str) -> Ticket:
    """The ticket with its client, the garments and lines still on it, and the photographs."""
    lines = Line.objects.filter(removed_at=None).select_related("done_by")
    garments = Garment.objects.filter(removed_at=None).select_related("kind")
    standing = Count("marks", filter=Q(marks__removed_at=None))
    photos = Photo.objects.annotate(mark_count=standing).order_by("pk")
    ticket = (
        Ticket.objects.select_related("client", "received_by")
        .prefetch_related(
            Prefetch("garments", garments),
            Prefetch("garments__lines", lines),
            Prefetch("garments__photos", photos),
        )
        .filter(number=number.upper())
        .first()
    )
    if ticket is None:
        raise Http404(f"There is no ticket {number}.")
    return ticket


def agreements_of(ticket: Ticket) -> list[Agreement]:
    """Its versions, latest first, each with who agreed it and its initials. One query.

    Each says whether a paper of it was ``printed``.
    """
    sheets = Exists(AgreementSheet.objects.filter(agreement=OuterRef("pk")))
    older = Q(paper__isnull=False) | Q(press__isnull=False)
    versions = ticket.agreements.select_related("agreed_by", "initials__by").annotate(
        printed=Case(When(sheets | older, then=True), default=False)
    )
    return list(versions.order_by("-version"))


def ticket_list() -> QuerySet[Ticket]:
    """Tickets with client and number of pieces, newest first, in one query.

    Each says whether some of its work is ``unmeasured``. Pieces are counted for the rows of the
    page alone, which a join over all tickets would not do.
    """
    here = Garment.objects.filter(ticket=OuterRef("pk"), removed_at=None)
    counted = here.order_by().values("ticket").annotate(count=Count("pk")).values("count")
    return Ticket.objects.select_related("client").annotate(
        pieces=Coalesce(Subquery(counted), 0),
        unmeasured=Exists(unmeasured().filter(garment__ticket=OuterRef("pk"))),
    )


def unmeasured() -> QuerySet[Line]:
    """Work on open tickets that is still to be done, and to be measured first."""
    return Line.objects.filter(
        measure_later=True, done_at=None, not_done_why="", removed_at=None,
        garment__removed_at=None, garment__ticket__state__in=State.open(),
    ).order_by()  # fmt: skip


def pieces_here(client: Client) -> list[Garment]:
    """The client's garments that are in the studio now, oldest ticket first. Three queries."""
    garments = Garment.objects.here().filter(ticket__client=client)
    whole = garments.select_related("ticket").prefetch_related("lines", "photos")
    return list(whole.order_by("ticket__received_at", "pk"))


def open_numbers(form_key: UUID | None = None) -> list[str]:
    """The numbers of pads that wait to be typed in, the first first. One query.

    With that of the ticket which the form of this key has become, so that a double click is one.
    """
    waiting = Q(ticket=None, voided_at=None)
    if form_key:
        waiting |= Q(ticket__form_key=form_key)
    return list(PadNumber.objects.filter(waiting).order_by("pk").values_list("number", flat=True))


@dataclass(frozen=True)
class NumbersOfYear:
    """What became of a year's ticket numbers, of which ``last`` were given.

    ``used`` have a ticket; of the others on pads some are ``void``, with their reasons, and the
    rest is ``open``.
    """

    last: int
    used: int
    void: list[PadNumber]
    open: list[str]

    @property
    def proves(self) -> bool:
        """Whether the series has neither gap nor twin."""
        return self.last == self.used + len(self.void) + len(self.open)


def numbers_of_year(year: int) -> NumbersOfYear:
    """Three queries."""
    prefix = f"{year % 100:02d}-"
    series = NumberSeries.objects.filter(key=f"{year:04d}").first()
    waiting = PadNumber.objects.filter(number__startswith=prefix, ticket=None).order_by("pk")
    rows = list(waiting)
    return NumbersOfYear(
        last=series.last if series else 0,
        used=Ticket.objects.filter(number__startswith=prefix).count(),
        void=[row for row in rows if row.voided_at],
        open=[row.number for row in rows if row.is_open],
    )


def voided_on(day: date) -> list[PadNumber]:
    """The numbers of pads that were made void on a day. One query."""
    since, until = clock.days(day, day)
    return list(PadNumber.objects.filter(voided_at__gte=since, voided_at__lt=until))


WIDE = 1000  # units across a drawing; a mark's thousandths are its place


@dataclass(frozen=True)
class Spot:
    """A mark where it is drawn: ``x`` and ``y`` are units of the drawing."""

    pk: int
    number: int
    x: int
    y: int
    words: str


@dataclass(frozen=True)
class Marked:
    """A photograph with the marks that stand on it. Its drawing is ``WIDE`` by ``high`` units.

    ``pending`` is a place without words yet.
    """

    photo: Photo
    spots: tuple[Spot, ...]
    pending: tuple[int, int] | None = None

    @property
    def high(self) -> int:
        return height(self.photo)


def height(photo: Photo) -> int:
    """The height of the drawing over a photograph, in units."""
    return max(1, WIDE * photo.height // photo.width)


def marked_photo(photo: Photo, pending: tuple[int, int] | None = None) -> Marked:
    """The photograph with its marks of now; one query. ``pending`` is in thousandths."""
    marked = _marked(photo, photo.marks.all(), None)
    if pending is None:
        return marked
    across, down = pending
    return replace(marked, pending=(across, down * marked.high // 1000))


def marked_photos(ticket: Ticket, until: datetime | None = None) -> list[Marked]:
    """The ticket's photographs that had marks ``until`` then (None: now), in one query."""
    marks = Mark.objects.filter(photo__garment__ticket=ticket)
    marks = marks.select_related("photo__garment").order_by("photo", "pk")
    by_photo = groupby(marks, lambda mark: mark.photo)
    photographs = [_marked(photo, rows, until) for photo, rows in by_photo]
    return [marked for marked in photographs if marked.spots]


def _marked(photo: Photo, marks: Iterable[Mark], until: datetime | None) -> Marked:
    """Numbers count removed marks too, so that a number means one thing on all papers."""
    high = height(photo)
    spots = (
        Spot(mark.pk, number, mark.across, mark.down * high // 1000, mark.words)
        for number, mark in enumerate(marks, start=1)
        if _stood(mark, until)
    )
    return Marked(photo, tuple(spots))


def _stood(mark: Mark, until: datetime | None) -> bool:
    if until is None:
        return mark.removed_at is None
    return mark.at <= until and (mark.removed_at is None or mark.removed_at > until)


def sums_on(ticket: Ticket) -> dict[int, list[FitSum]]:
    """The kept sums of each garment of a ticket by its key, latest first, in one query."""
    sums: dict[int, list[FitSum]] = {}
    for kept in FitSum.objects.filter(garment__ticket=ticket):
        sums.setdefault(kept.garment_id, []).append(kept)
    return sums


def promised_before(ticket: Ticket, agreements: Iterable[Agreement]) -> datetime | None:
    """What was promised before the promise that holds now; None where it was never another."""
    promises = [datetime.fromisoformat(each.data["promise_at"]) for each in agreements]
    earlier = [moment for moment in promises if moment != ticket.promise_at]
    return earlier[-1] if earlier else None
