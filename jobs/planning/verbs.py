"""What is done with the week, and the sentences that tell of it.

Appointments may name people: the sentences have the hour alone, and the old values, which undo
puts back, are forgotten after a day. The calendar's address is not recorded: it is a key, and one
that was closed must not be read anywhere. A rush that was declined is a row of its own.
"""

from collections.abc import Callable
from datetime import datetime
from typing import Any

from django.db.models import F

from jobs.planning.models import CALENDAR, Appointment, Fitting, Wait
from jobs.planning.queries import clash_with
from jobs.pricing.models import FittingPlace
from studio.shop import clock
from studio.shop.history import HistoryError, Step, Undo, Verb, after_undo, before_undo, fields
from studio.shop.history.verbs import CONVERSIONS, MISSING, Parameters
from studio.shop.numbers import lock

# A phone's calendar drops an older number (RFC 5545, 3.8.7.4): undo counts on.
fields(Fitting, derived=("sequence",))


def _kind(facts: Parameters) -> str:
    kind = facts["kind"]
    return MISSING if kind == MISSING else Fitting.Kind(kind).label


def _when(facts: Parameters, name: str, locale: str) -> str:
    moment = facts[name]
    return MISSING if moment == MISSING else CONVERSIONS["when"](moment, locale)


def _booked(facts: Parameters, locale: str) -> str:
    return f"{_kind(facts)} booked: {_when(facts, 'starts_at', locale)}."


def _moved(facts: Parameters, locale: str) -> str:
    was, now = (_when(facts, name, locale) for name in ("was", "starts_at"))
    return f"{_kind(facts)} moved: {was} → {now}."


def _kept(facts: Parameters, locale: str) -> str:
    return f"{_kind(facts)} kept."


def _missed(facts: Parameters, locale: str) -> str:
    return f"{_kind(facts)} missed."


def _cancelled(facts: Parameters, locale: str) -> str:
    return f"{_kind(facts)} cancelled."


def _after(facts: Parameters, locale: str) -> str:
    if facts["kind"] == FittingPlace.BEFORE:
        return f"{facts['letter']} {facts['name']}: before the fitting."
    after = f"the {_kind(facts).lower()}" if facts["kind"] else "no fitting in particular"
    return f"{facts['letter']} {facts['name']}: after {after}."


def _what(facts: Parameters) -> str:
    what = facts["what"]
    return MISSING if what == MISSING else Wait.What(what).label.lower()


def _held(facts: Parameters, locale: str) -> str:
    question = f" ({facts['question']})" if facts["question"] else ""
    return f"{facts['letter']} {facts['name']} waits for {_what(facts)}{question}."


def _resumed(facts: Parameters, locale: str) -> str:
    return f"{facts['letter']} {facts['name']} resumed: {_what(facts)} is here."


def _appointment(done: str) -> Callable[[Parameters, str], str]:
    def words(facts: Parameters, locale: str) -> str:
        kind = facts["kind"]
        named = MISSING if kind == MISSING else Appointment.Kind(kind).label
        return f"{named} {done} {_when(facts, 'starts_at', locale)}."

    return words


def _own_weeks(facts: Parameters, locale: str) -> str:
    """Each of ``weeks`` is a Monday with its minutes, None for the usual share."""
    weeks = [
        f"week of {CONVERSIONS['day'](monday, locale)} "
        + ("as usual" if minutes is None else CONVERSIONS["minutes"](minutes, locale))
        for monday, minutes in facts["weeks"]
    ]
    return f"Own hours: {'; '.join(weeks)}."


def _longer_days(facts: Parameters, locale: str) -> str:
    """Each of ``days`` with the minutes it is sewn longer, 0 for none."""
    days = [
        f"{CONVERSIONS['day'](day, locale)} "
        + (CONVERSIONS["minutes"](minutes, locale) if minutes else "as usual")
        for day, minutes in facts["days"]
    ]
    return f"Sew longer: {'; '.join(days)}."


FITTING = ("kind", "starts_at", "was")
BOOKED = Verb("fitting.book", _booked, stays=FITTING)
MOVED = Verb("fitting.move", _moved, stays=FITTING)
KEPT = Verb("fitting.keep", _kept, stays=FITTING)
MISSED = Verb("fitting.miss", _missed, stays=FITTING)
CANCELLED = Verb("fitting.cancel", _cancelled, stays=FITTING)

LINE = ("letter", "name")
AFTER_FITTING = Verb("line.after_fitting", _after, stays=(*LINE, "kind"))
HELD = Verb("line.hold", _held, stays=(*LINE, "what"))
RESUMED = Verb("line.resume", _resumed, stays=(*LINE, "what"))
READY_TO_CUT = Verb("line.ready_to_cut", "Ready to cut: {letter} {name}.", stays=LINE)

PUT_ON_DAY = Verb("line.put_on_day", "Put on {day:day}: {works:list}.", stays=("works", "day"))
LET_LOOSE = Verb("line.let_loose", "No longer put on a day: {works:list}.", stays=("works",))

TIME = ("what", "length", "ran")
TIME_NOTED = Verb("time.note", "{length:minutes} at the bench noted: {what}.", stays=TIME)
TIME_TRIMMED = Verb(
    "time.trim", "{length:minutes} of {ran:minutes} by the clock count: {what}.", stays=TIME
)
TIME_REMOVED = Verb("time.remove", "{length:minutes} at the bench removed: {what}.", stays=TIME)

RULES = Verb("week.rules", "Changed how every week is planned.")
APPOINTMENT_PUT = Verb("appointment.put", _appointment("put on"), stays=("kind", "starts_at"))
APPOINTMENT_CHANGED = Verb(
    "appointment.change", _appointment("changed:"), stays=("kind", "starts_at")
)
APPOINTMENT_REMOVED = Verb(
    "appointment.remove", _appointment("removed:"), stays=("kind", "starts_at")
)
APPOINTMENTS = tuple(
    verb.key for verb in (APPOINTMENT_PUT, APPOINTMENT_CHANGED, APPOINTMENT_REMOVED)
)

OWN_WEEKS = Verb("week.own", _own_weeks, stays=("weeks",))
LONGER_DAYS = Verb("week.longer", _longer_days, stays=("days",))
TOLD_NEW_DAY = Verb(
    "week.told_new_day",
    "Client told of the new day: ready by {day:day}.",
    undo=False,
    stays=("number", "day"),
)
OWN_ON_DAY = Verb(
    "week.own_on_day", "{length:minutes} of your own put on {day:day}.", stays=("day", "length")
)
OWN_LET_LOOSE = Verb(
    "week.own_let_loose", "Your own minutes of {day:day} let loose.", stays=("day",)
)

TODO_ADDED = Verb("todo.add", "To-do: {words}")
TODO_DONE = Verb("todo.done", "Done: {words}")
TODO_OPEN = Verb("todo.open", "Not done after all: {words}")
TODO_FIRST = Verb("todo.first", "To the top: {words}")
TODO_MOVED = Verb("todo.move", "{side}: {words}")
TODO_REMOVED = Verb("todo.off", "Removed from the to-do: {words}")
BOUGHT = Verb("todo.bought", "Bought: {notion} for {words}")
NO_CLOTH = Verb("todo.no_cloth", "No cloth to buy for {words}")
TO_BUY = Verb("todo.to_buy", "Still to buy: {notion} for {words}")


def _moment(moment: datetime | str) -> datetime:
    return datetime.fromisoformat(moment) if isinstance(moment, str) else moment


@before_undo
def refuse_a_taken_time(step_back: Undo) -> None:
    """Nothing comes back to a time at which somebody else is expected by now."""
    for change in step_back.of(Appointment):
        if change.was is None:
            continue
        appointment = Appointment.objects.filter(pk=change.pk).first()
        stands = appointment or Appointment()
        was: dict[str, Any] = {"starts_at": stands.starts_at, "minutes": stands.minutes}
        was |= change.was
        lock(CALENDAR)
        if other := clash_with(_moment(was["starts_at"]), was["minutes"], besides=appointment):
            raise HistoryError(f"That time is taken by now: {other}.")
    for change in step_back.of(Fitting):
        fitting = Fitting.objects.filter(pk=change.pk).select_related("ticket").first()
        if fitting is None or change.was is None:
            continue
        booked = change.was.get("state", fitting.state) == Fitting.State.BOOKED
        starts = fitting.starts_at
        if "starts_at" in change.was:
            starts = datetime.fromisoformat(change.was["starts_at"])
        if booked and starts > clock.now():
            lock(CALENDAR)
            other = clash_with(starts, fitting.minutes, besides=fitting)
            if other:
                raise HistoryError(f"That time is taken by now: {other}.")


@after_undo
def count_on(step_back: Undo, step: Step) -> None:
    """A fitting that goes back to its time has moved once more."""
    moved = [
        change.pk
        for change in step_back.of(Fitting)
        if change.was and change.now and "starts_at" in change.was
    ]
    Fitting.objects.filter(pk__in=moved).update(sequence=F("sequence") + 1)
