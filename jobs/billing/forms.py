"""What is asked when money moves, and which rows the money lists show."""

from datetime import date
from types import ModuleType
from typing import Any

import django_filters as filters
from django import forms
from django.db.models import Q, QuerySet
from stdnum import bic, iban
from stdnum.exceptions import ValidationError as NumberError

from jobs.billing.cash import CashBox, Piece, pieces_of
from jobs.billing.credits import LineLeft, credit_charges, lines_left
from jobs.billing.models import Invoice, Payment
from jobs.billing.points import PREFIXES, is_strict, is_vat_number, plain_number, shown_tax
from jobs.billing.queries import AGES, to_give_back
from jobs.tickets.models import State, Ticket
from studio.shop import clock
from studio.shop.forms import (
    Chips,
    ModelForm,
    MoneyField,
    OnceForm,
    StudioFormMixin,
    day_input,
)
from studio.shop.models import Profile
from studio.shop.money import format_money, format_plain


class PaymentForm(OnceForm):
    amount = MoneyField()
    method = forms.ChoiceField(
        choices=Payment.Method.choices,
        widget=Chips,
        error_messages={"required": "Say whether it is cash, card or transfer."},
    )
    note = forms.CharField(max_length=200, required=False)


class RefundForm(PaymentForm):
    note = forms.CharField(label="Why", max_length=200)


class InvoiceSettingsForm(StudioFormMixin, ModelForm):
    """What invoices say of the studio."""

    simplified_limit = MoneyField(label="Simplified invoices up to", required=False)

    class Meta:
        model = Profile
        fields = [
            "legal_name", "vat_number", "tax_number", "simplified_limit", "invoice_sentence",
            "invoice_words", "cash_accounting", "iban", "bic", "deposit_tax", "electronic",
        ]  # fmt: skip
        widgets = dict.fromkeys(
            ("invoice_sentence", "invoice_words"), forms.Textarea(attrs={"rows": 2})
        )
        labels = {
            "invoice_words": "Your own words",
            "cash_accounting": "Print “Cash accounting”",
            "electronic": "Electronic invoices (EN 16931)",
            "deposit_tax": "Receipts of deposits show their tax",
        }
        help_texts = {
            "legal_name": "Who pays the tax: a person's name, or the company as it is registered.",
            "tax_number": "Where the country gives one besides the VAT number.",
            "invoice_sentence": "Why no tax is charged, for instance.",
            "cash_accounting": "Where tax is due when the client pays, not when you invoice.",
            "deposit_tax": "Where tax is due on money paid before the work: local rules decide.",
            "electronic": "The PDF then holds its figures as XML, for clients who read them by "
            "program. Ask your adviser who has to. "
            "From now on; earlier invoices stay as they were.",
        }

    def clean_vat_number(self) -> str:
        number, country = plain_number(self.cleaned_data["vat_number"]), self.studio.country
        if number and is_strict(country) and not is_vat_number(number, country):
            letters = PREFIXES.get(country, country)
            raise forms.ValidationError(f"It begins with {letters}, then come digits or letters.")
        return number

    def clean_iban(self) -> str:
        return _checked(
            iban, self.cleaned_data["iban"], "This is no bank account: a digit slipped."
        )

    def clean_bic(self) -> str:
        return _checked(bic, self.cleaned_data["bic"], "A BIC has 8 or 11 letters and digits.")


def _checked(kind: ModuleType, typed: str, wrong: str) -> str:
    """The number in the form of its standard, empty where none was typed."""
    if not typed.strip():
        return ""
    try:
        return str(kind.validate(typed))
    except NumberError as error:
        raise forms.ValidationError(wrong) from error


class ReasonForm(OnceForm):
    why = forms.CharField(label="Why", max_length=200)


LATER = "later"


USUAL_REASONS = ("Not done", "Price agreed lower", "Not right")


class CreditForm(OnceForm):
    """Which lines of an invoice are credited, how much of each, why, and how the money goes back.

    ``balance`` is what the ticket owes before. After ``is_valid``, ``charges`` is what the credit
    note would say, or None. ``saw`` is the sum that the page has told: none is booked unseen.
    """

    why = forms.CharField(label="Why", max_length=200)
    how = forms.ChoiceField(
        label="Give it back",
        choices=[
            (Payment.Method.CARD, "Card"), (Payment.Method.CASH, "Cash"),
            (Payment.Method.TRANSFER, "Transfer"), (LATER, "Later"),
        ],
        widget=forms.RadioSelect, required=False,
    )  # fmt: skip
    saw = forms.IntegerField(widget=forms.HiddenInput, required=False)

    def __init__(
        self, *args: Any, invoice: Invoice, notes: list[dict[str, Any]], balance: int,
        studio: Profile, only_sums: bool = False, **kwargs: Any,
    ) -> None:  # fmt: skip
        super().__init__(*args, studio=studio, **kwargs)
        self.invoice, self.notes, self.balance, self.studio = invoice, notes, balance, studio
        self.left = lines_left(invoice.data, notes)
        self.charges: dict[str, Any] | None = None
        self.fields["why"].required = not only_sums
        self.fields["form_key"].required = not only_sums
        for line in self.left:
            if not line.left:
                continue
            name = line.facts["name"]
            self.fields[f"line_{line.place}"] = forms.BooleanField(
                label=f"Credit {name}", required=False
            )
            amount = MoneyField(label=f"Credit for {name}", required=False)
            amount.for_studio(studio)
            amount.currency = invoice.currency
            self.fields[f"amount_{line.place}"] = amount

    @property
    def rows(self) -> list[tuple[LineLeft, forms.BoundField | None]]:
        """Every line of the invoice with its tick, where something of it is left."""
        return [
            (line, self[f"line_{line.place}"] if line.left else None) for line in self.left
        ]  # fmt: skip

    @property
    def ticked(self) -> list[tuple[LineLeft, forms.BoundField, str]]:
        """The lines that are credited, each with its amount, which is all that is left at first."""
        whole = {line.place: format_plain(line.left, self.invoice.currency) for line in self.left}
        return [
            (line, amount, amount.value() or whole[line.place])
            for line in self.left
            if line.left and self.is_bound and self[f"line_{line.place}"].value()
            for amount in [self[f"amount_{line.place}"]]
        ]

    @property
    def amounts(self) -> dict[int, int]:
        """What is credited of each line that is ticked, by its place."""
        chosen = {}
        for line in self.left:
            if self.cleaned_data.get(f"line_{line.place}"):
                typed = self.cleaned_data.get(f"amount_{line.place}")
                chosen[line.place] = line.left if typed is None else typed
        return chosen

    @property
    def total(self) -> int:
        """What is credited in all, above zero."""
        return -self.charges["gross"] if self.charges else 0

    @property
    def net(self) -> int:
        return -self.charges["net"] if self.charges else 0

    @property
    def rates(self) -> list[dict[str, Any]]:
        """The rates of what is credited, each with the ``amount`` of its tax above zero."""
        rates = self.charges["rates"] if self.charges else []
        return [shown_tax(rate) | {"amount": -rate["tax"]} for rate in rates]

    @property
    def back(self) -> int:
        """What of it the client has paid and gets back."""
        return to_give_back(self.total, self.balance - self.total)

    @property
    def to_pay(self) -> int:
        return max(self.balance - self.total, 0)

    @property
    def stays(self) -> int:
        """What of the invoice stands afterwards."""
        gone: int = sum(note["gross"] for note in self.notes)
        return self.invoice.gross + gone - self.total

    @property
    def way(self) -> str:
        return self["how"].value() or ""

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        currency = self.invoice.currency
        for line in self.left:
            typed = cleaned.get(f"amount_{line.place}")
            if not cleaned.get(f"line_{line.place}") or typed is None:
                continue
            if not 0 < typed <= line.left:
                left = format_money(line.left, currency, self.studio.locale)
                self.add_error(
                    f"amount_{line.place}",
                    "Write an amount above zero." if not typed else f"Only {left} is left of it.",
                )
        if not any(name.startswith("amount_") for name in self.errors) and self.amounts:
            self.charges = credit_charges(self.invoice.data, self.notes, self.amounts)
        return cleaned

    def seen(self) -> bool:
        """Whether the page has told this sum; it tells it now."""
        seen = self.charges is not None and self.cleaned_data.get("saw") == self.total
        self.data = dict(self.data.items()) | {"saw": self.total or ""}
        return seen


class AgeForm(forms.Form):
    """At least how many days something has been ready; empty for any time."""

    days = forms.TypedChoiceField(
        choices=[(days, f"{days} days") for days in AGES], coerce=int, required=False
    )


class DayEndForm(forms.Form):
    """One day of the studio; today when none is given."""

    day = forms.DateField(widget=day_input(), required=False)

    def clean_day(self) -> date:
        return self.cleaned_data["day"] or clock.today()


class CountForm(OnceForm):
    """How many of each coin and note lie in the box or drawer, and all else in one sum.

    ``saw`` is the difference that the page has told already: it is not saved unseen.
    """

    rest = MoneyField(label="All else, in all", required=False)
    taken_out = MoneyField(label="Taken out for the bank", required=False)
    why = forms.CharField(label="Why it differs, if you know", max_length=200, required=False)
    saw = forms.IntegerField(widget=forms.HiddenInput, required=False)

    def __init__(self, *args: Any, studio: Profile, drawer: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, studio=studio, **kwargs)
        if drawer:
            self.fields["taken_out"].label = "Put into the box"
        self.counted: int | None = None
        self.should_be: int | None = None
        self.difference: int | None = None
        self.kinds = pieces_of(studio.currency)
        for piece in self.kinds:
            self.fields[piece.field] = forms.IntegerField(
                label=format_money(piece.worth, studio.currency, studio.locale),
                min_value=0, max_value=99_999, required=False,
                widget=forms.TextInput(
                    attrs={"inputmode": "numeric", "autocomplete": "off", "data-worth": piece.worth}
                ),
            )  # fmt: skip
        self.fields["rest"].widget.attrs["data-rest"] = True
        self.fields["taken_out"].widget.attrs["data-out"] = True

    @property
    def tray(self) -> list[tuple[Piece, forms.BoundField, int | None]]:
        """Each piece with its field, and what those counted come to."""
        counts = getattr(self, "cleaned_data", {})
        return [
            (piece, self[piece.field], None if counts.get(piece.field) is None
             else counts[piece.field] * piece.worth)
            for piece in self.kinds
        ]  # fmt: skip

    @property
    def pieces(self) -> dict[int, int]:
        return {piece.worth: self.cleaned_data[piece.field] or 0 for piece in self.kinds}

    def reckon(self, box: CashBox) -> bool:
        """Say what was counted and how far off it is; whether it may be saved: nobody has a
        difference saved that was not seen.
        """
        facts = self.cleaned_data
        pieces = sum(worth * count for worth, count in self.pieces.items())
        self.counted = pieces + (facts["rest"] or 0)
        if box.should_be is None:
            return True
        self.should_be = box.should_be - (facts["taken_out"] or 0)
        self.difference = self.counted - self.should_be
        seen = self.difference in (0, facts["saw"])
        self.data = dict(self.data.items()) | {"saw": self.difference}
        return seen

    @property
    def off_by(self) -> int:
        return abs(self.difference or 0)

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        names = ["rest", *(piece.field for piece in self.kinds)]
        if not self.errors and all(cleaned.get(name) is None for name in names):
            raise forms.ValidationError("Count what lies there; write 0 where it is empty.")
        return cleaned


class MonthForm(forms.Form):
    """A month such as 2026-11; this one when none is given, or none that a book can hold."""

    month = forms.DateField(input_formats=["%Y-%m"], required=False)

    def first(self) -> date:
        this = clock.today().replace(day=1)
        asked = self.cleaned_data.get("month") if self.is_valid() else None
        return min(asked, this) if asked and asked > clock.EARLIEST else this


class SpanForm(forms.Form):
    """From one day to another, both included: the fields ``from`` and ``to``."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name in ("from", "to"):
            self.fields[name] = forms.DateField(label=name.title(), widget=day_input())

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        first, last = cleaned.get("from"), cleaned.get("to")
        if first and last and last < first:
            self.add_error("to", "The last day is before the first.")
        return cleaned


class OwingFilter(filters.FilterSet):
    """Handed over and not paid comes first in the owner's mind; the bench can still wait."""

    WHICH = [
        ("gone", "Handed over, not paid"),
        ("ready", "Ready to collect"),
        ("bench", "Still on the bench"),
        ("back", "To give back"),
    ]
    which = filters.ChoiceFilter(
        label="Which", choices=WHICH, method="by_which", empty_label="Everything"
    )

    class Meta:
        model = Ticket
        fields = ("which",)

    def by_which(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        if value == "back":
            return rows.filter(balance__lt=0)
        states = {
            "gone": [State.COLLECTED],
            "ready": [State.READY],
            "bench": [State.RECEIVED, State.IN_WORK],
        }
        return rows.filter(balance__gt=0, state__in=states[value])


class InvoiceFilter(filters.FilterSet):
    q = filters.CharFilter(method="find", label="Number or client")
    first = filters.DateFilter("issued_on", "gte", label="From", widget=day_input())
    last = filters.DateFilter("issued_on", "lte", label="To", widget=day_input())

    class Meta:
        model = Invoice
        fields = ("q", "first", "last")

    def find(self, rows: QuerySet[Invoice], name: str, value: str) -> QuerySet[Invoice]:
        """By the number, or by the client's name as it stands on the paper."""
        return rows.filter(Q(number__icontains=value) | Q(data__client__name__icontains=value))


class PaymentFilter(filters.FilterSet):
    method = filters.ChoiceFilter(choices=Payment.Method.choices, empty_label="Every method")
    first = filters.DateFilter("day", "gte", label="From", widget=day_input())
    last = filters.DateFilter("day", "lte", label="To", widget=day_input())

    class Meta:
        model = Payment
        fields = ("method", "first", "last")
