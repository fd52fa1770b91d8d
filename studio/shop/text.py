"""How text is found and how it is set: names and phone numbers are folded, so that they are found
however they are typed; no line breaks within a figure, a day or a number, on paper and pages."""

import re
import unicodedata
from functools import lru_cache

from babel import Locale

# Letters that Unicode does not take apart into a base letter and a mark.
PLAIN = str.maketrans(
    {"ß": "ss", "ø": "o", "đ": "d", "ł": "l", "æ": "ae", "œ": "oe", "\u0131": "i"}
)

# Spaces at which no line may break: before a unit, between the parts of a length in fractions or of
# a duration, and within a day as the locale writes it.
UNIT = r"(?:cm|mm|m|in|yd|kg|g|h|min)\b|%"
INSIDE = rf"(?<=[\d¼½¾⅛⅜⅝⅞]) (?={UNIT}|\d+/\d)|(?<=\d h) (?=\d\d\b)"
# Of a ticket, an invoice or a receipt; and an amount below zero, which breaks after its sign.
NUMBER = re.compile(r"\b[A-Z]?\d{2}-\d{4,6}\b|(?<![\w-])-[^\s\w<&]{1,3}\d[\d.,]*")
DIGIT = re.compile(r"\d")
# What is left as it is: what a form sends back, what is drawn, and what is no text.
LEFT = ("textarea", "select", "datalist", "svg", "script", "style", "title")
TAG = re.compile(
    "<[^>]*/>|" + "|".join(rf"<{name}\b.*?</{name}>" for name in LEFT) + "|<[^>]*>", re.DOTALL
)


def fold(text: str) -> str:
    """Lower case without accents, one space between words: ``José  ÓRLA`` is ``jose orla``."""
    apart = unicodedata.normalize("NFKD", text.casefold().translate(PLAIN))
    kept = "".join(letter for letter in apart if not unicodedata.combining(letter))
    return " ".join(kept.split())


def digits(text: str) -> str:
    """Only the decimal digits, as ASCII: ``+353 (0)1 555`` is ``35301555``."""
    return "".join(str(unicodedata.digit(letter)) for letter in text if letter.isdecimal())


@lru_cache(maxsize=8)
def spaces_inside(locale: str, *, paper: bool) -> re.Pattern[str]:
    """The spaces within the figures and the days of a text in the locale's language (CLDR).

    On a page a weekday may stand above its date: whoever reads letters of twice the size has no
    room for both in a line.
    """
    words = Locale.parse(locale)
    months, weekdays = (
        "|".join(
            re.escape(name.rstrip("."))
            for form in ("wide", "abbreviated")
            for name in names["format"][form].values()
        )
        for names in (words.months, words.days)
    )
    day = r"\d{1,2}\b(?!:)"
    date = rf"{day}|(?:{months})\b" if paper else rf"{day}(?!\.? (?:{months})\b)"
    return re.compile(
        rf"{INSIDE}|\b(?:{weekdays})\.?[,،]? (?={date})"
        rf"|(?<=\d)\.? (?=(?:{months})\b)|\b(?:{months})\.? (?={day}|\d{{4}}\b)"
        rf"|(?<=\d), (?=20\d\d\b)"
    )


def figures_whole(html: str, locale: str, *, paper: bool = False) -> str:
    """``html`` so that no line breaks within a figure, a day or a number of its texts.

    Tags, and what ``LEFT`` names, are passed over. A millisecond for the longest pages.
    """
    inside, ends, parts = spaces_inside(locale, paper=paper), 0, []
    for tag in TAG.finditer(html):
        parts += [_text_whole(html[ends : tag.start()], inside), tag[0]]
        ends = tag.end()
    return "".join([*parts, _text_whole(html[ends:], inside)])


def _text_whole(text: str, inside: re.Pattern[str]) -> str:
    if not DIGIT.search(text):
        return text
    text = inside.sub(lambda space: space[0].replace(" ", "\N{NO-BREAK SPACE}"), text)
    return NUMBER.sub(r'<span class="figure">\g<0></span>', text)
