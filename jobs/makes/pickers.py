"""Cloth and patterns are chosen by their pictures: plain radio buttons, which need no script."""

from typing import Any

from django import forms
from django.db.models import QuerySet

from jobs.makes.models import Cloth, Pattern
from jobs.makes.shelf.queries import with_free


class _Pictures(forms.RadioSelect):
    """Tiles to choose one of; each option brings its row along."""

    template_name = "makes/picker.html"
    option_inherits_attrs = False

    def optgroups(self, *args: Any, **kwargs: Any) -> list[Any]:
        """What is chosen comes first: it is in sight however many there are."""
        groups = super().optgroups(*args, **kwargs)
        return sorted(groups, key=lambda group: not any(row["selected"] for row in group[1]))

    def create_option(self, *args: Any, **kwargs: Any) -> dict[str, Any]:
        option: dict[str, Any] = super().create_option(*args, **kwargs)
        return option | {"row": getattr(option["value"], "instance", None)}


class _Swatches(_Pictures):
    """Tiles of cloth, each with what of it is free. Two queries for all."""

    def optgroups(self, *args: Any, **kwargs: Any) -> list[Any]:
        groups = super().optgroups(*args, **kwargs)
        options = [option for _, options, _ in groups for option in options if option["row"]]
        free = with_free(option["row"] for option in options)
        for option, row in zip(options, free, strict=True):
            option["free"] = row.free
        return groups


class _Picker(forms.ModelChoiceField):  # type: ignore[type-arg]
    """One of the ``rows``. An optional one has ``empty_label`` as its first tile."""

    widget = _Pictures
    rows: QuerySet[Any]

    def __init__(self, **kwargs: Any) -> None:
        defaults: dict[str, Any] = {"empty_label": "None yet", "blank": True, "required": False}
        super().__init__(self.rows, **(defaults | kwargs))


class ClothPicker(_Picker):
    """Cloth on the shelf."""

    widget = _Swatches
    rows = Cloth.objects.filter(gone_at=None).select_related("swatch")


class PatternPicker(_Picker):
    """A pattern in the drawer."""

    rows = Pattern.objects.filter(gone_at=None).select_related("picture")
