"""Controls of the drop-off page that work by thumb."""

from django import forms


class OneChip(forms.RadioSelect):
    """One of a few, as chips in a row."""

    template_name = "counter/drop_off/chips.html"


class Chips(forms.CheckboxSelectMultiple):
    """Any of a few, as chips in a row."""

    template_name = "counter/drop_off/chips.html"


def text(mode: str = "text", **attrs: object) -> forms.TextInput:
    """A text box that brings up the keyboard that fits."""
    return forms.TextInput(attrs={"inputmode": mode, "autocomplete": "off", **attrs})
