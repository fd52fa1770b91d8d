"""Which cautions a garment calls for, by its kind and by what is to be done with it.

Cords in children's clothes, United States: 16 CFR 1120 with ASTM F1816, as the safety commission's
own answers give it (read). Europe: EN 14682, as authorities and summaries give it; the lengths are
those of its 2007 text.

Children's night clothes: 16 CFR 1615 (to size 6X) and 1616 (sizes 7 to 14), as read. An infant
garment is labelled for nine months or less and no longer than the rule prints, once in centimetres
and once in inches. The two are no exact conversions of each other, so the stricter one holds here.

New or worn: published rules on taxing alterations as they were found, no legal advice and no rates:
those are the studio's own settings. A place that is not listed gets the general note.
"""

import csv
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Literal

READ = "read in the source"
QUOTED = "as a trade page quotes it"

LOCAL = "Local rules and licensed practice come before this note."


@dataclass(frozen=True)
class Caution:
    """A caution in plain words. It never decides; whoever reads it does.

    ``key`` is what is kept when somebody has read it, at most 24 letters. ``advice`` is what to do,
    ``source`` where the facts come from and ``label`` how well that is known. ``safety`` cautions
    are read once for each garment and stand on the work sheet; the others are passing notes.
    """

    key: str
    title: str
    sentences: tuple[str, ...]
    advice: str
    source: str
    label: str
    safety: bool = True


def _read() -> Iterator[tuple[Caution, list[str]]]:
    """What is published, and the concerns for which it is called: ``data/cautions.csv``."""
    lines = (Path(__file__).parent / "data" / "cautions.csv").read_text("utf-8").splitlines()
    for row in csv.DictReader(line for line in lines if not line.startswith("#")):
        sentences = tuple(row[part] for part in ("says", "and") if row[part])
        advice, safety = row["advice"].replace("{LOCAL}", LOCAL), row["safety"] == "yes"
        words = (row["key"], row["title"], sentences, advice, row["source"], row["label"])
        yield Caution(*words, safety=safety), row["concerns"].split()


PUBLISHED = tuple(_read())
SAFETY = {caution.key: caution for caution, _ in PUBLISHED if caution.safety}
BY_CONCERN = {
    concern: tuple(caution for caution, concerns in PUBLISHED if concern in concerns)
    for _, named in PUBLISHED
    for concern in named
}
"""Keys are the values of ``jobs.pricing.models.Concern``."""
CORD_HINT = next(caution for caution, _ in PUBLISHED if caution.key == "cord_hint")

Place = Literal["neck", "waist"]
"""``neck`` is the hood and neck, ``waist`` the waist and lower edge."""

US_SMALLEST = 2  # 2T
US_NECK_LARGEST = 12
US_WAIST_LARGEST = 16
US_FREE_END = 3 * Decimal("25.4")  # mm outside the channel, the garment at its full width

EU_YOUNG_YEARS = 7  # a young child is younger than this, or at most 134 cm tall
EU_OLDEST_YEARS = 14
EU_FREE_END = Decimal(140)  # mm at full width, each end


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
    return tuple(words for words, broken in wrong.items() if broken)


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


INCH = Decimal("25.4")
ONE_PIECE = min(Decimal(648), Decimal("25.75") * INCH)
"""Millimetres, 16 CFR 1615.1(c): 64.8 cm or 25.75 in."""
TWO_PIECE = min(Decimal(400), Decimal("15.75") * INCH)
"""Millimetres, 16 CFR 1615.1(c): 40 cm or 15.75 in, for each piece."""
OLDEST_MONTHS = 9


def infant_exempt(*, length_mm: Decimal, months: int, two_piece: bool = False) -> bool:
    """Whether an infant's garment is short enough to need no flame test in the United States.

    ``length_mm`` is the whole length of a one-piece, or of the longer piece of two; ``months`` the
    oldest age on its label.
    """
    longest = TWO_PIECE if two_piece else ONE_PIECE
    return months <= OLDEST_MONTHS and length_mm <= longest


ASK = "Look at the taxes under Settings, and ask your tax office. This is no legal advice."


@dataclass(frozen=True)
class TaxPlace:
    """Where the studio is taxed: a country's two letters and the state or county as written."""

    country: str
    region: str = ""


@dataclass(frozen=True)
class Rule:
    """Whether altering a garment is taxed in one state of the United States."""

    state: str
    code: str
    new: bool
    worn: bool
    source: str
    label: str = READ


RULES = (
    Rule("California", "CA", True, False, "Regulation 1524"),
    Rule("Texas", "TX", True, True, "34 TAC 3.310"),
    Rule("Minnesota", "MN", True, True, "Sales Tax Fact Sheet 120"),
    Rule("New Jersey", "NJ", False, False, "N.J.A.C. 18:24-6.8"),
    Rule("New York", "NY", False, False, "Tax Law 1105(c)(3), TSB-A-16(29)S", QUOTED),
)
IRELAND = (
    "In Ireland modifying used clothing carries the reduced rate; making up from the customer's "
    "cloth does not."
)
GENERAL = "In some places altering a new garment is taxed otherwise than altering a worn one."


def rule_of(region: str) -> Rule | None:
    """The rule of a state, by its name or its two letters."""
    wanted = region.strip().casefold()
    return next(
        (rule for rule in RULES if wanted in {rule.state.casefold(), rule.code.casefold()}), None
    )


def new_garment(place: TaxPlace) -> Caution:
    """The note for a garment that was never worn, with what is published of the place."""
    rule = rule_of(place.region) if place.country == "US" else None
    if rule:
        words, source, label = _of_state(rule), rule.source, rule.label
    elif place.country == "IE":
        words, source, label = IRELAND, "VATCA 2010, Schedule 3, paragraph 20(1)(b)", READ
    else:
        words, source, label = GENERAL, "California Regulation 1524; VATCA 2010 of Ireland", READ
    return Caution("new_tax", "New, never worn", (words,), ASK, source, label, safety=False)


def _of_state(rule: Rule) -> str:
    if rule.new == rule.worn:
        return f"{rule.state}: altering clothing is {'' if rule.new else 'not '}taxed, new or worn."
    return f"{rule.state}: altering new clothing is taxed, altering worn clothing is not."


CORD_WORDS = re.compile(r"\b(draw-?strings?|draw-?cords?|cords?)\b", re.IGNORECASE)


def cautions_for(
    *, concern: str, works: Iterable[str] = (), new: bool = False, taxed_at: TaxPlace | None = None
) -> list[Caution]:
    """The cautions of one garment, those about safety first.

    ``concern`` is that of its kind, or empty; ``works`` are the names of what is to be done, in
    which a cord only gives a hint, since a name cannot tell who will wear it. ``new`` is a garment
    that was never worn, and ``taxed_at`` where the studio charges tax, None where it does not.
    """
    cautions = list(BY_CONCERN.get(concern, ()))
    if not cautions and any(CORD_WORDS.search(work) for work in works):
        cautions.append(CORD_HINT)
    if new and taxed_at:
        cautions.append(new_garment(taxed_at))
    return cautions
