"""How many text messages a text is, by the letters it has.

3GPP TS 23.038 (first GSM 03.38): where each letter is in the default alphabet (table 6.2.1), with
those of its extension (table 6.2.1.1) counting twice, a message holds 160 of them; else it goes out
in UCS-2 and holds 70 units of 16 bits. A longer text is cut into parts of 153 and 67, since each
has to say which part it is (TS 23.040, 9.2.3.24.1); no letter is cut in two.
"""

from dataclasses import dataclass

DEFAULT = frozenset(
    "@£$¥èéùìòÇ\nØø\rÅåΔ_ΦΓΛΩΠΨΣΘΞÆæßÉ !\"#¤%&'()*+,-./0123456789:;<=>?¡ABCDEFGHIJKLMNOPQRSTUVWXYZ"
    "ÄÖÑÜ§¿abcdefghijklmnopqrstuvwxyzäöñüà"
)
EXTENSION = frozenset("\f^{}\\[~]|€")


@dataclass(frozen=True)
class TextLength:
    """``used`` counts letters of the alphabet that is needed; ``room`` is what the parts hold."""

    used: int
    parts: int
    room: int
    narrow: bool

    @property
    def left(self) -> int:
        return self.room - self.used


def length_of(text: str) -> TextLength:
    """An empty text is one message with nothing in it. Time grows with the length."""
    narrow = all(letter in DEFAULT or letter in EXTENSION for letter in text)
    whole, part = (160, 153) if narrow else (70, 67)
    sizes = [_size(letter, narrow) for letter in text]
    used = sum(sizes)
    if used <= whole:
        return TextLength(used, 1, whole, narrow)
    parts, filled, lost = 1, 0, 0
    for size in sizes:
        if filled + size > part:
            lost += part - filled
            parts, filled = parts + 1, 0
        filled += size
    return TextLength(used + lost, parts, parts * part, narrow)


def _size(letter: str, narrow: bool) -> int:
    if narrow:
        return 2 if letter in EXTENSION else 1
    return 2 if ord(letter) > 0xFFFF else 1
