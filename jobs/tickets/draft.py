"""What the counter has taken down, before it becomes a ticket or a new version of one."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID, uuid4


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
    """A whole drop-off. Money in minor units, percentages as Decimal, ``promise_at`` aware."""

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

    @property
    def lines(self) -> list[LineDraft]:
        return [line for garment in self.garments for line in garment.lines]
