"""Every verb of the house: do, undo, equal; do, change, undo refused; invoice, undo refused."""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from copy import copy
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from uuid import UUID, uuid4

import pytest
import time_machine
from django.apps import apps
from django.core.files.storage import Storage
from django.db import connection, transaction
from django.db.models import BooleanField, ForeignKey, ManyToManyField, Model
from django.test import Client

from clients.actions import merge
from jobs.billing.actions import credit_invoice, issue_invoice, reverse_payment
from jobs.billing.models import Invoice
from jobs.billing.queries import balance
from jobs.tickets import actions
from jobs.tickets.models import Ticket
from studio.shop import clock, history
from studio.shop.history.recording import Change, field_of, model_of
from studio.shop.models import Entry, EntrySubject, SentForm
from tests import factories
from tests.drafts import issued, paid
from tests.histories import sentences
from tests.history_cases import Case, House, all_cases

CASES = all_cases()
ROOMS = ("shop", "clients", "pricing", "tickets", "makes", "billing", "planning")
THE_HISTORY_ITSELF = {Entry, EntrySubject}
# What is undone was sent all the same.
NEVER_UNDONE = {SentForm}
ITS_OWN = {history.UNDONE, history.OLDER}
# A version of an agreement is given once: what is undone is agreed as a version of its own.
# A fitting that goes back to its time has moved once more.
COUNTED_ON = {("tickets.ticket", "version"), ("planning.fitting", "sequence")}


KEPT = [
    model
    for model in apps.get_models(include_auto_created=True)
    if model._meta.app_label in ROOMS and model not in THE_HISTORY_ITSELF | NEVER_UNDONE
]


@pytest.fixture
def house(studio, owner) -> House:
    return House(studio, owner)


@pytest.fixture(autouse=True)
def no_store_is_waited_for(house, monkeypatch) -> Iterator[None]:
    """A photograph or a paper is in the store before anything is written: a store may be slow."""
    before, save, late = len(connection.atomic_blocks), Storage.save, []

    def watching(self: Storage, name: str, *args: object, **options: object) -> str:
        if len(connection.atomic_blocks) > before:
            late.append(name)
        return save(self, name, *args, **options)

    monkeypatch.setattr(Storage, "save", watching)
    yield
    assert late == []


def test_every_verb_has_a_case():
    without = {verb.key for verb in history.all_verbs() if verb not in ITS_OWN}
    assert without - {case.verb.key for case in CASES} == set()


def named(case: Case) -> str:
    return f"{case.verb.key} {case.do.__name__}".removesuffix(" _")


# What asks the database for something in a way of its own; see ``make statements``.
ON_POSTGRES = {
    "appointment.remove remove_an_appointment",
    "budget.set do",
    "client.add",
    "client.merge",
    "cost.add do",
    "cost.off do",
    "erratum.add do",
    "erratum.off do",
    "fitting.move move_a_missed_fitting",
    "garment.fit keep_a_sum",
    "line.after_fitting put_work_after_no_fitting",
    "line.let_loose let_a_line_loose",
    "line.ready_to_cut mark_a_hem",
    "make.again do",
    "make.pattern_off do",
    "pattern.add do",
    "pattern.change do",
    "price.add _a_kind_of_garment",
    "price.add _an_operation",
    "price.recalculate _recalculated",
    "price.remove _a_kind_with_its_operations",
    "price.remove _a_surcharge_removed",
    "release.belongs do",
    "release.start do",
    "sale.off do",
    "sheet.correct",
    "sheet.ranges",
    "sheet.take",
    "stage.add do",
    "stage.guess do",
    "stage.off do",
    "stage.order do",
    "tester.add do",
    "tester.off do",
    "time.remove remove_minutes_of_a_stage",
    "todo.off remove_a_line",
    "todo.to_buy a_notion_is_still_to_buy",
    "week.longer sew_longer_on_days",
    "week.open _open_again",
    "week.own choose_own_hours",
    "week.own_let_loose let_own_minutes_loose",
    "week.told_new_day tell_of_a_new_day",
    "words.change _phrase",
}
each_case = pytest.mark.parametrize(
    "case",
    [
        pytest.param(case, marks=pytest.mark.postgres if named(case) in ON_POSTGRES else ())
        for case in CASES
    ],
    ids=list(map(named, CASES)),
)


def test_what_is_put_to_postgres_is_among_the_cases():
    assert ON_POSTGRES - set(map(named, CASES)) == set()


def with_rows(models: list[type[Model]]) -> list[type[Model]]:
    """Those whose tables are not empty, by one question for all of them."""
    asked = " UNION ALL ".join(
        f'SELECT {place} WHERE EXISTS (SELECT 1 FROM "{model._meta.db_table}")'  # noqa: S608
        for place, model in enumerate(models)
    )
    with connection.cursor() as cursor:
        cursor.execute(asked)
        return [models[place] for place in sorted(place for (place,) in cursor.fetchall())]


def everything(leaves=()) -> dict:
    """All rows of all rooms as they are stored, but the history and what was removed.

    Rows that tie others together (many to many) are known by what they tie.
    """
    rows = {}
    for model in with_rows(KEPT):
        owner = model._meta.auto_created or model
        if owner._meta.label_lower in leaves:
            continue
        table, label = connection.ops.quote_name(model._meta.db_table), model._meta.label_lower
        for row in stored(table):
            key = row.pop("id")
            if model is not owner:
                key = tuple(row.items())
            if not row.get("removed_at"):
                rows[label, key] = {
                    name: value for name, value in row.items() if (label, name) not in COUNTED_ON
                }
    return rows


def stored(table: str) -> list[dict]:
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT * FROM {table}")  # noqa: S608 -- no text from outside
        names = [column[0] for column in cursor.description]
        return [dict(zip(names, row, strict=True)) for row in cursor.fetchall()]


def prepared(case: Case, house: House):
    """The ground is made; gives the world as it stands, and how to do the thing."""
    steps = case.do(house)
    next(steps)
    return everything(case.leaves), lambda: finished(case, steps)


def finished(case: Case, steps) -> Entry:
    """Do it, and give the entry that tells of it."""
    last = Entry.objects.order_by("pk").last()
    assert next(steps, None) is None
    entry = Entry.objects.filter(verb=case.verb.key).latest("pk")
    assert last is None or entry.pk > last.pk
    return entry


@each_case
def test_do_told_undo_equal(case, house):
    """Undone it is as it was. Where something was changed or invoiced since, undoing is refused."""
    before, do = prepared(case, house)
    entry = do()
    told_in_a_sentence(entry, house.studio.locale)
    after = everything(case.leaves)
    if not case.verb.undo:
        with pytest.raises(history.HistoryError):
            history.undo(entry=entry, by=house.owner)
        assert everything(case.leaves) == after
        return
    assert after != before
    # What is refused the program decides, whatever the database.
    if connection.vendor == "sqlite":
        changed_since(entry, house)
        with taken_back():
            invoiced_since(entry, case, house)
    undone = history.undo(entry=entry, by=house.owner)
    assert everything(case.leaves) == before
    assert history.undo(entry=entry, by=house.owner) == undone  # twice is once
    assert everything(case.leaves) == before


@contextmanager
def taken_back() -> Iterator[None]:
    with transaction.atomic():
        point = transaction.savepoint()
        yield
        transaction.savepoint_rollback(point)


def told_in_a_sentence(entry: Entry, locale: str) -> None:
    sentence = history.sentence(entry, locale)
    assert "…" not in sentence
    assert not sentence.startswith(entry.verb)
    # One of an older version lacks what the sentence tells today. It can be read too.
    older = copy(entry)
    for name in entry.parameters:
        older.parameters = {key: value for key, value in entry.parameters.items() if key != name}
        assert history.sentence(older, locale)
    older.parameters = {}
    assert history.sentence(older, locale)


def changed_since(entry: Entry, house: House) -> None:
    """Whatever field of it is changed since, of whatever row: nothing is undone."""
    tried = loose = 0
    for change in map(Change.of, entry.changes):
        loose += len(change.names & change.loose)
        model = model_of(change.label)
        for name in (change.now or {}).keys() - change.derived - change.loose:
            with taken_back():
                if alter(model, change.pk, field_of(model, name)):
                    tried += 1
                    with pytest.raises(history.HistoryError, match=r"since|not there"):
                        history.undo(entry=entry, by=house.owner)
    assert tried or loose or all(change["now"] is None for change in entry.changes)


def invoiced_since(entry: Entry, case: Case, house: House) -> None:
    """What an invoice stands on is credited, never undone; all else can still be undone."""
    tickets = Ticket.objects.filter(
        pk__in=entry.subjects.filter(label="tickets.ticket").values("row")
    )
    if not tickets:
        assert not case.money
        return
    ticket = tickets.get()
    if ticket.state == "cancelled":
        return
    invoice = issue_invoice(ticket=ticket, by=house.owner, studio=house.studio, form_key=uuid4())
    before = everything()
    if case.money:
        with pytest.raises(history.HistoryError, match=f"{invoice.number}"):
            history.undo(entry=entry, by=house.owner)
        assert everything() == before
    else:
        history.undo(entry=entry, by=house.owner)
    ticket.refresh_from_db()
    assert ticket.gross == Invoice.objects.get(pk=invoice.pk).gross


def alter(model, pk, field) -> bool:
    """Give a field another value than it has; whether there is one to give."""
    row = model._base_manager.filter(pk=pk)
    if isinstance(field, ManyToManyField):
        held = getattr(row.get(), field.name)
        if held.exists():
            held.clear()
            return True
        return False
    value = row.values_list(field.attname, flat=True).get()
    other = another(field, value)
    if other == value:
        return False
    row.update(**{field.attname: other})
    return True


def another(field, value):
    if isinstance(field, ForeignKey):
        others = field.related_model._base_manager.exclude(pk=value).values_list("pk", flat=True)
        other = None if field.unique else others.first()
        return value if other is None and not field.null else other
    if isinstance(field, BooleanField):
        return not value
    made = {
        datetime: lambda: value + timedelta(seconds=1),
        date: lambda: value + timedelta(days=3653 if field.unique else 1),
        time: lambda: time(3, 21),
        Decimal: lambda: value + 1,
        int: lambda: value + 1000 if field.unique else value + (1 if value < 1000 else -1),
        UUID: uuid4,
        str: lambda: ("x" + value)[: field.max_length] if value != "x" else "y",
        list: lambda: [*value, "other"],
        dict: lambda: value | {"other": 1},
    }
    if value is not None:
        return made[type(value)]()
    kind = field.get_internal_type()
    fresh = {
        "DateTimeField": datetime.fromisoformat("2026-01-02T03:04:05+00:00"),
        "DateField": date(2026, 1, 2),
        "DecimalField": Decimal(1),
        "UUIDField": uuid4(),
        "JSONField": {"other": 1},
    }
    return fresh.get(kind, 1 if "Integer" in kind else "x")


# Four ways in which a step back once did harm.


@pytest.fixture
def ticket(house):
    return house.ticket


def agree(house: House, change) -> None:
    """Change the draft of the ticket by ``change`` and agree on it."""
    draft = actions.draft_of(house.ticket)
    change(draft)
    actions.change(ticket=house.ticket, draft=draft, studio=house.studio, by=house.owner, reason="")


def last(ticket: Ticket) -> Entry:
    return history.undoable(history.of(ticket))


def raise_the_price(draft) -> None:
    draft.garments[0].lines[0].unit_price += 7500


def press_undo(browser: Client, ticket: Ticket):
    """The button on the ticket's page; gives the page that comes of it."""
    page = ticket.get_absolute_url()
    button = re.search(r'name="entry" value="(\d+)"', browser.get(page).text)
    assert button
    return browser.post(f"{page}undo/", {"entry": button[1]}, follow=True)


def test_no_undo_sets_the_price_back_under_a_paid_invoice(house, ticket, helper_client):
    """A helper could do it, and 75.00 were owed to the client."""
    agree(house, raise_the_price)
    issued(house.studio, house.owner, ticket)
    paid(house.studio, house.owner, ticket, amount=balance(ticket))
    after = press_undo(helper_client, ticket)
    assert "stands on this" in after.text
    assert balance(ticket) == 0
    ticket.refresh_from_db()
    assert ticket.gross == 15300


@pytest.mark.postgres
def test_no_undo_sets_the_price_back_under_a_deposit(house, ticket):
    agree(house, raise_the_price)
    payment = paid(house.studio, house.owner, ticket)
    with pytest.raises(history.HistoryError, match=payment.number):
        history.undo(entry=last(ticket), by=house.owner)


@pytest.mark.postgres
def test_what_was_credited_and_reversed_stands_on_nothing(house, ticket):
    agree(house, raise_the_price)
    invoice = issued(house.studio, house.owner, ticket)
    payment = paid(house.studio, house.owner, ticket)
    credit_invoice(
        invoice=invoice, why="wrong name", by=house.owner, studio=house.studio, form_key=uuid4()
    )
    reverse_payment(
        payment=payment, why="by mistake", by=house.owner, studio=house.studio, form_key=uuid4()
    )
    history.undo(entry=last(ticket), by=house.owner)
    ticket.refresh_from_db()
    assert ticket.gross == 7800


@pytest.mark.postgres
def test_what_was_billed_before_does_not_forbid_to_go_back_to_it(house, ticket):
    with time_machine.travel(clock.now() - timedelta(hours=1), tick=False):
        invoice = issued(house.studio, house.owner, ticket)
    agree(house, raise_the_price)
    history.undo(entry=last(ticket), by=house.owner)
    ticket.refresh_from_db()
    assert ticket.gross == invoice.gross


@pytest.mark.postgres
def test_undoing_an_earlier_tick_loses_no_note_and_no_minutes(house, ticket):
    """What no paper prints is recorded too: first it is undone, then the tick before it."""
    ticked = actions.tick(line=house.line(), by=house.owner)
    tick = last(ticked)

    def write(draft) -> None:
        draft.note, draft.garments[0].lines[0].minutes_each = "ring before nine", 150

    agree(house, write)
    with pytest.raises(actions.TicketError, match="not the last step"):
        actions.undo(ticket=ticket, entry=tick, by=house.owner)
    assert sentences(ticket)[0] == "Changed: note; A Take in sides: minutes each."
    history.undo(entry=tick, by=house.owner)
    ticket.refresh_from_db()
    line = house.line()
    assert (ticket.note, line.minutes_each, line.done_at) == ("ring before nine", 150, None)
    assert ticket.minutes == 210


@pytest.mark.postgres
def test_undo_after_a_merge_leaves_the_ticket_with_who_was_kept(house, ticket):
    kept = factories.ClientFactory(name="Nora Byrne")
    actions.tick(line=house.line(), by=house.owner)
    merge(keep=kept, other=ticket.client, by=house.owner, facts={})
    history.undo(entry=last(ticket), by=house.owner)
    ticket.refresh_from_db()
    assert ticket.client == kept
    assert house.line().done_at is None


@pytest.mark.parametrize("where", ["was", "now"])
def test_a_removed_column_is_a_reason_and_no_error(house, ticket, owner_client, where):
    actions.tick(line=house.line(), by=house.owner)
    entry = last(ticket)
    for change in entry.changes:
        change[where]["chalk_colour"] = "white"
    entry.save()
    after = press_undo(owner_client, ticket)
    assert after.status_code == 200
    assert "The program has changed since" in after.text
    assert house.line().done_at
