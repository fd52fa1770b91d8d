"""A client is erased: all but what the books have to keep."""

from functools import partial

from django.db import connection, transaction
from django.db.models import Model, Q

from clients.models import Client, ClientMerge
from jobs.counter.privacy.errors import EraseError
from jobs.counter.privacy.gathering import Rows, belongings
from jobs.counter.privacy.parts import CLIENT_BLANK, ERASED, ERASED_NAME, PARTS, Part
from jobs.counter.privacy.queries import hindrances, papers_that_go, pictures_that_go
from jobs.counter.privacy.redaction import redact_agreement, redact_words
from jobs.tickets.history import record
from jobs.tickets.models import Act, Agreement, Ticket
from studio.shop import clock
from studio.shop.models import Profile, StoredPaper, User


def erase(*, client: Client, studio: Profile, by: User) -> Client:
    """Erase what is kept of the client and of the entries merged into it; the books stay.

    Tickets keep their numbers, states, days, operations and money under "Erased client". Files go
    once the transaction holds. Erasing again changes nothing. Raises EraseError while a ticket is
    open or money is unsettled.
    """
    with transaction.atomic():
        locked = Client.objects.select_for_update().filter(Q(pk=client.pk) | Q(merged_into=client))
        own = locked.order_by("pk").in_bulk()[client.pk]
        if own.erased_at:
            return own
        if own.merged_into_id:
            raise EraseError([f"{own} is no longer an entry of its own."])
        list(Ticket.objects.select_for_update().filter(client=own).order_by("pk"))
        if reasons := hindrances(own, studio):
            raise EraseError(reasons)
        held = belongings(own)
        papers = papers_that_go(held)
        gone = [*pictures_that_go(held), *(paper.file for paper in papers)]
        for part in reversed(PARTS):
            _erase(part, held)
        StoredPaper.objects.filter(pk__in=[paper.pk for paper in papers]).delete()
        _redact(held)
        for ticket in held[Ticket]:
            record(ticket, by, "The client was erased.")
        _forget(held[Client])
        for file in gone:
            transaction.on_commit(partial(file.storage.delete, str(file.name)), robust=True)
        transaction.on_commit(_overwrite, robust=True)
    return held[Client][0]


def _erase(part: Part, held: Rows) -> None:
    rows = _rows(part.model, held[part.model])
    if part.goes:
        rows.delete()
        return
    if nothing := {name: value for name, value in part.blank.items() if value != ERASED}:
        rows.update(**nothing)
    for name, value in part.blank.items():
        if value == ERASED:
            rows.exclude(**{name: ""}).update(**{name: value})


def _redact(held: Rows) -> None:
    """Write back what may stay of agreements and histories, which were blanked whole."""
    for agreement in held[Agreement]:
        agreement.data = redact_agreement(agreement.data)
    Agreement.objects.bulk_update(held[Agreement], ["data"], batch_size=100)
    for act in held[Act]:
        act.words = redact_words(act.words)
    Act.objects.bulk_update(held[Act], ["words"], batch_size=100)


def _forget(entries: list[Client]) -> None:
    touched = Q(kept__in=entries) | Q(gone__in=entries)
    ClientMerge.objects.filter(touched).update(facts={})
    now = clock.now()
    for entry in entries:
        entry.name, entry.erased_at = ERASED_NAME, now
        for name, value in CLIENT_BLANK.items():
            setattr(entry, name, value)
        entry.save(update_fields=["name", "erased_at", *CLIENT_BLANK])


def _overwrite() -> None:
    """SQLite leaves what was erased in the free parts of its file until the file is rewritten."""
    if connection.vendor == "sqlite" and not connection.in_atomic_block:
        with connection.cursor() as cursor:
            cursor.execute("VACUUM")
            cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")


def _rows(model: type[Model], rows: list):
    return model._base_manager.filter(pk__in=[row.pk for row in rows])  # noqa: SLF001 -- documented by Django
