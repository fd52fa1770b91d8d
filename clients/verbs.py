"""What is done to clients and their sheets, as the history tells it, and when it stays done."""

from django.db.models import Q

from clients.models import DERIVED, Client, Contact
from studio.shop import clock
from studio.shop.history import HistoryError, Step, Undo, Verb, after_undo, before_undo, fields
from studio.shop.history.recording import model_of

ADD = Verb("client.add", "Added to the list.")
CHANGE = Verb("client.change", "Changed: {facts:list}.", stays=("facts",))
PREFER = Verb("client.prefer", "First now: {what}.")
HOUSEHOLD = Verb("client.household", "Household changed.")
MERGE = Verb("client.merge", "Made one with {gone}.")
IMPORT = Verb("client.import", "Came in from a file.")
COMPLETE = Verb("client.complete", "Completed from a file.")
IN_ALL = "{added} added, {changed} changed, {left} left out, {wrong} could not be read."
COUNTED = ("added", "changed", "left", "wrong")
TAKE_FILE = Verb("file.take", f"File taken: {IN_ALL}", undo=False, stays=COUNTED)
UNDO_FILE = Verb("file.undo", f"File undone; what stays: {IN_ALL}", undo=False, stays=COUNTED)
TAKE = Verb("sheet.take", "Measured on {day:day}.")
CORRECT = Verb("sheet.correct", "Measures of {day:day} corrected.")
RANGES = Verb("sheet.ranges", "Own ranges of measures set.")

MEASURE = Verb("measure.save", "Own measure saved: {name}.")
MEASURE_AWAY = Verb("measure.remove", "Own measure removed: {name}.")
MEASURE_BACK = Verb("measure.back", "Own measure asked again: {name}.")
SET = Verb("measure.set", "Own set of measures saved: {name}.")
SET_AWAY = Verb("measure.set.remove", "Own set of measures removed: {name}.")

fields(Client, derived=DERIVED)
fields(Contact, derived=("digits", "last4", "reach_key"))


@before_undo
def refuse_gone_clients(undo: Undo) -> None:
    """Nothing goes back into an entry that was merged into another or erased since."""
    if undo.verb == MERGE.key:
        return
    clients = {change.pk for change in undo.of(Client)}
    for change in undo.changes:
        model = model_of(change.label)
        columns = model._meta.concrete_fields if model else ()  # noqa: SLF001 -- documented by Django
        names = [column.attname for column in columns if column.related_model is Client]
        clients |= {(change.was or {}).get(name) for name in names}
    gone = Client.objects.filter(~Q(merged_into=None) | ~Q(erased_at=None))
    if gone.filter(pk__in=clients - {None}).exists():
        raise HistoryError("The client's entry is no longer in use, so this cannot be undone.")


@before_undo
def refuse_older_sheets(undo: Undo) -> None:
    """A sheet is put right on the day it was written down; later it stands."""
    of_today = clock.local(undo.since).date() == clock.today()
    if undo.verb in {TAKE.key, CORRECT.key} and not of_today:
        raise HistoryError("A sheet is corrected on its own day only. Take a new one.")


@before_undo
def refuse_a_whole_file(undo: Undo) -> None:
    """An earlier version completed several clients in one step: none of them is undone alone."""
    if undo.verb == COMPLETE.key and len(undo.about(Client)) > len(undo.entries):
        raise HistoryError("Several clients were completed in this step, so it stays.")


@after_undo
def derive_keys(undo: Undo, step: Step) -> None:
    """A client is looked up by the facts that were put back."""
    keys = [change.pk for change in undo.of(Client) if change.was]
    for client in Client.objects.filter(pk__in=keys):
        client.save(update_fields=["name"])
    for contact in Contact.objects.filter(pk__in=[change.pk for change in undo.of(Contact)]):
        contact.save()
