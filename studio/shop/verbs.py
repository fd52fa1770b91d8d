"""What is done to the studio itself, and the sentences that tell of it."""

from datetime import date

from studio.shop.history import HistoryError, Undo, Verb, before_undo, fields
from studio.shop.history.recording import called
from studio.shop.history.verbs import Parameters
from studio.shop.locales import show_day
from studio.shop.models import NumberSeries, Profile, TaxClass

# What was used last is a memory: nobody minds what became of it since.
fields(Profile, loose=("places_used",))


def _profile(facts: Parameters, locale: str) -> str:
    return f"The studio, changed: {called(Profile, facts['fields'])}."


def _tax(facts: Parameters, locale: str) -> str:
    return f"Tax “{facts['name']}”, changed: {called(TaxClass, facts['fields'])}."


def _closed(facts: Parameters, locale: str) -> str:
    first, last = (show_day(date.fromisoformat(facts[name]), locale) for name in ("first", "last"))
    days = f"on {first}" if first == last else f"from {first} to {last}"
    return f"Closed {days}" + (f": {facts['reason']}." if facts["reason"] else ".")


SET_UP = Verb("studio.set_up", "The studio was set up.", undo=False)
PROFILE_CHANGED = Verb("studio.profile", _profile)

LANGUAGE_ADDED = Verb("words.add", "Papers can be in {language}.")
WORDS_CHANGED = Verb("words.change", "Papers in {language}: “{phrase}” changed.")
NAMES_SAID = Verb("words.names", "Papers in {language}: your own words changed.")
WORDS_CHECKED = Verb("words.check", "Papers in {language}: words checked.")

WEEK_CHANGED = Verb("week.change", "The usual week, changed: {days:list}.")
CLOSED = Verb("week.close", _closed)
CLOSED_ON_HOLIDAYS = Verb("week.holidays", "Closed on {count} public holidays of {year}.")
OPENED = Verb("week.open", "Open again on {day:day}.")

# A rate that has begun is never rewritten, so none of these is undone.
TAX_ADDED = Verb("tax.add", "Tax “{name}”: added.", undo=False)
TAX_CHANGED = Verb("tax.change", _tax, undo=False)
TAX_REMOVED = Verb("tax.remove", "Tax “{name}”: removed.", undo=False)
RATE_ADDED = Verb("tax.add_rate", "Tax “{name}”: {percent} % from {day:day}.", undo=False)
RATE_REMOVED = Verb(
    "tax.remove_rate", "Tax “{name}”: {percent} % from {day:day} removed.", undo=False
)

MAIL_SET = Verb("mail.set", "E-mail is set to go out through {host}.", undo=False)
MAIL_OFF = Verb("mail.off", "E-mail is off.", undo=False)

LOGIN_ADDED = Verb("login.add", "{name} can log in.", undo=False)
LOGIN_STOPPED = Verb("login.stop", "{name} can no longer log in.", undo=False)
LOGIN_RESUMED = Verb("login.resume", "{name} can log in again.", undo=False)
PASSWORD_CHANGED = Verb("login.password", "{name} has a new password.", undo=False)
TICKS_SET = Verb("login.ticks", "What {name} may do: changed.", stays=("name",))
FACTOR_ADDED = Verb("login.factor", "{name} logs in with {what} as well.", undo=False)
FACTOR_REMOVED = Verb("login.factor_gone", "{name} no longer logs in with {what}.", undo=False)
CODES_MADE = Verb("login.codes", "{name} has new recovery codes.", undo=False)
CODE_USED = Verb("login.code_used", "{name} used a recovery code; {left} of them left.", undo=False)
PASSKEY_DOUBTED = Verb(
    "login.doubted",
    "Passkey “{key}” of {name}: refused, there may be a copy of it.",
    undo=False,
)


@before_undo
def keep_the_currency(undo: Undo) -> None:
    if undo.touches(Profile, "currency") and NumberSeries.objects.exists():
        raise HistoryError("Tickets have been written since, so the currency stays.")
