"""What is done to the price list, and the sentences that tell of it."""

from jobs.pricing.models import GarmentKind, Operation, PriceRules, Surcharge
from studio.shop.history import Verb
from studio.shop.history.recording import called
from studio.shop.history.verbs import Parameters
from studio.shop.money import format_money

MODELS = {model.__name__: model for model in (GarmentKind, Operation, Surcharge)}


def _changed(facts: Parameters, locale: str) -> str:
    return f"{facts['name']}, changed: {called(MODELS[facts['kind']], facts['fields'])}."


def _rules(facts: Parameters, locale: str) -> str:
    return f"House rules, changed: {called(PriceRules, facts['fields'])}."


def _recalculated(facts: Parameters, locale: str) -> str:
    hour = format_money(facts["hour"], facts["currency"], locale)
    return f"{facts['count']} prices calculated from {hour} an hour."


ADDED = Verb("price.add", "{name}: added.")
CHANGED = Verb("price.change", _changed)
MOVED = Verb("price.move", "{name}: moved {way}.")
REMOVED = Verb("price.remove", "{name}: removed.")
WITHDRAWN = Verb("price.withdraw", "{name}: no longer offered.")
RULES = Verb("price.rules", _rules)
STARTED = Verb("price.start", "Started with a list of {count} operations.", undo=False)
RECALCULATED = Verb("price.recalculate", _recalculated)
PLACED = Verb("price.order", "Order of work, changed for {count} operations.")
IMPORTED = Verb("price.import", "From a file: {new} new, {changed} changed.")
