"""The fields that the drop-off page is built of, and what its prefixed forms have in common."""

from functools import cached_property
from typing import TYPE_CHECKING, Any

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db.models import Model
from django.forms.formsets import BaseFormSet
from django.http import QueryDict

from jobs.counter.dropoff.desk import DropOffDesk, row_numbers, write
from jobs.tickets.amounts import longest
from jobs.tickets.facts import Fact
from jobs.tickets.models import Garment
from studio.shop.forms import StudioFormMixin
from studio.shop.look.colours import dye

MONEY = ("price", "discount_percent", "discount_amount", "deposit", "paid", "method")
# Common practice at the counter: the colours that most clothes have.
COLOURS = [
    "black", "charcoal", "grey", "white", "ivory", "sand", "brown", "navy", "denim", "green",
    "red", "plum",
]  # fmt: skip
OTHER_COLOUR = "colour_other"


class OneChip(forms.RadioSelect):
    """One of a few, as chips in a row."""

    template_name = "counter/drop_off/chips.html"


class OneSegment(forms.RadioSelect):
    """One of two or three that belong together."""

    template_name = "counter/drop_off/segments.html"


class ColourChips(forms.TextInput):
    """The usual colours as dyed chips, and a box for any other words beside them.

    A chip has the field's own name. Words in the box win over a chip (``fold_colours``).
    """

    template_name = "counter/drop_off/colours.html"

    def get_context(self, name: str, value: Any, attrs: dict[str, Any] | None) -> dict[str, Any]:
        context = super().get_context(name, value, attrs)
        words = (value or "").strip()
        named = [words] if words and words not in COLOURS else []
        chips = [(colour, dye(colour)) for colour in [*named, *COLOURS]]
        return {**context, "chips": chips, "words": words, "other": f"{name}_other"}


class AnyChips(forms.CheckboxSelectMultiple):
    """Any of a few, as chips in a row."""

    template_name = "counter/drop_off/chips.html"


class AnyValues(forms.MultipleChoiceField):
    """Any values at all, hidden or drawn by the page itself."""

    widget = forms.MultipleHiddenInput

    def valid_value(self, value: str) -> bool:
        return True


def hidden() -> forms.CharField:
    return forms.CharField(required=False, widget=forms.HiddenInput)


def text(mode: str = "text", **attrs: object) -> forms.TextInput:
    """A text box that brings up the keyboard that fits."""
    return forms.TextInput(attrs={"inputmode": mode, "autocomplete": "off", **attrs})


def words(model: type[Model], name: str, label: str, mode: str = "text") -> forms.CharField:
    """A line of text as long as the model's column."""
    return forms.CharField(
        label=label, max_length=longest(model, name), required=False, widget=text(mode)
    )


def whole(label: str, least: int, most: int, wrong: str) -> forms.IntegerField:
    return forms.IntegerField(
        label=label, required=False, widget=text("numeric"), error_messages={"invalid": wrong},
        validators=[MinValueValidator(least), MaxValueValidator(most)],
    )  # fmt: skip


def one_of(
    label: str, choices: list[tuple[str, Any]], widget: forms.RadioSelect | None = None
) -> forms.ChoiceField:
    widget = widget or OneChip()
    return forms.ChoiceField(label=label, choices=choices, required=False, widget=widget)


def field_of(fact: Fact) -> forms.Field:
    """The field in which a fact is asked: chips where it is one of a few, else a line of text."""
    if fact.choices:
        return one_of(fact.asked, fact.choices)
    field = words(Garment, fact.name, fact.asked)
    if fact.name == "colour":
        field.widget = ColourChips()
    return field


class CounterForm(StudioFormMixin, forms.Form):
    """A helper's form has no field that speaks of money."""

    use_required_attribute = False

    def __init__(self, *args: Any, desk: DropOffDesk, **kwargs: Any) -> None:
        super().__init__(*args, studio=desk.studio, **kwargs)
        self.desk = desk
        if not desk.sees_money:
            for name in MONEY:
                self.fields.pop(name, None)

    def show(self) -> None:
        """Make ready what only a reader needs."""

    def typed(self, name: str) -> str:
        return str(self.data.get(self.add_prefix(name), ""))

    @property
    def answers(self) -> dict[str, Any]:
        """What could be read, by the field's name."""
        self.is_valid()
        return self.cleaned_data

    def miss(self, name: str, message: str) -> None:
        """Say what is missing, unless the field has something else to complain about."""
        if name in self.fields and not self.has_error(name):
            self.add_error(name, message)

    def says(self, *names: str, **usual: str) -> bool:
        """Whether a field holds something out of the usual, or a message: it lies open then."""
        fields = [self[name] for name in (*names, *usual) if name in self.fields]
        return any(
            field.errors or field.data not in (None, "", [], usual.get(field.name))
            for field in fields
        )


class NumberedForm(CounterForm):
    """A form that is one of several. What is taken off stays at hand, with all that was typed."""

    pk, gone = hidden(), hidden()

    def __init__(self, *args: Any, index: int, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.index = index

    @property
    def is_gone(self) -> bool:
        return bool(self.typed("gone"))


if TYPE_CHECKING:
    NumberedFormSet = BaseFormSet[NumberedForm]
else:
    NumberedFormSet = BaseFormSet


class NumberedForms(NumberedFormSet):
    """As many forms as the names of the fields count: ``g0-``, ``g1-`` ... under the prefix ``g``.

    No hidden count says how many there are, so none can be wrong; what is beyond the limit has no
    place. A gap in the numbers stays one.
    """

    @cached_property
    def forms(self) -> list[NumberedForm]:
        return [
            self.form(self.data, prefix=self.add_prefix(number), **self.get_form_kwargs(number))
            for number in row_numbers(self.data, str(self.prefix))[: self.max_num]
        ]

    def add_prefix(self, index: int | str | None) -> str:
        return f"{self.prefix}{index}"

    def get_form_kwargs(self, index: int | None) -> dict[str, Any]:
        return {**super().get_form_kwargs(index), "index": index}


def fold_colours(data: QueryDict) -> None:
    """Let what was typed beside the chips be the colour."""
    for number in row_numbers(data, "g"):
        words = data.get(f"g{number}-{OTHER_COLOUR}", "").strip()
        if words:
            write(data, f"g{number}", colour=words, **{OTHER_COLOUR: ""})
