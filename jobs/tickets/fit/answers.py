"""What a fit sum answers: figures and sentences as they are shown and kept. Nothing is reckoned."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from clients.fit.handbook import Caution
from clients.fit.lengths import Unit
from jobs.pricing.models import Basis
from jobs.tickets.amounts import describe_amount
from jobs.tickets.fit.drawings import Drawing

Figure = tuple[str, str]


@dataclass
class Pin:
    """The amount that a line would be agreed with: ``amount_typed`` names its unit."""

    mm: Decimal
    amount_typed: str
    measure: str
    basis: str = Basis.TOTAL

    @property
    def words(self) -> str:
        return describe_amount(self)


@dataclass(frozen=True)
class Answer:
    """``says`` is the answer, ``why`` one line of reason; not ``good`` is a refusal.

    ``instead`` are the fields that would make a refused sum a possible one, and its words.
    A hem keeps its ``edge_mm`` all round and its ``layers``.
    """

    says: str
    why: str
    figures: Sequence[Figure]
    drawing: Drawing
    cautions: Sequence[Caution] = ()
    good: bool = True
    instead: dict[str, str] = field(default_factory=dict)
    instead_words: str = ""
    pin: Pin | None = None
    edge_mm: Decimal | None = None
    layers: int | None = None

    def as_data(self, unit: Unit) -> dict[str, Any]:
        """Plain data for ``models.FitSum.answer``."""
        return {
            "says": self.says,
            "why": self.why,
            "good": self.good,
            "figures": [list(figure) for figure in self.figures],
            "cautions": self.told(unit),
        }

    def told(self, unit: Unit) -> list[str]:
        """The cautions as sentences, each with its source."""
        return [
            f"{caution.words(unit)} ({caution.source or caution.label})."
            for caution in self.cautions
        ]
