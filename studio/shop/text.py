"""Folding of names and phone numbers, so that they are found however they are typed."""

import unicodedata

# Letters that Unicode does not take apart into a base letter and a mark.
PLAIN = str.maketrans(
    {"ß": "ss", "ø": "o", "đ": "d", "ł": "l", "æ": "ae", "œ": "oe", "\u0131": "i"}
)


def fold(text: str) -> str:
    """Lower case without accents, one space between words: ``José  ÓRLA`` is ``jose orla``."""
    apart = unicodedata.normalize("NFKD", text.casefold().translate(PLAIN))
    kept = "".join(letter for letter in apart if not unicodedata.combining(letter))
    return " ".join(kept.split())


def digits(text: str) -> str:
    """Only the decimal digits, as ASCII: ``+353 (0)1 555`` is ``35301555``."""
    return "".join(str(unicodedata.digit(letter)) for letter in text if letter.isdecimal())
