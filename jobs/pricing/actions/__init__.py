"""What the owner does to the price list: one function, one transaction each. No ticket changes."""

from jobs.pricing.actions.editing import Entry, keep, keep_rules, move, remove
from jobs.pricing.actions.importing import bring_in
from jobs.pricing.actions.starting import STARTING_HOUR, load_starting_list, reckon_prices

__all__ = [
    "STARTING_HOUR",
    "Entry",
    "bring_in",
    "keep",
    "keep_rules",
    "load_starting_list",
    "move",
    "reckon_prices",
    "remove",
]
