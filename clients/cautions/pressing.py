"""How hot a garment may be pressed: by the iron on its care label, and by its fibres.

Dots are those of ISO 3758 as the GINETEX table gives them: the highest temperature of the sole
plate. For mixes the fibre that stands the least decides; of label and fibre the lower one.
"""

import re
from dataclasses import dataclass

DEGREES = {1: 110, 2: 150, 3: 200}
"""Dots to degrees Celsius, GINETEX care table (read). One dot is without steam."""
IRON_DOTS = {"none": 0, "1": 1, "2": 2, "3": 3}

# As a trade page quotes it: acrylic, polyamide, acetate one; wool, silk, polyester, viscose two;
# cotton and linen three. The other names are common practice for the fibres nearest to them.
FIBRES = {
    1: "acrylic acetate triacetate polyamide polyamid nylon elastane elastan spandex modacrylic "
    "polypropylene polyacrylic",
    2: "wool lambswool merino cashmere mohair alpaca angora silk polyester viscose viskose rayon "
    "modal lyocell cupro bamboo",
    3: "cotton linen flax hemp ramie",
}
DOTS = {name: dots for dots, names in FIBRES.items() for name in names.split()}
PLAIN_WORDS = {
    "and", "with", "of", "the", "organic", "recycled", "virgin", "new", "pure", "other", "shell",
    "lining", "outer", "inner", "main", "fabric", "body", "trim", "fibre", "fibres", "fiber",
    "fibers", "from", "in", "mix", "blend", "combed", "extra", "fine",
}  # fmt: skip
WORD = re.compile(r"[^\W\d_]+")


@dataclass(frozen=True)
class Press:
    """The limit of one garment. ``dots`` 0 is not to be ironed at all.

    ``because`` says in words what decided, and ``unknown`` names what was not understood.
    """

    dots: int
    because: str
    unknown: tuple[str, ...] = ()

    @property
    def degrees(self) -> int | None:
        """Degrees Celsius of the sole plate at most; None where it is not to be ironed."""
        return DEGREES.get(self.dots)

    @property
    def words(self) -> str:
        if not self.dots:
            limit = "Do not iron"
        else:
            steam = ", no steam" if self.dots == 1 else ""
            limit = (
                f"Press at most {self.degrees} °C ({self.dots} dot{'s'[: self.dots > 1]}{steam})"
            )
        unsure = f"; try {', '.join(self.unknown)} on a hidden place first" if self.unknown else ""
        return f"{limit}: {self.because}{unsure}"


def read_fibres(text: str) -> tuple[list[str], list[str]]:
    """The fibres that a label names, known and unknown, each once and in small letters.

    Understood generously: ``80 % wool 20 % polyamide``, ``Wool 80, nylon 20``, ``PURE NEW WOOL``.
    """
    words = [word.casefold() for word in WORD.findall(text)]
    named = dict.fromkeys(word for word in words if word not in PLAIN_WORDS)
    return [word for word in named if word in DOTS], [word for word in named if word not in DOTS]


def press_limit(*, iron: str, fibre: str) -> Press | None:
    """The lower of what the label's iron and its fibres allow; None while nothing is known.

    ``iron`` is ``none``, ``1``, ``2``, ``3`` or empty where no label was read; ``fibre`` is the
    composition as typed.
    """
    known, unknown = read_fibres(fibre)
    limits = [(IRON_DOTS[iron], "the iron on its label")] if iron in IRON_DOTS else []
    if known:
        weakest = min(known, key=DOTS.__getitem__)
        others = f", the least of {len(known)} fibres" if len(known) > 1 else ""
        limits.append((DOTS[weakest], f"{weakest}{others}"))
    if not limits:
        return None
    dots, because = min(limits, key=lambda limit: limit[0])
    return Press(dots, because, tuple(unknown))
