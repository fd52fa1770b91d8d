"""Every verb of the house: do, undo, equal; do, change, undo refused; invoice, undo refused."""

import contextlib
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from uuid import UUID, uuid4

import pytest
from django.apps import apps
from django.db import transaction
from django.db.models import BooleanField, ForeignKey, ManyToManyField

from jobs.billing.actions import issue_invoice
from jobs.billing.models import Invoice
from jobs.tickets.models import Ticket
from studio.shop import history
from studio.shop.history.rows import Change, field_of, model_of, read
from studio.shop.models import Entry, EntrySubject
from tests.history_cases import Case, House, all_cases

CASES = all_cases()
ROOMS = ("shop", "clients", "pricing", "tickets", "makes", "billing", "planning")
THE_HISTORY_ITSELF = {Entry, EntrySubject}
ITS_OWN = {history.UNDONE, history.OLDER}


@pytest.fixture
def house(studio, owner) -> House:
    return House(studio, owner)


def test_every_verb_has_a_case():
    without = {verb.key for verb in history.all_verbs() if verb not in ITS_OWN}
    assert without - {case.verb.key for case in CASES} == set()


def named(case: Case) -> str:
    return f"{case.verb.key} {case.do.__name__}".removesuffix(" _")


each_case = pytest.mark.parametrize("case", CASES, ids=named)
each_way_back = pytest.mark.parametrize(
    "case", [case for case in CASES if case.verb.undo], ids=named
)


def everything(leaves=()) -> dict:
    """All rows of all rooms but the history; removed ones and derived fields are not told."""
    rows = {}
    for model in apps.get_models(include_auto_created=True):
        label = model._meta.label_lower
        if label.split(".")[0] not in ROOMS or model in THE_HISTORY_ITSELF or label in leaves:
            continue
        for key, values in read(
            (label, pk) for pk in model._base_manager.values_list("pk", flat=True)
        ).items():
            derived = Change(*key, None, None).derived
            rows[key] = {name: value for name, value in values.items() if name not in derived}
    return {key: values for key, values in rows.items() if not values.get("removed_at")}


def done(case: Case, house: House) -> Entry:
    """Do it, and give the entry that tells of it."""
    steps = case.do(house)
    next(steps)
    before = Entry.objects.count()
    with contextlib.suppress(StopIteration):
        next(steps)
        pytest.fail("A case does its thing in one go, after its one yield.")
    entry = Entry.objects.filter(verb=case.verb.key).latest("pk")
    assert Entry.objects.count() > before
    return entry


def prepared(case: Case, house: House):
    """The ground is made; gives the world as it stands, and how to do the thing."""
    steps = case.do(house)
    next(steps)
    return everything(case.leaves), steps


@each_case
def test_it_is_told_in_a_sentence(case, house):
    sentence = history.sentence(done(case, house), house.studio.locale)
    assert "…" not in sentence
    assert not sentence.startswith(case.verb.key)


@each_case
def test_a_sentence_of_an_older_version_can_be_read(case, house):
    """Its entry lacks what the sentence tells today."""
    entry = done(case, house)
    for name in entry.parameters:
        entry.parameters = {key: value for key, value in entry.parameters.items() if key != name}
        assert history.sentence(entry, house.studio.locale)
    entry.parameters = {}
    assert history.sentence(entry, house.studio.locale)


@each_case
def test_do_undo_equal(case, house):
    before, steps = prepared(case, house)
    with contextlib.suppress(StopIteration):
        next(steps)
    entry = Entry.objects.filter(verb=case.verb.key).latest("pk")
    after = everything(case.leaves)
    if not case.verb.undo:
        with pytest.raises(history.HistoryError):
            history.undo(entry=entry, by=house.owner)
        assert everything(case.leaves) == after
        return
    assert after != before
    undone = history.undo(entry=entry, by=house.owner)
    assert everything(case.leaves) == before
    assert history.undo(entry=entry, by=house.owner) == undone  # twice is once
    assert everything(case.leaves) == before


@each_way_back
def test_do_change_undo_refused(case, house):
    """Whatever field of it is changed since, of whatever row: nothing is undone."""
    entry = done(case, house)
    tried = 0
    for change in map(Change.of, entry.changes):
        model = model_of(change.label)
        for name in (change.now or {}).keys() - change.derived - change.loose:
            with transaction.atomic():
                point = transaction.savepoint()
                if alter(model, change.pk, field_of(model, name)):
                    tried += 1
                    with pytest.raises(history.HistoryError, match=r"since|not there"):
                        history.undo(entry=entry, by=house.owner)
                transaction.savepoint_rollback(point)
    assert tried or all(change["now"] is None for change in entry.changes)


@each_way_back
def test_do_invoice_undo_refused(case, house):
    """What an invoice stands on is credited, never undone; all else can still be undone."""
    entry = done(case, house)
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
        others = field.related_model._base_manager.exclude(pk=value)
        return others.values_list("pk", flat=True).first() if not field.unique else value
    if isinstance(field, BooleanField):
        return not value
    made = {
        datetime: lambda: value + timedelta(seconds=1),
        date: lambda: value + timedelta(days=1),
        time: lambda: time(3, 21),
        Decimal: lambda: value + 1,
        int: lambda: value + 1 if value < 1000 else value - 1,
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
        "JSONField": {"other": 1},
    }
    return fresh.get(kind, 1 if "Integer" in kind else "x")
