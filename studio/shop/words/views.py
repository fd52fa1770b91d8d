"""The owner's pages of the languages that papers and messages to clients can be in."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cached_property
from hashlib import sha256
from itertools import groupby

from django import forms
from django.core.exceptions import ValidationError
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_POST

from studio.shop import clock
from studio.shop.files import NOT_TEXT
from studio.shop.http import StudioRequest, owner_only, say, sent
from studio.shop.models import Entry, PaperLanguage, Profile
from studio.shop.text import fold
from studio.shop.words import (
    ENGLISH,
    Phrase,
    Words,
    actions,
    brought,
    examples,
    forms_of,
    is_exact,
    is_right_to_left,
    language_code,
    language_name,
    languages,
    offered,
    own_name,
    own_words,
    parameters,
    phrases,
    provided,
    said_in,
    words_for,
)

MOST_TEXT = 400
SHOWN_PIECES, SHOWN_TOTAL = 3, 12345  # of the picture: pieces, and minor units


@dataclass(frozen=True)
class LanguageTile:
    """One language: how many of the phrases it has, and when the owner read them."""

    code: str
    said: int
    checked_on: date | None

    @property
    def name(self) -> str:
        return language_name(self.code)

    @property
    def own_name(self) -> str:
        return own_name(self.code)

    @property
    def is_english(self) -> bool:
        return self.code == ENGLISH

    @property
    def checked_today(self) -> bool:
        return self.checked_on == clock.today()

    @property
    def percent(self) -> int:
        return 100 * self.said // len(phrases())


def tiles(studio: Profile) -> list[LanguageTile]:
    """Two queries."""
    checked = dict(PaperLanguage.objects.values_list("code", "checked_on"))
    own = own_words(studio)
    return [
        LanguageTile(code, said_in(code, own.get(code, {})), checked.get(code))
        for code in dict.fromkeys([*provided(), *checked])
    ]


class LanguageForm(forms.Form):
    code = forms.CharField(
        label="Another language",
        max_length=60,
        help_text="Its name in English, or its code: Ukrainian, pt-BR.",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
        error_messages={"required": "Write the name or the code of a language."},
    )

    def clean_code(self) -> str:
        try:
            code = language_code(self.cleaned_data["code"])
        except LookupError as error:
            raise ValidationError(str(error), code="unknown") from error
        if code in languages():
            raise ValidationError(f"{language_name(code)} is there already.", code="there")
        return code


def key_of(phrase: Phrase) -> str:
    """What stands for a phrase in addresses."""
    return sha256(phrase.text.encode()).hexdigest()[:10]


@dataclass(frozen=True)
class PhraseRow:
    """A phrase and what is said for it: by the program, or by the owner, who comes first."""

    phrase: Phrase
    texts: tuple[str, ...]
    own: bool

    @property
    def key(self) -> str:
        return key_of(self.phrase)

    def matches(self, typed: str) -> bool:
        text = " ".join([self.phrase.text, self.phrase.plural, *self.texts])
        return fold(typed) in fold(text)


@dataclass(frozen=True)
class Sample:
    """The little claim ticket at the top: everything that it says, in that language."""

    words: Words
    currency: str

    @cached_property
    def promised(self) -> datetime:
        day = clock.today() + timedelta(days=7)
        return clock.local(clock.now()).replace(
            year=day.year, month=day.month, day=day.day, hour=17, minute=0
        )

    @property
    def ready(self) -> str:
        return f"{self.words.day(self.promised)}, {self.words.clock(self.promised)}"

    @property
    def pieces(self) -> str:
        return self.words("{count} piece", "{count} pieces", count=SHOWN_PIECES)

    @property
    def total(self) -> str:
        return self.words.money(SHOWN_TOTAL, self.currency)

    @property
    def received(self) -> str:
        return self.words("Received {when}.", when=self.words.day(clock.today()))


def rows_of(code: str, studio: Profile) -> list[PhraseRow]:
    own, by_program = own_words(studio).get(code, {}), brought(code)
    rows = []
    for phrase in offered(code):
        keys = [(phrase.text, form) for form in forms_of(phrase, code)]
        texts = tuple(text for key in keys if (text := own.get(key) or by_program.get(key, "")))
        rows.append(PhraseRow(phrase, texts, any(key in own for key in keys)))
    return rows


class PhraseForm(forms.Form):
    """What is said for a phrase, in as many forms as the language has for what counts."""

    def __init__(self, data: object, *, phrase: Phrase, code: str, studio: Profile) -> None:
        self.phrase, self.code = phrase, code
        self.shapes = forms_of(phrase, code)
        own, by_program = own_words(studio).get(code, {}), brought(code)
        initial = {
            form: own.get((phrase.text, form)) or by_program.get((phrase.text, form), "")
            for form in self.shapes
        }
        super().__init__(data, initial=initial)  # type: ignore[arg-type]
        lines = {"rows": 2, "lang": code, "dir": "rtl" if is_right_to_left(code) else "ltr"}
        for form in self.shapes:
            label = language_name(code)
            if phrase.plural:
                label = f"{label}, for {examples(code)[form]}"
            self.fields[form] = forms.CharField(
                label=label,
                max_length=MOST_TEXT,
                required=False,
                help_text="Empty: as the program has it." if by_program else "Empty: in English.",
                widget=forms.Textarea(attrs=lines | {"autofocus": form == self.shapes[0]}),
            )

    def clean(self) -> dict[str, str]:
        super().clean()
        cleaned: dict[str, str] = {}
        for form in self.shapes:
            text = " ".join(NOT_TEXT.sub("", self.cleaned_data.get(form, "")).split())
            wanted = self.phrase.parameters
            # A form for one number alone may leave it out: "one piece".
            optional = {"count"} if is_exact(self.code, form) else set()
            missing = wanted - parameters(text) - optional
            strange = parameters(text) - wanted
            if text and missing:
                names = ", ".join(f"{{{name}}}" for name in sorted(missing))
                self.add_error(form, f"Keep {names}: what it stands for is written there.")
            if strange:
                names = ", ".join(f"{{{name}}}" for name in sorted(strange))
                self.add_error(form, f"Take out {names}: nothing is written there.")
            cleaned[form] = text
        return cleaned


@owner_only
def words(request: StudioRequest) -> HttpResponse:
    form = LanguageForm(sent(request))
    if request.method == "POST" and form.is_valid():
        code = form.cleaned_data["code"]
        entry = actions.add_language(code=code, by=request.user)
        _said(request, f"Papers can be in {language_name(code)}.", entry)
        return redirect("studio-words-in", code)
    context = {"tiles": tiles(request.studio), "form": form, "phrases": len(phrases())}
    return render(request, "shop/words/words.html", context)


@owner_only
@require_GET
def words_in(request: StudioRequest, code: str) -> HttpResponse:
    """The phrases of one language, those that are typed, and the little claim ticket."""
    tile = _tile(request, code, english=True)
    typed = request.GET.get("q", "")[:200].strip()
    rows = [row for row in rows_of(code, request.studio) if row.matches(typed)]
    places = [(place, list(of)) for place, of in groupby(rows, key=lambda row: row.phrase.place)]
    said = words_for(code, request.studio)
    context = {
        "tile": tile, "typed": typed, "places": places, "phrases": len(phrases()),
        "sample": Sample(said, request.studio.currency), "words": said,
        "rtl": is_right_to_left(code),
    }  # fmt: skip
    return render(request, "shop/words/language.html", context)


@owner_only
def words_phrase(request: StudioRequest, code: str, key: str) -> HttpResponse:
    """One phrase, to change; also as the part that takes the place of its row."""
    _tile(request, code, english=True)
    phrase = next((phrase for phrase in offered(code) if key_of(phrase) == key), None)
    if phrase is None:
        raise Http404
    form = PhraseForm(sent(request), phrase=phrase, code=code, studio=request.studio)
    if request.method == "POST" and form.is_valid():
        entry = actions.change_phrase(
            code=code, phrase=phrase, texts=form.cleaned_data, by=request.user
        )
        if entry:
            _said(request, f"“{phrase.text}” changed.", entry, code)
        return redirect(f"{reverse('studio-words-in', args=[code])}#phrase-{key}")
    context = {"form": form, "phrase": phrase, "code": code, "key": key}
    context["language"] = language_name(code)
    part = request.htmx and request.method == "GET"
    template = "shop/words/_phrase.html" if part else "shop/words/phrase.html"
    return render(request, template, context)


@owner_only
@require_POST
def words_checked(request: StudioRequest, code: str) -> HttpResponse:
    _tile(request, code)
    entry = actions.check_language(code=code, by=request.user)
    _said(request, f"{language_name(code)}: checked by you today.", entry, code)
    return redirect("studio-words-in", code)


def _tile(request: StudioRequest, code: str, *, english: bool = False) -> LanguageTile:
    tile = next((it for it in tiles(request.studio) if it.code == code), None)
    if tile is None or (tile.is_english and not english):
        raise Http404
    return tile


def _said(request: StudioRequest, words: str, entry: Entry | None, code: str = "") -> None:
    back = reverse("studio-words-in", args=[code]) if code else reverse("studio-words")
    if entry:
        say(request, words, undo=reverse("studio-undo"), entry=entry.pk, back=back)
    else:
        say(request, words)
