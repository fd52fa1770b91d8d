"""What the forms of all sums have in common: fields, amounts, lengths."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any, ClassVar, cast

from django import forms
from django.forms.boundfield import BoundField
from django.http import QueryDict
from django.utils.html import format_html

from clients.fields import LengthField, longest
from clients.fit.handbook import Advice
from clients.fit.lengths import Length, Unit, parse_length
from clients.sheets.known import Body, BodyFact
from jobs.pricing.models import Basis, Measure
from jobs.tickets.fit.answers import Pin, Show, SumAnswer
from jobs.tickets.fit.body import answers
from jobs.tickets.models import Garment, Line
from studio.shop.forms import Chips, StudioFormMixin
from studio.shop.locales import show_day
from studio.shop.models import Profile
from studio.shop.money import exact

# The field of the place changes what other fields are filled with, so the form comes anew.
FOLLOWED = {
    "hx-get": "", "hx-include": "#sum", "hx-trigger": "input consume, change consume",
    "hx-target": "#sum", "hx-select": "#sum", "hx-swap": "outerHTML",
    "hx-select-oob": "#result,#fit-foot", "hx-sync": "this:replace",
}  # fmt: skip


class FollowedChips(Chips):
    """Chips of which each brings the form anew."""

    def create_option(self, *args: Any, **kwargs: Any) -> dict[str, Any]:
        option = super().create_option(*args, **kwargs)
        option["attrs"] |= FOLLOWED
        return option


UNWORN = frozenset({"curtains", "cushion", "bag"})
"""No measure of a body answers anything of these."""
PLACE_WAS = "place_was"
"""Sent with a sum: the place that its fields were filled for."""


class SumForm(StudioFormMixin, forms.Form):
    """A sum: its fields, and the answer to them once they are valid."""

    kind = ""  # its name in addresses and in ``models.FitSum``
    title = ""
    hint = ""
    do_not_call_in_templates = True  # a list of sums shows them as they are
    blame = ""  # the field that is told of figures which do not go together
    answered_by: ClassVar[Mapping[str, Mapping[str, str]]] = {}
    """By the place that the sum is of, "" for all: the measure that answers a field."""
    answers: ClassVar[frozenset[str]] = frozenset()
    """Where work lies on a garment that this sum may give the amount of."""
    drawings: ClassVar[frozenset[str]] = frozenset()
    """The garments that it is of, as they are drawn; empty: all that are worn."""
    unworn: ClassVar[frozenset[str]] = frozenset()
    """What is not worn and it is of as well, as it is drawn."""
    place_field = ""  # the field that says the place
    rare: tuple[str, ...] = ()  # fields that wait in a drawer
    rare_words = "More"  # what the drawer is called
    of_the_larger: ClassVar[frozenset[str]] = frozenset()
    """Fields of which the larger side counts where left and right differ."""

    def __init__(self, *args: Any, body: Body | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.body = body or Body()
        place = str(self[self.place_field].value() or "") if self.place_field else ""
        self.place_now, self.notes = place, dict[str, BodyFact]()
        for name, key in self.keys_at(place).items():
            if fact := self.body.get(key):
                self.notes[name] = fact
                self._tell(self.fields[name], fact)

    def _tell(self, field: forms.Field, fact: BodyFact) -> None:
        link = format_html(
            '<a href="{}">{}</a>', fact.sheet.get_absolute_url(), fact.says(self.studio.locale)
        )
        field.help_text = format_html("{} {}", field.help_text, link) if field.help_text else link

    @classmethod
    def keys_at(cls, place: str) -> dict[str, str]:
        """By field: the measure of the body that answers it where the sum is of ``place``."""
        return {**cls.answered_by.get("", {}), **cls.answered_by.get(place, {})}

    @classmethod
    def typed_of(cls, body: Body, name: str, key: str) -> str:
        fact = body.get(key)
        if fact is None:
            return ""
        return fact.larger if name in cls.of_the_larger else fact.typed

    @classmethod
    def filled(cls, start: dict[str, Any], body: Body) -> dict[str, Any]:
        """What is known of the garment, and of the body what answers a field that is empty."""
        keys = cls.keys_at(str(start.get(cls.place_field, "")))
        known = {name: cls.typed_of(body, name, key) for name, key in keys.items()}
        return {name: typed for name, typed in known.items() if typed} | {
            name: value for name, value in start.items() if value or name not in known
        }

    @classmethod
    def moved(cls, sent: QueryDict, body: Body) -> QueryDict:
        """What was sent, with the measures of the place that it is of now.

        Only what stands there as a sheet has it gives way; what somebody typed stays.
        """
        was, now = sent.get(PLACE_WAS, ""), sent.get(cls.place_field, "")
        if not cls.place_field or not was or was == now:
            return sent
        before, after, data = cls.keys_at(was), cls.keys_at(now), sent.copy()
        for name in before | after:
            old = cls.typed_of(body, name, before.get(name, ""))
            if data.get(name, "") in {"", old}:
                data[name] = cls.typed_of(body, name, after.get(name, ""))
        return data

    @classmethod
    def answers_at_once(cls, start: Mapping[str, Any]) -> bool:
        """Whether what is known before anybody typed is enough for an answer."""
        return bool(start)

    def answered(self, garment: Garment) -> SumAnswer:
        """The answer, which says what of it comes from which sheet. Raises ``FitError``."""
        answer, locale = self.answer(garment), self.studio.locale
        facts = self.from_sheets()
        if not facts:
            return answer
        days: dict[date, list[str]] = {}
        for fact in facts:
            days.setdefault(fact.day, []).append(fact.name.lower())
        told = (
            f"{', '.join(names)} from the sheet of {show_day(day, locale)}"
            for day, names in days.items()
        )
        sentence = "; ".join(told)
        return replace(
            answer,
            why=f"{answer.why} {sentence[:1].upper()}{sentence[1:]}.",
            cautions=[*answer.cautions, *(_aged(fact, locale) for fact in facts if fact.doubt)],
        )

    @classmethod
    def suits(cls, drawing: str) -> bool:
        """Whether a garment of this drawing has what the sum is about."""
        if cls.drawings and drawing != "other":
            return drawing in cls.drawings
        return drawing not in UNWORN or drawing in cls.unworn

    @property
    def main_fields(self) -> list[BoundField]:
        return [field for field in self if field.name not in self.rare]

    @property
    def rare_fields(self) -> list[BoundField]:
        return [self[name] for name in self.rare]

    @property
    def rare_used(self) -> bool:
        """Whether the drawer holds something out of the usual, or a message: it lies open then."""
        return any(
            field.errors or str(field.value() or "") not in {"", str(field.field.initial or "")}
            for field in self.rare_fields
        )

    def lines_answered(self, lines: Iterable[Line], pin: Pin | None) -> list[Line]:
        """Those of ``lines`` whose amount this sum is."""
        places = self.answers
        return [line for line in lines if pin and answers(places, line)]

    def from_sheets(self) -> list[BodyFact]:
        """The measures of sheets that the valid form reckons with."""
        return [
            fact
            for name, fact in self.notes.items()
            if self[name].value() and self[name].value() in {fact.typed, fact.larger}
        ]

    @property
    def unit(self) -> Unit:
        return cast("Unit", self.studio.unit)

    @property
    def show(self) -> Show:
        return Show(self.unit)

    def asked(self) -> dict[str, str]:
        """The form as it was typed, without what was left empty."""
        typed = {name: self[name].value() for name in self.fields}
        return {name: str(value) for name, value in typed.items() if value not in {None, "", False}}

    def answer(self, garment: Garment) -> SumAnswer:
        """What the valid form comes to. Raises ``FitError``."""
        raise NotImplementedError

    def mm(self, name: str, default: Decimal | int = 0) -> Fraction:
        """A length of the valid form in mm; what is usual, else ``default``, where none was."""
        length: Length | None = self.cleaned_data[name]
        return exact(length.mm if length else getattr(self.fields[name], "usual", default))

    @classmethod
    def start(cls, garment: Garment, unit: Unit, /) -> dict[str, Any]:  # noqa: ARG003 -- for sums that know more
        """What is known of the garment already, for the empty form."""
        return {}


def _aged(fact: BodyFact, locale: str) -> Advice:
    day = show_day(fact.day, locale)
    return Advice(f"{fact.name} is of {day}, {fact.doubt}: measure again before cutting")


class UsualField(LengthField):
    """A length that is usual where none was typed, in round figures of the studio's own unit."""

    usual: Decimal = Decimal(0)

    def __init__(self, label: str, *, cm: str, inch: str, zero: bool = False) -> None:
        self.round_figures: dict[Unit, str] = {"cm": cm, "in": inch}
        super().__init__(label=label, required=False, zero=zero)

    def for_studio(self, studio: Profile) -> None:
        super().for_studio(studio)
        figure = self.round_figures[self.unit]
        self.usual = parse_length(figure, self.unit).mm
        self.help_text = f"Empty: {figure}."


def optional(label: str, hint: str = "", *, zero: bool = False) -> LengthField:
    return LengthField(label=label, help_text=hint, required=False, zero=zero)


def layers_field() -> forms.IntegerField:
    return forms.IntegerField(
        label="Layers to hem",
        min_value=1,
        max_value=20,
        initial=1,
        required=False,
        widget=forms.NumberInput(attrs={"inputmode": "numeric"}),
    )


def pin_of(
    measure: Measure, show: Show, mm: Decimal, typed: Length | None = None,
    *, basis: Basis = Basis.TOTAL,
) -> Pin:  # fmt: skip
    """The amount for a line, in the words it was typed in where it was typed."""
    if typed and len(typed.with_unit) <= longest(Line, "amount_typed"):
        return Pin(typed.mm, typed.with_unit, measure, basis)
    return Pin(mm, show(mm), measure, basis)
