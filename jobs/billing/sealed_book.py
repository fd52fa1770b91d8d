"""The sealed book: each invoice, credit note and receipt carries the seal of the one before.

``close`` is called in the transaction that takes the number; ``prove`` reads everything again. An
erased client's invoices and receipts stay whole, as the law asks, so a seal may be of all they say.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, datetime, time
from itertools import islice
from typing import Any

from django.db import DEFAULT_DB_ALIAS

from jobs.billing.models import Invoice, Payment, Seal
from jobs.billing.sealing import FIRST, digests, seal
from jobs.tickets.models import PadNumber, Ticket
from studio.shop import clock, numbers
from studio.shop.models import NumberSeries

BOOK = "seal"
KINDS: dict[str, type[Invoice] | type[Payment]] = {"invoice": Invoice, "payment": Payment}
# What is no fact of the paper: its key, its file, and the guard against a double click.
LEFT_OUT = {"id", "paper_id", "form_key", "data"}
AT_ONCE = 500


def next_number(series: str, year: int) -> str:
    """The next number of a series; whoever takes one has the book to himself until the end.

    The book is always taken before the series, so that no two wait for each other.
    """
    numbers.lock(BOOK)
    return numbers.year_number(series, year)


def close(row: Invoice | Payment) -> Seal:
    """Seal a row that was just written, in its transaction."""
    kind = next(name for name, model in KINDS.items() if isinstance(row, model))
    return write_seal(kind, KINDS[kind].objects.get(pk=row.pk))


def write_seal(kind: str, row: Any, *, late: bool = False) -> Seal:
    series, last = numbers.lock(BOOK), last_seal()
    # A seal whose row is gone leaves its place empty, so that the proof finds it.
    place = max(series.last, last.place if last else 0) + 1
    series.last = place
    series.save(update_fields=["last"])
    before, parts = last.seal if last else FIRST, digests(facts_of(row))
    return Seal.objects.create(
        place=place, kind=kind, row=row.pk, number=row.number, before=before, parts=parts,
        seal=seal(place, before, kind, row.number, parts), sealed_at=clock.now(), late=late,
    )  # fmt: skip


def facts_of(row: Any) -> dict[str, Any]:
    """Each column of the row, and each key of the copy of what is printed, as ``data.key``."""
    columns = [column.attname for column in row._meta.concrete_fields]  # noqa: SLF001 -- documented
    facts = {name: getattr(row, name) for name in columns if name not in LEFT_OUT}
    return facts | {f"data.{key}": value for key, value in row.data.items()}


def last_seal(before: datetime | None = None) -> Seal | None:
    """The last seal of the book, or the last that was set before a moment."""
    seals = Seal.objects.filter(sealed_at__lt=before) if before else Seal.objects.all()
    return seals.order_by("-place").first()


def last_seal_of(year: int) -> Seal | None:
    return last_seal(before=clock.at(date(year + 1, 1, 1), time()))


@dataclass
class Proof:
    """``flaws`` are sentences on what is not as it was sealed. ``late`` were sealed afterwards."""

    sealed: int = 0
    late: int = 0
    last: str = FIRST
    flaws: list[str] = field(default_factory=list)


def prove(printed: str = "", *, using: str = DEFAULT_DB_ALIAS) -> Proof:
    """Read every seal and what it is of. ``printed`` is a seal, or its beginning, on some paper;
    ``using`` the connection to another database than the studio's, such as a copy of it.

    O(rows), 500 at a time. It finds what was changed, removed or added behind the program, and a
    book that was cut off; a book that somebody sealed anew from some place on only by a ``printed``
    seal, which is then not in it.
    """
    proof, seen = Proof(), {kind: set[int]() for kind in KINDS}
    found = not printed
    wanted = re.sub(r"\s", "", printed).casefold()
    seals = Seal.objects.using(using).order_by("place").iterator(AT_ONCE)
    while some := list(islice(seals, AT_ONCE)):
        rows = {
            kind: model.objects.using(using).in_bulk(
                [each.row for each in some if each.kind == kind]
            )
            for kind, model in KINDS.items()
        }
        for each in some:
            proof.flaws += _flaws(each, rows[each.kind].get(each.row), proof)
            seen[each.kind].add(each.row)
            proof.sealed, proof.last = proof.sealed + 1, each.seal
            proof.late += each.late
            found = found or each.seal.startswith(wanted)
    series = NumberSeries.objects.using(using).filter(key=BOOK)
    given = series.values_list("last", flat=True).first() or 0
    if given and given != proof.sealed:
        proof.flaws.append(f"{given} seals were set, {proof.sealed} are there.")
    for kind, model in KINDS.items():
        open_rows = model.objects.using(using).exclude(pk__in=seen[kind]).order_by("pk")
        names = open_rows.values_list("number", flat=True)
        proof.flaws += [f"{name} has no seal: it was not written by the program." for name in names]
    proof.flaws += gaps(using)
    if not found:
        proof.flaws.append(
            f"The seal {wanted[:16]} is not in the book: it was rewritten or cut off."
        )
    return proof


def _flaws(each: Seal, row: Any, proof: Proof) -> Iterator[str]:
    if each.place != proof.sealed + 1 or each.before != proof.last:
        yield f"{each.number}: its seal does not follow on the one before."
    if each.seal != seal(each.place, each.before, each.kind, each.number, each.parts):
        yield f"{each.number}: its seal itself was changed."
    if row is None:
        yield f"{each.number} is missing."
        return
    now = digests(facts_of(row))
    # A column that a later version added was no fact when the row was sealed.
    added = [name for name in now.keys() - each.parts.keys() if name.startswith("data.")]
    if changed := sorted(
        [*added, *(name for name in each.parts if now.get(name) != each.parts[name])]
    ):
        yield f"{each.number} was changed behind the program: {', '.join(changed)}."


def gaps(using: str = DEFAULT_DB_ALIAS) -> Iterator[str]:
    """Numbers that were given and are not there; those of a pad that is still written on are."""
    given = {"I": Invoice.objects, "R": Payment.objects, "": Ticket.objects}
    there = {
        series: set(rows.using(using).order_by().values_list("number", flat=True))
        for series, rows in given.items()
    }
    # Numbers that were given to paper are still to be typed in, or void with a reason.
    there[""] |= set(PadNumber.objects.using(using).order_by().values_list("number", flat=True))
    for row in NumberSeries.objects.using(using).order_by("key"):
        if not (match := re.fullmatch(r"([IR]?)(\d{4})", row.key)):
            continue
        series, year = match[1], int(match[2]) % 100
        missing = [
            name
            for number in range(1, row.last + 1)
            if (name := f"{series}{year:02d}-{number:04d}") not in there[series]
        ]
        if missing:
            more = f" and {len(missing) - 3} more" if len(missing) > 3 else ""
            yield f"Numbers without their row: {', '.join(missing[:3])}{more}."
