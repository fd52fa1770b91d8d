"""The pick-up page's form: one tick and one reason for each line, one row for each piece."""

from dataclasses import dataclass
from typing import Any

from django import forms
from django.forms.boundfield import BoundField

from jobs.billing.models import Payment
from jobs.counter.pick_up import PickUp
from jobs.tickets.models import Garment, Line, Ticket
from studio.shop.forms import Chips, MoneyField, OnceForm

MONEY = ("amount", "method", "pays_later")


@dataclass(frozen=True)
class LineRow:
    line: Line
    done: BoundField
    why: BoundField

    @property
    def asks_why(self) -> bool:
        """Whether the reason lies open: nothing says yet that the work is done."""
        return not self.done.value() or bool(self.why.value())


@dataclass(frozen=True)
class Piece:
    garment: Garment
    leaves: BoundField
    tried: BoundField
    rows: list[LineRow]


class PickUpForm(OnceForm):
    """``balance`` is what is open, in minor units; None for a helper, who sees no money."""

    amount = MoneyField(label="Amount", required=False)
    method = forms.ChoiceField(
        label="Paid by",
        choices=Payment.Method.choices,
        widget=Chips({"class": "chips big"}),
        required=False,
    )
    pays_later = forms.CharField(label="Or why it is paid later", max_length=200, required=False)

    def __init__(self, *args: Any, ticket: Ticket, balance: int | None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.garments = [g for g in ticket.garments.all() if g.handed_over_at is None]
        for garment in self.garments:
            self._add_piece(garment)
        if balance is None or balance <= 0:
            for name in MONEY:
                del self.fields[name]
        else:
            self.fields["amount"].initial = balance

    def _add_piece(self, garment: Garment) -> None:
        pk = garment.pk
        self.fields[f"leaves_{pk}"] = forms.BooleanField(
            label="Leaves now", required=False, initial=True
        )
        self.fields[f"tried_{pk}"] = forms.BooleanField(label="Tried on", required=False)
        for line in garment.lines.all():
            self.fields[f"done_{line.pk}"] = forms.BooleanField(
                label=line.name, required=False, initial=line.done_at is not None
            )
            self.fields[f"why_{line.pk}"] = forms.CharField(
                label=f"Why not done: {line.name}",
                max_length=200,
                required=False,
                initial=line.not_done_why,
            )

    def pieces(self) -> list[Piece]:
        return [
            Piece(
                garment,
                self[f"leaves_{garment.pk}"],
                self[f"tried_{garment.pk}"],
                [
                    LineRow(line, self[f"done_{line.pk}"], self[f"why_{line.pk}"])
                    for line in garment.lines.all()
                ],
            )
            for garment in self.garments
        ]

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        paying = self.data.get("intent") == "pay"
        if (cleaned.get("amount") or paying) and not cleaned.get("method"):
            self._say("method", "Say whether it is cash, card or transfer.")
        if paying and not cleaned.get("amount"):
            self._say("amount", "Write the amount that is paid.")
        if not paying:
            self._check_lines(cleaned)
        return cleaned

    def _check_lines(self, cleaned: dict[str, Any]) -> None:
        for garment in self.garments:
            for line in garment.lines.all() if cleaned[f"leaves_{garment.pk}"] else ():
                if not cleaned[f"done_{line.pk}"] and not cleaned.get(f"why_{line.pk}"):
                    self._say(f"why_{line.pk}", "Tick it, or say why it was not done.")

    def _say(self, field: str, message: str) -> None:
        if field in self.fields and field not in self.errors:
            self.add_error(field, message)

    def said(self) -> PickUp:
        """What a valid form says."""
        facts = self.cleaned_data
        return PickUp(
            done=self._ticked("done"),
            reasons={
                line.pk: facts[f"why_{line.pk}"]
                for garment in self.garments
                for line in garment.lines.all()
            },
            tried_on=self._ticked("tried"),
            leaving=self._ticked("leaves"),
            form_key=facts["form_key"],
            amount=facts.get("amount") or 0,
            method=facts.get("method", ""),
            pays_later=facts.get("pays_later", ""),
        )

    def _ticked(self, what: str) -> frozenset[int]:
        names = (name.partition("_") for name, value in self.cleaned_data.items() if value)
        return frozenset(int(pk) for kind, _, pk in names if kind == what)
