"""The rows for seams in the form that takes in and lets out."""

from typing import Any

from django import forms

from clients.fit.alterations import KEEP, Seam
from jobs.tickets.fit.sums.parts import optional

ROWS = 8
SHOWN = 3  # the others wait behind a summary


class SeamRows(forms.Form):
    """Eight rows of fields for seams, numbered from 1."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for row in range(1, ROWS + 1):
            self.fields |= {
                f"name{row}": forms.CharField(label="Seam or dart", max_length=40, required=False),
                f"count{row}": forms.IntegerField(
                    label="How many alike", min_value=1, max_value=8, required=False,
                    widget=forms.NumberInput(attrs={"inputmode": "numeric", "placeholder": "1"}),
                ),
                f"room{row}": optional("Allowance now"),
                f"keep{row}": optional("To be kept"),
                f"before{row}": forms.BooleanField(label="Let out before", required=False),
            }  # fmt: skip

    @property
    def rows(self) -> list[dict[str, forms.BoundField]]:
        parts = ("name", "count", "room", "keep", "before")
        return [{part: self[f"{part}{row}"] for part in parts} for row in range(1, ROWS + 1)]

    @property
    def first_rows(self) -> list[dict[str, forms.BoundField]]:
        return self.rows[:SHOWN]

    @property
    def more_rows(self) -> list[dict[str, forms.BoundField]]:
        return self.rows[SHOWN:]

    @property
    def more_used(self) -> bool:
        return any(field.value() for row in self.more_rows for field in row.values())

    @property
    def used_rows(self) -> list[int]:
        return [row for row in range(1, ROWS + 1) if self._used(row)]

    def _used(self, row: int) -> bool:
        return any(self[f"{part}{row}"].value() for part in ("name", "count", "room"))

    def seams(self) -> list[Seam]:
        """The seams of a valid form."""
        facts = self.cleaned_data
        return [
            Seam(
                facts[f"name{row}"] or f"Seam {row}",
                allowance=facts[f"room{row}"].mm if facts[f"room{row}"] else None,
                keep=facts[f"keep{row}"].mm if facts[f"keep{row}"] else KEEP,
                count=facts[f"count{row}"] or 1,
                let_out_before=facts[f"before{row}"],
            )
            for row in self.used_rows
        ]
