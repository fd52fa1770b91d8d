"""How the fields of a form are written."""

from django import forms
from django.forms.renderers import DjangoTemplates

from studio.shop.forms import StudioFormRenderer


def test_a_list_is_written_as_django_writes_it():
    """Its own template is the reference: groups, choices, letters that need escaping, no value."""
    choices = [("", "---"), (None, "none"), (1, "One"), ("Metres", [("m", "m & cm"), (2.5, "<2>")])]
    for kind in (forms.Select, forms.SelectMultiple):
        widget = kind(attrs={"class": "wide", "required": True, "hidden": False}, choices=choices)
        for value in (None, "", "m", "1", ["m", "2.5"], True):
            ours, theirs = (
                widget.render("length", value, {"id": "x"}, renderer)
                for renderer in (StudioFormRenderer(), DjangoTemplates())
            )
            assert ours.split() == theirs.split()
