"""What must not be missing or past before a ticket is saved, said beside the field."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from jobs.counter.dropoff.drafting import promised
from jobs.counter.dropoff.reading import ReadGarment, Reading, Standing
from jobs.counter.dropoff.who import FIRST_KIND, Who
from studio.shop import clock
from studio.shop.week import Week

FURTHEST = timedelta(days=730)


@dataclass(frozen=True)
class Problem:
    """One message, the id of the element it stands beside, and a page that helps."""

    target: str
    where: str
    message: str
    link: str = ""


def check_days(reading: Reading, standing: Standing | None) -> None:
    """No day that is over, unless it is the one that was agreed."""
    form, said = reading.ticket, reading.ticket.cleaned_data
    old = standing.draft if standing else None
    moment, wanted = promised(said, old), said.get("wanted_by")
    if moment and not (old and moment == old.promise_at):
        if said["promise_day"] < clock.today():
            form.add_error("promise_day", "This day is over. Choose today or a later day.")
        elif moment < clock.now():
            form.add_error("promise_time", "This time is over. Choose a later one.")
        elif said["promise_day"] > clock.today() + FURTHEST:
            form.add_error("promise_day", "This is more than two years away.")
    if wanted and wanted < clock.today() and not (old and wanted == old.wanted_by):
        form.add_error("wanted_by", "This day is over.")


def check_missing(reading: Reading, who: Who | None, *, sees_money: bool) -> None:
    """What saving cannot do without. ``who`` is None where the client stands already."""
    if who and who.making and not reading.who.cleaned_data.get("new_name"):
        _miss(reading.who, "new_name", "Write the client's name.")
    elif who and not who.making and who.chosen is None:
        _miss(reading.who, "q", "Choose a client, or make a new one.")
    if not reading.standing:
        reading.wrong = "Add what was brought."
    for garment in reading.standing:
        _check_garment(garment, sees_money=sees_money)
    for name, message in (
        ("promise_day", "Say on which day it will be ready."),
        ("promise_time", "Say at what time it will be ready."),
    ):
        if reading.ticket.cleaned_data.get(name) is None:
            _miss(reading.ticket, name, message)
    _check_payment(reading)


def _check_garment(garment: ReadGarment, *, sees_money: bool) -> None:
    if not garment.draft.kind_name:
        _miss(garment.form, "kind_name", "Say what it is.")
    if not garment.standing_lines:
        garment.wrong = "Say what is to be done."
    for line in garment.standing_lines:
        if not line.draft.name:
            _miss(line.form, "name", "Say what is to be done.")
        made_to_order = line.draft.operation_id is None and line.draft.pk is None
        if made_to_order and not sees_money:
            line.form.add_error("note", "Only the owner can add work that is not on the list.")
        elif made_to_order and line.form.cleaned_data.get("price") is None:
            _miss(line.form, "price", "Say what it costs.")


def _check_payment(reading: Reading) -> None:
    said = reading.ticket.cleaned_data
    paid, asked = said.get("paid"), said.get("deposit")
    if reading.quote and asked and asked > reading.quote.gross:
        reading.ticket.add_error("deposit", "This is more than the work costs.")
    if not paid:
        return
    if not said.get("method"):
        _miss(reading.ticket, "method", "Say how it was paid.")
    if reading.quote and paid > reading.quote.gross:
        reading.ticket.add_error("paid", "This is more than the work costs.")


def _miss(form, name: str, message: str) -> None:
    """Say what is missing, unless the field has something else to complain about."""
    if name in form.fields and not form.has_error(name):
        form.add_error(name, message)


def problems(reading: Reading) -> list[Problem]:
    """Everything that is wrong, in the order of the page."""
    return [*_problems(reading)]


def _problems(reading: Reading) -> Iterator[Problem]:
    for form in reading.forms():
        for name, messages in form.errors.items():
            field = form[name]
            for message in messages:
                yield Problem(target_of(field), str(field.label), str(message))
        for garment in reading.standing:
            if garment.form is form:
                yield from _of_garment(garment)
    if reading.wrong:
        yield Problem(FIRST_KIND, "Garments", reading.wrong)
    if reading.trouble:
        yield Problem("save", "Ticket", reading.trouble, reading.trouble_link)


def _of_garment(garment: ReadGarment) -> Iterator[Problem]:
    name = garment.draft.kind_name or "Garment"
    if garment.wrong:
        yield Problem(f"{garment.prefix}-first", name, garment.wrong)
    for message in garment.wrong_pictures:
        yield Problem(f"id_{garment.prefix}-camera", "Photograph", message)


def target_of(field) -> str:
    """The id that a link to the field leads to: of chips, the first."""
    return f"{field.auto_id}_0" if field.use_fieldset else field.auto_id


def notices(reading: Reading, week: Week) -> list[str]:
    """What is worth a second look but may be meant."""
    said = reading.ticket.cleaned_data
    day: date | None = said.get("promise_day")
    wanted: date | None = said.get("wanted_by")
    found = []
    if day and not week.is_open(day):
        found.append("The studio is closed on the day of the promise.")
    if day and wanted and day > wanted:
        found.append("Promised for later than it is wanted.")
    return found
