"""New or worn: where the tax on altering a garment is known to depend on it, or known not to.

Published rules as they were found, no legal advice and no rates: those are the studio's own
settings. A place that is not listed gets the general note.
"""

from dataclasses import dataclass

from clients.cautions.caution import QUOTED, READ, Caution

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
