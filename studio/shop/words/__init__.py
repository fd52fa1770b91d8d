"""The words of papers and messages that clients get, in the client's language.

One home for them: ``phrases.pot`` lists the English phrases, and beside it stand translations in
the format of GNU gettext (``de.po``, ...), read by Babel when they are first asked for. What the
owner wrote instead comes before them; what has no translation stays English.

A phrase is its English text, with parameters by name: ``words("Received {when}.", when="...")``.
One that counts has two, ``words("{count} piece", "{count} pieces", count=3)``; another language has
as many forms as CLDR gives whole numbers in it, in CLDR's order.
"""

import hashlib
import json
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from functools import lru_cache
from pathlib import Path
from typing import Any, ClassVar

from babel import Locale
from babel.core import UnknownLocaleError
from babel.messages.catalog import Message
from babel.messages.pofile import read_po
from babel.numbers import format_decimal
from django.utils.html import conditional_escape
from django.utils.safestring import SafeString, mark_safe

from studio.shop.locales import locale_name, show_clock, show_day, show_when
from studio.shop.models import PaperLanguage, PaperPhrase, Profile
from studio.shop.money import format_money

HERE = Path(__file__).parent
ENGLISH = "en"
CHANGED = ("Messages", "Notice and page of a client")
"""The places of phrases that the owner may also change in English."""
GARMENTS = "Garments and colours"  # as ``phrases.pot`` calls the place of these
WORK_ON_A_PIECE = re.compile(r"([A-Z]+) (.+?): (.+)")
PARAMETER = re.compile(r"\{(\w+)\}")
FORMS = ("zero", "one", "two", "few", "many", "other")  # in CLDR's order
REVERSE_CHARGE = "Reverse charge"  # Directive 2006/112/EC, Article 226, point 11a
ONLY = "other"
"""The form of what does not count, and the last of what does."""
NAME = "name"
"""Stands in the place of a plural form where the phrase is a name of the owner's own."""
COUNTED = 200
"""Up to here every form is asked for by some number of pieces, days or garments."""
LONG_TEXT = 60
"""Letters up to which a text of the owner's stands for itself; see ``key_of_text``."""
Forms = Mapping[tuple[str, str], str]
"""Texts by their English phrase and the plural form."""


@dataclass(frozen=True)
class Phrase:
    """One English phrase; ``plural`` where it counts, ``place`` is the kind of paper it is on."""

    text: str
    plural: str
    place: str

    @property
    def parameters(self) -> frozenset[str]:
        return parameters(self.plural or self.text)


def is_thing(name: str) -> bool:
    """Whether it is a kind of garment or a colour of the program's own lists."""
    phrase = phrases().get(name[:1].lower() + name[1:])
    return phrase is not None and phrase.place == GARMENTS


def key_of_text(text: str) -> str:
    """What stands for a text of the owner's, such as the terms: a paper that was agreed under an
    earlier one goes on being said as that one was."""
    if len(text) <= LONG_TEXT:
        return text
    return f"text {hashlib.sha256(text.encode()).hexdigest()}"


def parameters(text: str) -> frozenset[str]:
    return frozenset(PARAMETER.findall(text))


@lru_cache
def phrases() -> dict[str, Phrase]:
    """All phrases in the order of the papers, by their English text."""
    with (HERE / "phrases.pot").open("rb") as file:
        catalogue = read_po(file)
    found = {}
    for message in catalogue:
        if message.id:
            text, plural = _ids(message)
            found[text] = Phrase(text, plural, " ".join(message.auto_comments))
    return found


@lru_cache
def provided() -> tuple[str, ...]:
    """The codes of the languages that the program brings words in."""
    return (ENGLISH, *sorted(path.stem for path in HERE.glob("*.po")))


@lru_cache
def translated(code: str) -> Forms:
    """What the program brings in a language; empty for one of which it knows nothing."""
    path = HERE / f"{code}.po"
    if code not in provided() or not path.exists():
        return {}
    with path.open("rb") as file:
        catalogue = read_po(file, locale=code)
    texts: dict[tuple[str, str], str] = {}
    for message in catalogue:
        phrase, plural = _ids(message)
        if plural:
            each = zip(forms(code), message.string or (), strict=True)
            texts |= {(phrase, form): text for form, text in each}
        elif phrase:
            texts[phrase, ONLY] = str(message.string)
    return texts


def _ids(message: Message) -> tuple[str, str]:
    """The English phrase, and how it is said of several, if it counts."""
    if isinstance(message.id, str):
        return message.id, ""
    one, several = message.id
    return str(one), str(several)


@lru_cache
def forms(code: str) -> tuple[str, ...]:
    """The plural forms that whole numbers ask for in a language (CLDR), in CLDR's order."""
    rule = locale_of(code).plural_form
    asked = {rule(number) for number in range(COUNTED)}
    return tuple(form for form in FORMS if form in asked)


@lru_cache
def examples(code: str) -> dict[str, int]:
    """A number for each plural form: the smallest that asks for it, from 1."""
    rule = locale_of(code).plural_form
    found: dict[str, int] = {}
    for number in [*range(1, COUNTED), 0]:
        found.setdefault(rule(number), number)
    return found


@lru_cache
def is_exact(code: str, form: str) -> bool:
    """Whether a plural form is asked for by one number alone."""
    rule = locale_of(code).plural_form
    return sum(rule(number) == form for number in range(COUNTED)) == 1


def locale_of(code: str) -> Locale:
    """Raises LookupError for what is no language of the locale data."""
    try:
        return Locale.parse(code, sep="-")
    except (UnknownLocaleError, ValueError) as error:
        raise LookupError(
            f"“{code}” is not the code of a language, such as de or pt-BR."
        ) from error


@lru_cache
def _codes() -> dict[str, str]:
    """Of two languages with the same English name the first; the program's by their own names."""
    names = [(name.casefold(), code) for code, name in Locale(ENGLISH).languages.items()]
    return dict(reversed(names)) | {own_name(code).casefold(): code for code in provided()}


def language_code(named: str) -> str:
    """The code of a language given by code or English name, or its own; empty for nothing.

    Raises LookupError.
    """
    typed = named.strip()
    code = _codes().get(typed.casefold(), typed)
    return str(locale_of(code)).replace("_", "-") if code else ""


@lru_cache
def language_name(code: str) -> str:
    """In English: ``German``."""
    return str(locale_of(code).get_display_name("en") or code)


@lru_cache
def own_name(code: str) -> str:
    """As those say it who speak it: ``Deutsch``."""
    name = str(locale_of(code).get_display_name() or code)
    return name[:1].upper() + name[1:]


def is_right_to_left(code: str) -> bool:
    return bool(locale_of(code).text_direction == "rtl")


@dataclass(frozen=True)
class Words:
    """The words of one language.

    ``locale`` writes its figures and days, ``tag`` is the BCP 47 tag, ``own`` the owner's words.
    """

    do_not_call_in_templates: ClassVar[bool] = True  # as Django would

    code: str = ENGLISH
    locale: str = ENGLISH
    tag: str = ENGLISH
    own: Forms = field(default_factory=dict)

    def __call__(self, phrase: str, plural: str = "", /, **values: Any) -> str:
        """The phrase with its values; numbers are written as the locale does."""
        shown = {name: self._shown(value) for name, value in values.items()}
        text = self.text(phrase, plural, values.get("count"))
        return PARAMETER.sub(lambda name: shown[name[1]], text)

    def html(self, phrase: str, plural: str = "", /, **values: Any) -> SafeString:
        """The same for a template: everything is escaped but what is known to be safe."""
        shown = {name: conditional_escape(self._shown(value)) for name, value in values.items()}
        text = conditional_escape(self.text(phrase, plural, values.get("count")))
        return mark_safe(PARAMETER.sub(lambda name: shown[name[1]], text))  # noqa: S308 -- both are escaped

    def text(self, phrase: str, plural: str = "", count: int | None = None) -> str:
        """The phrase as it stands in the catalogue, for a ``count`` where it has one."""
        form = ONLY
        if plural and count is not None:
            form = locale_of(self.code).plural_form(count)
        wanted = [(phrase, form)] if form == ONLY else [(phrase, form), (phrase, ONLY)]
        for texts in (self.own, translated(self.code)):
            for key in wanted:
                if texts.get(key):
                    return texts[key]
        return plural if plural and count != 1 else phrase

    def _shown(self, value: Any) -> Any:
        return self.number(value) if isinstance(value, int) else value

    def number(self, number: int) -> str:
        return str(format_decimal(number, locale=self.locale))

    def choice(self, label: object) -> str:
        """One of a few, such as *cash*, within a line."""
        name = str(label)
        return self(name[:1].lower() + name[1:])

    def heading(self, label: object) -> str:
        """One of a few at the beginning of a line."""
        text = self.choice(label)
        return text[:1].upper() + text[1:]

    def named(self, name: str) -> str:
        """What is done, or a part of a price, such as *rush*: as the owner says it in this
        language, else as the program does; other names of the owner's stay as they were typed."""
        return self._own_name(name) or (self(name) if name in phrases() else name)

    def _own_name(self, name: str) -> str:
        """Also of a kind of garment within a line, where its first letter is small."""
        return self.own.get((name, NAME)) or self.own.get((name[:1].upper() + name[1:], NAME), "")

    def written(self, text: str) -> str:
        """What the owner wrote for papers, such as the terms, a sentence or a tax's name: as the
        owner says it in this language, else as it stands."""
        return self.own.get((key_of_text(text), NAME)) or text

    def rate(self, rate: Mapping[str, Any]) -> dict[str, Any]:
        """A tax of a paper; where its sentence is the law's *Reverse charge*, it is the law's in
        this language too."""
        said = {"name": self.written(rate["name"])}
        if sentence := rate.get("sentence") or "":
            own = self.written(sentence)
            plain = sentence.strip().rstrip(".").casefold()
            is_law = own == sentence and plain == REVERSE_CHARGE.casefold()
            said["sentence"] = self(REVERSE_CHARGE) if is_law else own
        return {**rate, **said}

    def thing(self, name: str) -> str:
        """A kind of garment or a colour: the owner's own, or of the program's lists."""
        if own := self._own_name(name):
            return own
        if self.is_english or not is_thing(name):
            return name
        return self.heading(name) if name[:1].isupper() else self.choice(name)

    def garment(self, named: str) -> str:
        """``A \N{MIDDLE DOT} trousers, black`` in these words, so far as it is of those lists."""
        letter, dot, rest = named.rpartition(" \N{MIDDLE DOT} ")
        parts = rest.split(", ")
        whole = [", ".join(parts[:at]) for at in range(len(parts) + 1)]
        kinds = [
            at
            for at in range(len(parts), 0, -1)
            if is_thing(whole[at]) or self._own_name(whole[at])
        ]
        cut = kinds[0] if kinds else max(len(parts) - 1, 1)
        both = (", ".join(part) for part in (parts[:cut], parts[cut:]))
        return letter + dot + ", ".join(self.thing(part) for part in both if part)

    def work(self, name: str) -> str:
        """``A Trousers: Hem`` or ``Discount``, the program's own names in these words."""
        if piece := WORK_ON_A_PIECE.fullmatch(name):
            letter, kind, work = piece.groups()
            return f"{letter} {self.thing(kind)}: {self.named(work)}"
        lower = name[:1].lower() + name[1:]
        shown = self._own_name(name) or self.named(lower)
        return name if shown == lower else shown[:1].upper() + shown[1:]

    def money(self, minor: int, currency: str) -> str:
        return format_money(minor, currency, self.locale)

    def day(self, day: date, *, year: bool = True) -> str:
        return show_day(day, self.locale, year=year)

    def clock(self, at: datetime) -> str:
        return show_clock(at, self.locale)

    def when(self, at: datetime) -> str:
        return show_when(at, self.locale)

    def country(self, code: str) -> str:
        return str(locale_of(self.code).territories.get(code, code))

    @property
    def key(self) -> str:
        """Stands for the language and what the owner wrote in it; empty for English."""
        if self.is_english and not self.own:
            return ""
        own = sorted([*key, text] for key, text in self.own.items())
        digest = hashlib.sha256(json.dumps(own).encode()).hexdigest() if own else ""
        return f"{self.code} {self.locale} {digest}".strip()

    @property
    def right_to_left(self) -> bool:
        return is_right_to_left(self.code)

    @property
    def is_english(self) -> bool:
        return self.code == ENGLISH


def words_for(language: str, studio: Profile) -> Words:
    """The words for a client who has this language, or none: then those of the studio.

    The owner's own are read once for each studio that was loaded: one query, none for English in
    which the owner has changed nothing.
    """
    if not language:
        return Words(studio.language, studio.locale, studio.language_tag, own_english(studio))
    return _words(language, studio.country, studio)


def frozen_words(data: Mapping[str, Any], studio: Profile) -> Words:
    """The words of what was agreed, invoiced or paid: in the language that it keeps."""
    seller = data["studio"]
    language = data["client"].get("language")
    if not language:
        return Words(locale=seller["locale"], tag=seller["language"])
    return _words(language, seller["country"], studio)


def _words(code: str, country: str, studio: Profile) -> Words:
    locale = locale_of(code)
    name = str(locale) if locale.territory else locale_name(code, country)
    if code == ENGLISH:
        # What the studio writes in another language has names in English; phrases are English.
        own = {} if studio.language == ENGLISH else own_words(studio).get(code, {})
        names = {key: text for key, text in own.items() if key[1] == NAME}
        return Words(code, name, f"{code}-{country}", {**names, **own_english(studio)})
    return Words(code, name, code, own_words(studio).get(code, {}))


def own_english(studio: Profile) -> Forms:
    """What the owner wrote instead in English, of what can be changed there: ``CHANGED``."""
    if not studio.own_english:
        return {}
    own = own_words(studio).get(ENGLISH, {})
    return {key: text for key, text in own.items() if key[1] != NAME}


def brought(code: str) -> Forms:
    """What the program says in a language; in English that is the phrase itself."""
    if code != ENGLISH:
        return translated(code)
    return {
        (phrase.text, form): phrase.plural if phrase.plural and form == ONLY else phrase.text
        for phrase in phrases().values()
        for form in forms_of(phrase, code)
    }


def offered(code: str) -> list[Phrase]:
    """The phrases that the owner may say otherwise: in English only what no paper keeps."""
    return [phrase for phrase in phrases().values() if code != ENGLISH or phrase.place in CHANGED]


def own_words(studio: Profile) -> dict[str, dict[tuple[str, str], str]]:
    """What the owner wrote, by the code of the language."""
    kept: dict[str, dict[tuple[str, str], str]] | None = getattr(studio, "_own_words", None)
    if kept is None:
        kept = {}
        for phrase in PaperPhrase.objects.all():
            kept.setdefault(phrase.code, {})[phrase.phrase, phrase.form] = phrase.text
        studio._own_words = kept  # type: ignore[attr-defined]  # noqa: SLF001 -- kept with the row for one answer
    return kept


def said_in(code: str, own: Forms) -> int:
    """How many of the phrases are said in a language, in all their forms."""
    texts = {**translated(code), **own}
    return sum(
        all(texts.get((phrase.text, form)) for form in forms_of(phrase, code))
        for phrase in phrases().values()
    )


def forms_of(phrase: Phrase, code: str) -> tuple[str, ...]:
    return forms(code) if phrase.plural else (ONLY,)


def languages() -> list[str]:
    """The codes of all that a client can have: the program's, then the owner's. One query."""
    added = PaperLanguage.objects.values_list("code", flat=True)
    return list(dict.fromkeys([*provided(), *added]))
