"""What pages read of tickets."""

from django.db.models import Count, Prefetch, Q, QuerySet
from django.http import Http404

from clients.models import Client
from jobs.tickets.models import Agreement, Garment, Line, Photo, State, Ticket


def ticket_or_404(number: str) -> Ticket:
    """The ticket with its client, the garments and lines still on it, and the photographs."""
    lines = Line.objects.filter(removed_at=None)
    garments = Garment.objects.filter(removed_at=None).select_related("kind")
    standing = Count("marks", filter=Q(marks__removed_at=None))
    photos = Photo.objects.annotate(mark_count=standing).order_by("pk")
    found = (
        Ticket.objects.select_related("client", "received_by")
        .prefetch_related(
            Prefetch("garments", garments),
            Prefetch("garments__lines", lines),
            Prefetch("garments__photos", photos),
        )
        .filter(number=number.upper())
        .first()
    )
    if found is None:
        raise Http404(f"There is no ticket {number}.")
    return found


def agreements_of(ticket: Ticket) -> list[Agreement]:
    """Its versions, latest first, each with who agreed it and its initials. One query."""
    versions = ticket.agreements.select_related("agreed_by", "initials__by")
    return list(versions.order_by("-version"))


def ticket_list() -> QuerySet[Ticket]:
    """Tickets with client and number of pieces, newest first, in one query."""
    pieces = Count("garments", filter=Q(garments__removed_at=None), distinct=True)
    return Ticket.objects.select_related("client").annotate(pieces=pieces)


def pieces_here(client: Client) -> list[Garment]:
    """The client's garments that are in the studio now, oldest ticket first."""
    garments = Garment.objects.filter(
        ticket__client=client,
        ticket__state__in=State.open(),
        removed_at=None,
        handed_over_at=None,
    )
    return list(garments.select_related("ticket").order_by("ticket__received_at", "pk"))
