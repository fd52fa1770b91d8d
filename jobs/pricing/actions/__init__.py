"""What the owner does to the price list: one function, one transaction each. No ticket changes."""

from jobs.pricing.actions.starting import load_starting_list, reckon_prices

__all__ = ["load_starting_list", "reckon_prices"]
