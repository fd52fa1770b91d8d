"""The verbs of the house, and the sentences that are made of them when a page is read."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from string import Formatter
from typing import Any

from studio.shop.locales import show_clock, show_day, show_minutes, show_when
from studio.shop.models import Entry

Parameters = Mapping[str, Any]
"""What an entry tells beside its verb, as JSON carries it."""

MISSING = "…"

_verbs: dict[str, "Verb"] = {}


@dataclass(frozen=True)
class Verb:
    """Something that is done in the house, declared once.

    ``key`` is what the database keeps, such as ``ticket.tick``: it never changes. ``undo`` says
    whether there is a way back, ``money`` that helpers do not see it, ``stays`` which parameters
    remain when a client is erased.
    """

    key: str
    sentence: str | Callable[[Parameters, str], str]
    undo: bool = True
    money: bool = False
    stays: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.key in _verbs:
            raise ValueError(f"Two verbs have the key {self.key}.")
        _verbs[self.key] = self


def all_verbs() -> list[Verb]:
    """Every verb that the rooms have declared, by key."""
    return [_verbs[key] for key in sorted(_verbs)]


def verb_of(entry: Entry) -> Verb | None:
    """None for a verb that the program no longer has."""
    return _verbs.get(entry.verb)


def sentence(entry: Entry, locale: str) -> str:
    """What was done, for a reader. Never fails: what is not known is told as ``…``."""
    if entry.verb == UNDONE.key and entry.undoes:
        return f"Undone: {sentence(entry.undoes, locale)}"
    if (verb := verb_of(entry)) is None:
        return entry.verb
    try:
        if callable(verb.sentence):
            return verb.sentence(_Tolerant(entry.parameters), locale)
        return _Sentence(locale).vformat(verb.sentence, (), _Tolerant(entry.parameters))
    except (ArithmeticError, AttributeError, LookupError, TypeError, ValueError):
        return f"{entry.verb} {MISSING}"


def _day(value: str) -> date | datetime:
    return datetime.fromisoformat(value) if "T" in value else date.fromisoformat(value)


def _lower(value: Any, _locale: str) -> str:
    return str(value).lower()


def _list(value: Any, _locale: str) -> str:
    return ", ".join(map(str, value))


def _minutes(value: Any, _locale: str) -> str:
    return show_minutes(value)


CONVERSIONS: dict[str, Callable[[Any, str], str]] = {
    "when": lambda value, locale: show_when(datetime.fromisoformat(value), locale),
    "clock": lambda value, locale: show_clock(datetime.fromisoformat(value), locale),
    "day": lambda value, locale: show_day(_day(value), locale),
    "minutes": _minutes,
    "list": _list,
    "lower": _lower,
}
"""How a parameter is told: what stands after the colon in a sentence."""


class _Tolerant(dict[str, Any]):
    """Parameters of an older entry may lack what the sentence names today."""

    def __missing__(self, key: str) -> str:
        return MISSING


class _Sentence(Formatter):
    def __init__(self, locale: str) -> None:
        self.locale = locale

    def format_field(self, value: Any, format_spec: str) -> str:
        if value is None or value == MISSING:
            return MISSING
        if convert := CONVERSIONS.get(format_spec):
            return convert(value, self.locale)
        return str(value)


UNDONE = Verb("history.undone", f"Undone: {MISSING}", undo=False)
OLDER = Verb("history.older", "{words}", undo=False)
"""A sentence that an earlier version wrote down ready-made, in ``words``."""
