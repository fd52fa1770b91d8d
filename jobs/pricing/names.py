"""How the owner's own names are said in another language: operations, garments, surcharges.

Papers and messages in that language say them so; a name without one stays as it was typed. They are
known by the name as it was typed, so a ticket that was agreed under it says it too.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from hashlib import sha256

from django import forms
from django.http import Http404, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse

from jobs.pricing.models import GarmentKind, Surcharge
from studio.shop.files import NOT_TEXT
from studio.shop.http import StudioRequest, owner_only, say, sent
from studio.shop.models import Profile
from studio.shop.words import (
    NAME,
    Forms,
    is_right_to_left,
    is_thing,
    language_name,
    languages,
    own_words,
)
from studio.shop.words.actions import save_names

MOST_TEXT = 120
GARMENTS, SURCHARGES = "Garments", "Surcharges"


@dataclass(frozen=True)
class Names:
    """Those of one kind of garment that no kind before it has, or of all garments or surcharges."""

    heading: str
    names: tuple[str, ...]


def names_on_offer() -> list[Names]:
    """All that papers say as the owner typed it, each name once. Three queries."""
    kinds = list(GarmentKind.objects.on_offer())
    sections = [(kind.name, [work.name for work in kind.operations.all()]) for kind in kinds]
    sections.append((SURCHARGES, list(
        Surcharge.objects.filter(active=True).values_list("name", flat=True)
    )))  # fmt: skip
    sections.append((GARMENTS, [kind.name for kind in kinds if not is_thing(kind.name)]))
    known: set[str] = set()
    found = []
    for heading, names in sections:
        fresh = tuple(name for name in dict.fromkeys(names) if name not in known)
        known.update(fresh)
        if fresh:
            found.append(Names(heading, fresh))
    return found


def unnamed(sections: list[Names], own: Forms) -> int:
    """How many of them have no name in the language whose words are ``own``."""
    return sum((name, NAME) not in own for section in sections for name in section.names)


def field_name(name: str) -> str:
    return f"n{sha256(name.encode()).hexdigest()[:12]}"


class NamesForm(forms.Form):
    """A field for each name. What a field showed comes along, so that it is saved only where it was
    changed here, and not what another window changed meanwhile."""

    def __init__(
        self, data: QueryDict | None, *, sections: list[Names], code: str, studio: Profile
    ) -> None:
        super().__init__(data)
        self.sections = sections
        own = own_words(studio).get(code, {})
        shown = {"lang": code, "dir": "rtl" if is_right_to_left(code) else "ltr"}
        for section in sections:
            for name in section.names:
                self.fields[field_name(name)] = forms.CharField(
                    label=name, max_length=MOST_TEXT, required=False, show_hidden_initial=True,
                    initial=own.get((name, NAME), ""),
                    widget=forms.TextInput(attrs={"autocomplete": "off", **shown}),
                )  # fmt: skip

    @property
    def parts(self) -> Iterator[tuple[str, list[forms.BoundField], int]]:
        """Each part of the list: its heading, its fields, and how many of them are empty."""
        for section in self.sections:
            fields = [self[field_name(name)] for name in section.names]
            yield section.heading, fields, sum(not field.value() for field in fields)

    @property
    def changed(self) -> dict[str, str]:
        """By the owner's name, what it is to be in that language."""
        names = {field_name(name): name for part in self.sections for name in part.names}
        return {
            names[field]: " ".join(NOT_TEXT.sub("", self.cleaned_data[field]).split())
            for field in self.changed_data
        }


@owner_only
def names(request: StudioRequest, code: str) -> HttpResponse:
    """The names of one language; the studio's own language is the one they were typed in."""
    if code not in languages() or code == request.studio.language:
        raise Http404
    sections = names_on_offer()
    form = NamesForm(sent(request), sections=sections, code=code, studio=request.studio)
    if request.method == "POST" and form.is_valid():
        entry = save_names(code=code, names=form.changed, by=request.user)
        address = reverse("price-names", args=[code])
        if entry:
            words = f"Names in {language_name(code)}: saved."
            say(request, words, undo=reverse("studio-undo"), entry=entry.pk, back=address)
        return redirect(address)
    context = {"form": form, "code": code, "language": language_name(code)}
    context["left"] = unnamed(sections, own_words(request.studio).get(code, {}))
    context["all"] = sum(len(part.names) for part in sections)
    return render(request, "pricing/names.html", context)
