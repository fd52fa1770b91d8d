"""What is done where the rooms meet."""

from studio.shop.history import Verb
from studio.shop.history.verbs import Parameters
from studio.shop.money import format_money


def _pays_later(facts: Parameters, locale: str) -> str:
    still_open = format_money(facts["open"], facts["currency"], locale)
    return f"Handed over with {still_open} open: {facts['why']}."


CLIENT_ERASED = Verb("client.erase", "The client was erased.", undo=False)
PAYS_LATER = Verb(
    "ticket.pays_later", _pays_later, undo=False, money=True, stays=("open", "currency")
)
NOT_RIGHT = Verb(
    "ticket.not_right",
    "Tried on and not right ({letters:list}): {why}.",
    undo=False,
    stays=("letters",),
)  # fmt: skip
GIVEN_BACK = Verb("ticket.given_back", "Given back: {things}.", undo=False)
