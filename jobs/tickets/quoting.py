"""What the counter has taken down, and what it comes to: from frozen facts to a quote.

The arithmetic itself is ``jobs.pricing.quote``.
"""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import Any, Protocol
from uuid import UUID, uuid4

from clients.cautions.garments import TaxPlace
from jobs.pricing import quote as q
from jobs.pricing.models import Basis, Measure, PriceRules, Surcharge
from studio.shop.models import Profile
from studio.shop.money import round_half_up


class AmbiguousAmountError(ValueError):
    """An amount that does not say what it measures. ``field`` is ``basis`` or ``measure``."""

    def __init__(self, field: str, message: str) -> None:
        super().__init__(message)
        self.field = field


@dataclass
class LineDraft:
    """One operation. Names match ``models.Line``; ``pk`` is set when the line already exists."""

    name: str
    unit_price: int
    quantity: int = 1
    minutes_each: int = 0
    surcharges: list[dict[str, Any]] = field(default_factory=list)
    tax: Mapping[str, Any] | None = None
    amount_mm: Decimal | None = None
    amount_typed: str = ""
    basis: str = ""
    measure: str = ""
    measure_later: bool = False
    note: str = ""
    fitting_first: bool = False
    fitting_place: str = "after"
    hang_days: int = 0
    work_order: int = 10
    stitch: str = ""
    operation_id: int | None = None
    pk: int | None = None

    def check_amount(self) -> None:
        """Refuse an amount that two people could read differently."""
        if self.amount_typed and self.measure not in Measure.values:
            words = "Say whether this is finished, take off or let out."
            raise AmbiguousAmountError("measure", words)
        if self.amount_typed and self.basis not in Basis.values:
            words = "Say whether this is in total or on each side."
            raise AmbiguousAmountError("basis", words)


@dataclass
class GarmentDraft:
    """One piece. ``noted`` are its facts by their columns, see ``facts``; ``photos`` are ids."""

    kind_name: str
    lines: list[LineDraft]
    kind_id: int | None = None
    noted: dict[str, Any] = field(default_factory=dict)
    photos: list[int] = field(default_factory=list)
    pk: int | None = None


@dataclass
class TicketDraft:
    """A whole drop-off. Money in minor units, percentages as Decimal, ``promise_at`` aware.

    ``number`` is one of a pad; without one the ticket takes the next of the series. ``received_on``
    is the day on its paper, where that is over.
    """

    garments: list[GarmentDraft]
    promise_at: datetime
    wanted_by: date | None = None
    event: str = ""
    note: str = ""
    rush_percent: Decimal = Decimal(0)
    discount_percent: Decimal = Decimal(0)
    discount_amount: int = 0
    deposit: int | None = None
    form_key: UUID = field(default_factory=uuid4)
    number: str = ""
    received_on: date | None = None

    @property
    def lines(self) -> list[LineDraft]:
        return [line for garment in self.garments for line in garment.lines]


class QuotableLine(Protocol):
    """What ``models.Line`` and ``LineDraft`` have in common."""

    name: str
    unit_price: int
    quantity: int
    minutes_each: int
    surcharges: list[dict[str, Any]]
    tax: Mapping[str, Any] | None


class QuotableTicket(Protocol):
    """What ``models.Ticket`` and ``TicketDraft`` have in common."""

    rush_percent: Decimal
    discount_percent: Decimal
    discount_amount: int

    @property
    def deposit(self) -> int | None: ...


def freeze_terms(studio: Profile, rules: PriceRules) -> dict[str, Any]:
    """The house rules of today's arithmetic as plain data, kept on the ticket."""
    return {
        "currency": studio.currency,
        "tax_mode": studio.tax_mode,
        "rounding_step": rules.rounding_step,
        "minimum_charge": rules.minimum_charge,
        "deposit_percent": str(rules.deposit_percent),
    }


def tax_place(studio: Profile) -> TaxPlace | None:
    """Where the studio charges tax; None where it charges none."""
    if studio.tax_mode == Profile.TaxMode.NONE:
        return None
    return TaxPlace(studio.country, studio.region)


def freeze_surcharge(surcharge: Surcharge) -> dict[str, Any]:
    return {
        "name": surcharge.name,
        "percent": str(surcharge.percent),
        "amount": surcharge.amount,
        "minutes_percent": str(surcharge.minutes_percent),
        "minutes": surcharge.minutes,
    }


def freeze_surcharges(surcharges: Iterable[Surcharge]) -> dict[str, dict[str, Any]]:
    """By their name."""
    return {surcharge.name: freeze_surcharge(surcharge) for surcharge in surcharges}


def thaw_surcharge(facts: dict[str, Any]) -> q.ItemSurcharge:
    return q.ItemSurcharge(
        name=facts["name"],
        percent=Decimal(facts["percent"]),
        amount=facts["amount"],
        minutes_percent=Decimal(facts["minutes_percent"]),
        minutes=facts["minutes"],
    )


def thaw_tax(facts: Mapping[str, Any] | None) -> q.Tax | None:
    if facts is None:
        return None
    return q.Tax(facts["name"], Decimal(facts["percent"]), facts["exempt"], facts["sentence"])


def under_tax(
    draft: TicketDraft, taxes: Mapping[str, Mapping[str, Any] | None], *, tax_out: bool = False
) -> TicketDraft:
    """The draft with these ``taxes``, by whether a garment is ``worn`` or ``new``, on all its work.

    With ``tax_out`` the tax inside its prices is taken out of them: of each price, surcharge and
    discount in money by the VAT fraction, 100 / (100 + percent), each rounded half up once.
    """
    with_tax = sum(line.unit_price * line.quantity for line in draft.lines)
    without = sum(line.unit_price * line.quantity * untaxed(line.tax) for line in draft.lines)
    garments = [
        replace(
            garment,
            lines=[
                _line_under(line, taxes[garment.noted.get("worn") or "worn"], tax_out)
                for line in garment.lines
            ],
        )
        for garment in draft.garments
    ]
    less = draft.discount_amount
    if tax_out and with_tax:
        less = round_half_up(less * Fraction(without) / with_tax)
    return replace(draft, garments=garments, discount_amount=less)


def untaxed(tax: Mapping[str, Any] | None) -> Fraction:
    """The part of a price with this tax inside that is not tax."""
    if tax is None or tax["exempt"]:
        return Fraction(1)
    return Fraction(100) / (100 + Fraction(tax["percent"]))


def _line_under(line: LineDraft, tax: Mapping[str, Any] | None, tax_out: bool) -> LineDraft:
    part = untaxed(line.tax) if tax_out else Fraction(1)
    return replace(
        line,
        tax=dict(tax) if tax else None,
        unit_price=round_half_up(line.unit_price * part),
        surcharges=[
            {**facts, "amount": round_half_up(facts["amount"] * part)} for facts in line.surcharges
        ],
    )


def item_of(line: QuotableLine, key: str = "") -> q.Item:
    """The line as the quote reads it."""
    return q.Item(
        key=key,
        name=line.name,
        unit_price=line.unit_price,
        quantity=line.quantity,
        minutes=line.minutes_each,
        surcharges=tuple(thaw_surcharge(facts) for facts in line.surcharges),
        tax=thaw_tax(line.tax),
    )


def line_minutes(line: QuotableLine) -> int:
    """Bench minutes of a line as agreed, surcharges included."""
    return q.line_minutes(item_of(line))


def minutes_of_rows(rows: Iterable[Mapping[str, Any]]) -> list[int]:
    """``line_minutes`` of rows of a line's ``quantity`` and ``minutes_each``.

    ``frozen`` are its surcharges as text: a week reads hundreds, most of them the same.
    """
    return [_minutes_as_agreed(row["quantity"], row["minutes_each"], row["frozen"]) for row in rows]


@lru_cache(maxsize=4096)
def _minutes_as_agreed(quantity: int, minutes_each: int, surcharges: str) -> int:
    extra = tuple(thaw_surcharge(facts) for facts in json.loads(surcharges))
    return q.line_minutes(q.Item("", "", 0, quantity, minutes_each, extra))


def quote_lines(
    ticket: QuotableTicket, lines: Iterable[QuotableLine], terms: dict[str, Any]
) -> q.Quote:
    """The quote of ``lines`` in their order; line ``i`` has the key ``str(i)``.

    ``terms`` is what ``freeze_terms`` made. A ticket without a deposit of its own asks for the
    list's percentage. Raises ``q.QuoteError`` with a sentence for the counter.
    """
    items = [item_of(line, str(index)) for index, line in enumerate(lines)]
    return q.quote(
        items,
        q.Terms(
            currency=terms["currency"],
            tax_mode=q.TaxMode(terms["tax_mode"]),
            rounding_step=terms["rounding_step"],
            minimum_charge=terms["minimum_charge"],
            rush_percent=ticket.rush_percent,
            discount_percent=ticket.discount_percent,
            discount_amount=ticket.discount_amount,
            deposit_percent=Decimal(terms["deposit_percent"]),
            deposit_amount=ticket.deposit,
        ),
    )
