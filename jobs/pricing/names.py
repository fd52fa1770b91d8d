"""How the owner's own words are said in another language: names of operations, garments, surcharges
and taxes, the terms and sentences of papers.

Papers and messages in that language say them so; what has no text there stays as it was typed. They
are known by what was typed, so a ticket that was agreed under it says it too.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from hashlib import sha256
from typing import Any

from django import forms
from django.http import Http404, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.html import escape

from jobs.pricing.models import GarmentKind, Surcharge
from studio.shop.files import NOT_TEXT
from studio.shop.http import StudioRequest, owner_only, say, sent
from studio.shop.models import Profile, TaxClass
from studio.shop.words import (
    NAME,
    REVERSE_CHARGE,
    Forms,
    is_right_to_left,
    is_thing,
    key_of_text,
    language_name,
    languages,
    own_words,
)
from studio.shop.words.actions import save_names

MOST_TEXT = 120
MOST_LONG = 4000
TERMS, TAXES, GARMENTS, SURCHARGES = "Terms and sentences", "Taxes", "Garments", "Surcharges"
SENTENCES = {
    "terms": "Terms", "invoice_sentence": "Sentence the law asks on invoices",
    "invoice_words": "Your own words on invoices",
}  # fmt: skip


@dataclass(frozen=True)
class TypedText:
    """What the owner typed; ``label`` stands over its field where it is a ``long`` text."""

    typed: str
    label: str = ""

    @property
    def key(self) -> str:
        return key_of_text(self.typed) if self.label else self.typed


@dataclass(frozen=True)
class Names:
    """Those of one kind of garment that no kind before it has, or of all garments or surcharges."""

    heading: str
    names: tuple[TypedText, ...]


def names_on_offer(studio: Profile) -> list[Names]:
    """All that papers say as the owner typed it, each once. Four queries."""
    return [
        *_each_once([(TERMS, _sentences(studio)), (TAXES, list(_taxes()))]),
        *_each_once(
            [(heading, [TypedText(name) for name in names]) for heading, names in _names_of_work()]
        ),
    ]


def _sentences(studio: Profile) -> list[TypedText]:
    texts = ((getattr(studio, field), label) for field, label in SENTENCES.items())
    return [TypedText(text, label) for text, label in texts if text.strip()]


def _taxes() -> Iterator[TypedText]:
    """Their names, and why one is exempt; the law's words of that the program can say."""
    for tax in TaxClass.objects.order_by("pk"):
        yield TypedText(tax.name)
        if tax.exempt and tax.sentence.strip().rstrip(".") != REVERSE_CHARGE:
            yield TypedText(tax.sentence, f"{tax.name}: why it is exempt")


def _names_of_work() -> list[tuple[str, list[str]]]:
    kinds = list(GarmentKind.objects.on_offer())
    sections = [(kind.name, [work.name for work in kind.operations.all()]) for kind in kinds]
    sections.append((SURCHARGES, list(
        Surcharge.objects.filter(active=True).values_list("name", flat=True)
    )))  # fmt: skip
    sections.append((GARMENTS, [kind.name for kind in kinds if not is_thing(kind.name)]))
    return sections


def _each_once(sections: list[tuple[str, list[TypedText]]]) -> list[Names]:
    known: set[str] = set()
    found = []
    for heading, names in sections:
        by_key = {name.key: name for name in names if name.typed.strip()}
        fresh = tuple(name for key, name in by_key.items() if key not in known)
        known.update(by_key)
        if fresh:
            found.append(Names(heading, fresh))
    return found


def unnamed(sections: list[Names], own: Forms) -> int:
    """How many of them have no text in the language whose words are ``own``."""
    return sum((name.key, NAME) not in own for section in sections for name in section.names)


def unsaid(typed: Iterable[str], *, language: str, studio: Profile) -> list[str]:
    """Those of the owner's words, each once, that have no text in the ``language`` of papers.

    One query for a language, none for the one in which they were typed.
    """
    if language in {"", studio.language}:
        return []
    own = own_words(studio).get(language, {})
    words = (word for word in dict.fromkeys(typed) if word.strip() and not is_thing(word))
    return [word for word in words if (key_of_text(word), NAME) not in own]


def field_name(key: str) -> str:
    return f"n{sha256(key.encode()).hexdigest()[:12]}"


class LongTextField(forms.CharField):
    """Lines, each as it was typed."""

    widget = forms.Textarea

    def to_python(self, value: Any) -> str:
        return "\n".join(str(super().to_python(value) or "").splitlines())


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
        for name in (name for section in sections for name in section.names):
            how: dict[str, Any] = {"initial": own.get((name.key, NAME), ""), "required": False}
            how |= {"show_hidden_initial": True}
            if name.label:
                self.fields[field_name(name.key)] = LongTextField(
                    label=name.label, help_text=escape(name.typed), max_length=MOST_LONG,
                    widget=forms.Textarea(attrs={"rows": 3, **shown}), **how,
                )  # fmt: skip
            else:
                self.fields[field_name(name.key)] = forms.CharField(
                    label=name.typed, max_length=MOST_TEXT,
                    widget=forms.TextInput(attrs={"autocomplete": "off", **shown}), **how,
                )  # fmt: skip

    @property
    def parts(self) -> Iterator[tuple[str, list[forms.BoundField], int]]:
        """Each part of the list: its heading, its fields, and how many of them are empty."""
        for section in self.sections:
            fields = [self[field_name(name.key)] for name in section.names]
            yield section.heading, fields, sum(not field.value() for field in fields)

    @property
    def changed(self) -> dict[str, str]:
        """By the keys of what the owner typed, what it is to be in that language."""
        keys = {field_name(name.key): name.key for part in self.sections for name in part.names}
        return {keys[field]: self._plain(field) for field in self.changed_data}

    def _plain(self, field: str) -> str:
        text = NOT_TEXT.sub("", self.cleaned_data[field])
        if isinstance(self.fields[field], LongTextField):
            return text.strip()
        return " ".join(text.split())


@owner_only
def names(request: StudioRequest, code: str) -> HttpResponse:
    """The owner's words of one language; the studio's own is the one they were typed in."""
    if code not in languages() or code == request.studio.language:
        raise Http404
    sections = names_on_offer(request.studio)
    form = NamesForm(sent(request), sections=sections, code=code, studio=request.studio)
    if request.method == "POST" and form.is_valid():
        entry = save_names(code=code, names=form.changed, by=request.user)
        address = reverse("price-names", args=[code])
        if entry:
            words = f"Your own words in {language_name(code)}: saved."
            say(request, words, undo=reverse("studio-undo"), entry=entry.pk, back=address)
        return redirect(address)
    context = {"form": form, "code": code, "language": language_name(code)}
    context["left"] = unnamed(sections, own_words(request.studio).get(code, {}))
    context["all"] = sum(len(part.names) for part in sections)
    return render(request, "pricing/names.html", context)
