"""How text is found and how it is set: names and phone numbers are folded, so that they are found
however they are typed; no line breaks within a figure, a day or a number, on paper and pages."""

import re
import unicodedata

# Letters that Unicode does not take apart into a base letter and a mark.
PLAIN = str.maketrans(
    {"ß": "ss", "ø": "o", "đ": "d", "ł": "l", "æ": "ae", "œ": "oe", "\u0131": "i"}
)

# Spaces at which no line may break: before a unit, between the parts of a length in fractions or of
# a duration, and within a day as the locale writes it.
UNIT = r"(?:cm|mm|m|in|yd|kg|g|h|min)\b|%"
INSIDE = re.compile(
    rf"(?<=[\d¼½¾⅛⅜⅝⅞]) (?={UNIT}|\d+/\d)|(?<=\d h) (?=\d\d\b)"
    r"|\b[^\W\d]{2,4}[.,]? \d{1,2}\.? [^\W\d]{3,5}\b(?: \d{4}\b)?"
    r"|\b[^\W\d]{2,4}, [^\W\d]{3,5} \d{1,2}\b(?:, \d{4}\b)?"
)
# Of a ticket, an invoice or a receipt; and an amount below zero, which breaks after its sign.
NUMBER = re.compile(r"\b[A-Z]?\d{2}-\d{4,6}\b|(?<![\w-])-[^\s\w<&]{1,3}\d[\d.,]*")
# What is left as it is: what a form sends back, what is drawn, and what is no text.
TAG_OR_TEXT = re.compile(
    r"(<(textarea|select|svg|script|style)\b.*?</\2>|<[^>]*>)|([^<]+)", re.DOTALL
)


def fold(text: str) -> str:
    """Lower case without accents, one space between words: ``José  ÓRLA`` is ``jose orla``."""
    apart = unicodedata.normalize("NFKD", text.casefold().translate(PLAIN))
    kept = "".join(letter for letter in apart if not unicodedata.combining(letter))
    return " ".join(kept.split())


def digits(text: str) -> str:
    """Only the decimal digits, as ASCII: ``+353 (0)1 555`` is ``35301555``."""
    return "".join(str(unicodedata.digit(letter)) for letter in text if letter.isdecimal())


def figures_whole(html: str) -> str:
    """``html`` so that no line breaks within a figure, a day or a number of its texts."""
    return TAG_OR_TEXT.sub(_text_whole, html)


def body_whole(html: str) -> str:
    """The same for the body of a whole document."""
    head, body, rest = html.partition("<body")
    return head + body + figures_whole(rest)


def _text_whole(part: re.Match[str]) -> str:
    if part[1]:
        return part[1]
    text = INSIDE.sub(lambda found: found[0].replace(" ", "\N{NO-BREAK SPACE}"), part[3])
    return NUMBER.sub(r'<span class="figure">\g<0></span>', text)
