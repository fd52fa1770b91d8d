"""Children's night clothes: what keeps an infant's garment out of the flammability tests.

16 CFR 1615 (to size 6X) and 1616 (sizes 7 to 14), as read. An infant garment is labelled for nine
months or less and no longer than the rule prints, once in centimetres and once in inches. The two
are no exact conversions of each other, so the stricter one holds here.
"""

from decimal import Decimal

from clients.cautions.caution import DERIVED, LOCAL, Caution

INCH = Decimal("25.4")
ONE_PIECE = min(Decimal(648), Decimal("25.75") * INCH)
"""Millimetres, 16 CFR 1615.1(c): 64.8 cm or 25.75 in."""
TWO_PIECE = min(Decimal(400), Decimal("15.75") * INCH)
"""Millimetres, 16 CFR 1615.1(c): 40 cm or 15.75 in, for each piece."""
OLDEST_MONTHS = 9

NIGHT = Caution(
    key="night",
    title="Children's night clothes",
    sentences=(
        (
            "In the United States night clothes and robes up to size 14 have to pass a flame test "
            "(16 CFR 1615 and 1616); only tight-fitting garments and small infants' garments need "
            "not."
        ),
        (
            "A tight-fitting pyjama that is let out is no longer tight-fitting, and may lose that "
            "exemption. Added lace, ribbon or another cloth may burn where the first did not."
        ),
    ),
    advice=(
        "Do not let it out or trim it without asking: take in, shorten and mend only, with the "
        f"cloth and thread it has. {LOCAL}"
    ),
    source="16 CFR 1615 and 1616; what letting out does is drawn from them",
    label=DERIVED,
)


def infant_exempt(*, length_mm: Decimal, months: int, two_piece: bool = False) -> bool:
    """Whether an infant's garment is short enough to need no flame test in the United States.

    ``length_mm`` is the whole length of a one-piece, or of the longer piece of two; ``months`` the
    oldest age on its label.
    """
    longest = TWO_PIECE if two_piece else ONE_PIECE
    return months <= OLDEST_MONTHS and length_mm <= longest
