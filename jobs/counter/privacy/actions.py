"""A client is erased: all but what the books have to keep, and what is left of what was agreed."""

import re
from functools import partial
from typing import Any

from django.db import connection, transaction
from django.db.models import Model, Q, QuerySet

from clients.actions import leave_household
from clients.models import Client
from jobs.counter.privacy.belongings import (
    CLIENT_BLANK,
    ERASED,
    ERASED_NAME,
    PARTS,
    Part,
    Rows,
    belongings,
    papers_of,
)
from jobs.counter.privacy.queries import hindrances
from jobs.counter.verbs import CLIENT_ERASED
from jobs.tickets.facts import PRINTED
from jobs.tickets.models import Agreement, Initials, Photo, Ticket
from studio.backup import erasures
from studio.shop import clock
from studio.shop.history import note, redact
from studio.shop.models import Profile, StoredPaper, User

Facts = dict[str, Any]

AGREED = frozenset({
    "studio", "number", "version", "received_at", "promise_at", "adjustments", "rates", "net",
    "tax", "gross", "deposit", "balance", "minutes",
})  # fmt: skip
GARMENT = {"letter", "kind"} | {key for key, fact in PRINTED.items() if not fact.personal}
LINE = frozenset({
    "pk", "name", "quantity", "unit_price", "fitting_first", "hang_days", "stitch", "tax_facts",
    "steps", "price", "net", "tax", "gross", "minutes",
})  # fmt: skip

# Steps that are told without a word that anybody typed.
NOBODYS_WORDS = re.compile(
    r"Received, \d+ (piece|garment)s?\."
    r"|Work started\."
    r"|Ready to (be collected|collect)\."
    r"|Handed over: [A-Z]{1,2}(, [A-Z]{1,2})*\."
    r"|Photograph of [A-Z]{1,2}\."
    r"|Invoice [A-Z]\d\d-\d{4,} issued\."
)


class EraseError(ValueError):
    """Nothing was erased; ``reasons`` are sentences that say what has to be settled first."""

    def __init__(self, reasons: list[str]) -> None:
        self.reasons = reasons
        super().__init__(" ".join(reasons))


def erase(*, client: Client, studio: Profile, by: User | None, again: bool = False) -> Client:
    """Erase what is kept of the client and of the entries merged into it; the books stay.

    Tickets keep their numbers, states, days, operations and money under "Erased client". Files go
    once the transaction holds. Erasing again changes nothing. Raises EraseError while a ticket is
    open or money is unsettled; but not ``again``, in a copy of a day before it was all settled.
    """
    with transaction.atomic():
        locked = Client.objects.select_for_update().filter(Q(pk=client.pk) | Q(merged_into=client))
        own = locked.order_by("pk").in_bulk()[client.pk]
        if own.erased_at:
            return own
        if own.merged_into_id:
            raise EraseError([f"{own} is no longer an entry of its own."])
        list(Ticket.objects.select_for_update().filter(client=own).order_by("pk"))
        if not again and (reasons := hindrances(own, studio)):
            raise EraseError(reasons)
        leave_household(client=own, by=by)
        own.refresh_from_db(fields=["household"])
        held = belongings(own)
        papers = papers_of(held, books=False)
        pictures = [row.file for row in [*held[Photo], *held[Initials]] if row.file]
        files = [*pictures, *(paper.file for paper in papers)]
        for part in reversed(PARTS):
            _erase(part, held)
        StoredPaper.objects.filter(pk__in=[paper.pk for paper in papers]).delete()
        _redact(held)
        for ticket in held[Ticket]:
            note(CLIENT_ERASED, about=ticket, by=by)
        _forget(held[Client])
        keys = [entry.erasure_key for entry in held[Client]]
        transaction.on_commit(partial(erasures.remember, keys))
        for file in files:
            transaction.on_commit(partial(file.storage.delete, str(file.name)), robust=True)
        transaction.on_commit(_overwrite, robust=True)
    erased: Client = held[Client][0]
    return erased


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
    """Write back what may stay of agreements, blanked whole; forget what the history tells."""
    for agreement in held[Agreement]:
        agreement.data = redact_agreement(agreement.data)
    Agreement.objects.bulk_update(held[Agreement], ["data"], batch_size=100)
    redact(*held[Client], *held[Ticket], older=redact_words)


def _forget(entries: list[Client]) -> None:
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


def _rows(model: type[Model], rows: list[Any]) -> QuerySet[Any]:
    return model._base_manager.filter(pk__in=[row.pk for row in rows])  # noqa: SLF001 -- documented by Django


def redact_agreement(data: Facts) -> Facts:
    """Numbers, days, kinds of garment, operations and money stay; all else is blank.

    What a later version adds to an agreement is blanked until it is named above.
    """
    left = {key: value if key in AGREED else blank(value) for key, value in data.items()}
    left["client"] = blank(data.get("client", {})) | {"name": ERASED_NAME}
    left["garments"] = [
        {key: value if key in GARMENT else blank(value) for key, value in garment.items()}
        | {"lines": [_line(line) for line in garment["lines"]]}
        for garment in data.get("garments", [])
    ]
    return left


def redact_words(words: str) -> str:
    """The words of one step, where nobody's own words can be among them."""
    return words if NOBODYS_WORDS.fullmatch(words) else f"{ERASED}."


def blank(value: Any) -> Any:
    """Nothing, in the shape of ``value``: papers made of it print nothing in its place."""
    if isinstance(value, dict):
        return {key: blank(inner) for key, inner in value.items()}
    return None if value is None else type(value)()


def _line(line: Facts) -> Facts:
    return {key: value if key in LINE else blank(value) for key, value in line.items()}
