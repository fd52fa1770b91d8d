"""Cloth and patterns are chosen by their pictures: plain radio buttons, which need no script."""

from typing import Any

from django import forms

from jobs.makes.models import Cloth, Pattern


class _Pictures(forms.RadioSelect):
    """Tiles to choose one of; each option brings its row along."""

    template_name = "makes/picker.html"
    option_inherits_attrs = False

    def create_option(self, *args: Any, **kwargs: Any) -> dict[str, Any]:
        option: dict[str, Any] = super().create_option(*args, **kwargs)
        return option | {"row": getattr(option["value"], "instance", None)}


class ClothPicker(forms.ModelChoiceField):  # type: ignore[type-arg]
    """Cloth on the shelf. An optional one has ``empty_label`` as its first tile."""

    widget = _Pictures

    def __init__(self, **kwargs: Any) -> None:
        shelf = Cloth.objects.filter(gone_at=None).select_related("swatch")
        defaults: dict[str, Any] = {"empty_label": "None yet", "blank": True, "required": False}
        super().__init__(shelf, **(defaults | kwargs))


class PatternPicker(forms.ModelChoiceField):  # type: ignore[type-arg]
    """A pattern in the drawer."""

    widget = _Pictures

    def __init__(self, **kwargs: Any) -> None:
        drawer = Pattern.objects.filter(gone_at=None).select_related("picture")
        defaults: dict[str, Any] = {"empty_label": "None yet", "blank": True, "required": False}
        super().__init__(drawer, **(defaults | kwargs))
