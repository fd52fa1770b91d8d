"""Cords and drawstrings in children's clothes, by the two published rules.

United States: 16 CFR 1120 with ASTM F1816, as the safety commission's own answers give it (read).
Europe: EN 14682, as authorities and summaries give it; the lengths are those of its 2007 text.
"""

from decimal import Decimal
from typing import Literal

from clients.cautions.caution import LOCAL, READ, Caution

Place = Literal["neck", "waist"]
"""``neck`` is the hood and neck, ``waist`` the waist and lower edge."""

US_SMALLEST = 2  # 2T
US_NECK_LARGEST = 12
US_WAIST_LARGEST = 16
US_FREE_END = 3 * Decimal("25.4")  # mm outside the channel, the garment at its full width

EU_YOUNG_YEARS = 7  # a young child is younger than this, or at most 134 cm tall
EU_OLDEST_YEARS = 14
EU_FREE_END = Decimal(140)  # mm at full width, each end

CORDS = Caution(
    key="cords",
    title="Cords in children's clothes",
    sentences=(
        (
            "Cords at the hood and neck have strangled children. In the United States none may be "
            "there in sizes 2T to 12, and at the waist or lower edge in sizes 2T to 16 at most 3 "
            "in may hang out at each end, without toggles or knots, bar-tacked if the cord is one "
            "piece (16 CFR 1120)."
        ),
        (
            "In Europe children under 7 have no cord at hood or neck and no halter tie; up to 14 "
            "no free ends there, and short ones at the waist (EN 14682)."
        ),
    ),
    advice=(
        "Put in no cord at hood or neck, and none longer than the rule allows; offer elastic, a "
        f"snap or a hook instead. {LOCAL}"
    ),
    source="16 CFR 1120 and ASTM F1816; EN 14682",
    label=READ,
)
CORD_HINT = Caution(
    key="cord_hint",
    title="Is it for a child?",
    sentences=("Cords in children's clothes are limited, most of all at the hood and neck.",),
    advice="If a child will wear it, look at the cautions first.",
    source=CORDS.source,
    label=READ,
    safety=False,
)


def us_size(size: str) -> int | None:
    """``2T`` is 2 and ``10`` is 10; None for what is no child's size in numbers."""
    bare = size.strip().upper().removesuffix("T").removesuffix("X")
    return int(bare) if bare.isascii() and bare.isdecimal() and len(bare) < 3 else None


def us_cord(
    *,
    place: Place,
    size: int,
    end_mm: Decimal,
    loose_end: bool = False,
    tacked: bool = True,
) -> tuple[str, ...]:
    """What the United States' rule would find wrong with a cord; nothing where it is silent.

    ``size`` is the child's size (2 for 2T), ``end_mm`` what hangs out of the channel at each end
    with the garment at its full width. ``loose_end`` is a toggle or knot at a free end; ``tacked``
    says that a cord in one piece is bar-tacked.
    """
    if place == "neck":
        inside = US_SMALLEST <= size <= US_NECK_LARGEST
        return ("No cord at the hood or neck in sizes 2T to 12.",) if inside else ()
    if not US_SMALLEST <= size <= US_WAIST_LARGEST:
        return ()
    wrong = {
        "At most 3 in (7.6 cm) may hang out at each end.": end_mm > US_FREE_END,
        "No toggle or knot at a free end.": loose_end,
        "A cord in one piece is bar-tacked to its channel.": not tacked,
    }
    return tuple(words for words, found in wrong.items() if found)


def eu_cord(*, place: Place, years: int, end_mm: Decimal) -> tuple[str, ...]:
    """What EN 14682 would find wrong with a cord; nothing where it is silent.

    ``years`` is the age of the child, ``end_mm`` the free end with the garment at its full width;
    0 where there is none.
    """
    if years > EU_OLDEST_YEARS:
        return ()
    if place == "neck":
        if years < EU_YOUNG_YEARS:
            return ("No cord at the hood or neck for a child under 7.",)
        return ("No free ends at the hood or neck up to 14 years.",) if end_mm > 0 else ()
    return ("At most 14 cm may hang out at each end.",) if end_mm > EU_FREE_END else ()
