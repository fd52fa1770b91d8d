"""Two entries of one person become one, and two again; nothing is written into one that is gone."""

import pytest
from django.db import models
from django.utils import timezone

from clients import actions
from clients.models import Client, GoneError
from studio.shop import clock, history
from studio.shop.models import Entry
from tests.factories import ClientFactory, TicketFactory, UserFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def by():
    return UserFactory()


@pytest.fixture
def keep():
    return ClientFactory(name="Mary Larkin", phone="086 555 0143", notes="tall")


@pytest.fixture
def other():
    return ClientFactory(name="M. Larkin", phone="01 555 0199", email="mary@larkfield.example")


def fresh(*rows):
    for row in rows:
        row.refresh_from_db()
    return rows


def test_everything_moves_and_the_chosen_facts_win(keep, other, by):
    mine, theirs = TicketFactory(client=keep), TicketFactory(client=other)
    before = ClientFactory(merged_into=other)
    facts = {"name": "Mary Larkin", "email": other.email, "phone": other.phone}

    entry = actions.merge(keep=keep, other=other, by=by, facts=facts)

    fresh(keep, other, mine, theirs, before)
    assert mine.client == theirs.client == other.merged_into == before.merged_into == keep
    assert (keep.name, keep.email, keep.phone_last4) == ("Mary Larkin", other.email, "0199")
    assert (keep.notes, entry.by) == ("tall", by)
    changed = {tuple(change["row"]): change["was"] for change in entry.changes}
    assert changed == {
        ("clients.client", keep.pk): {
            "phone": "086 555 0143", "email": "", "phone_digits": "0865550143",
            "phone_last4": "0143", "reach_key": "",
        },
        # The number that was not chosen is one more, no longer the first.
        ("clients.contact", keep.contacts.get(value="086 555 0143").pk): None,
        ("clients.client", other.pk): {"merged_into_id": None},
        ("clients.client", before.pk): {"merged_into_id": other.pk},
        ("tickets.ticket", theirs.pk): {"client_id": other.pk},
    }  # fmt: skip
    assert list(Client.objects.present()) == [keep]


def test_every_relation_to_a_client_is_known_to_the_merge(keep, other, by):
    """Walks all models by itself, from the other side: their own fields instead of relations."""
    from django.apps import apps

    from clients.actions import _relations

    pointing = {
        str(field)
        for model in apps.get_models(include_auto_created=True)
        for field in model._meta.get_fields()
        if isinstance(field, models.ForeignKey) and field.related_model is Client
    }
    assert "tickets.Ticket.client" in pointing
    # A row of a file remembers the entry that it made or filled, which a merge does not change.
    pointing.remove("clients.FileRow.client")
    assert {str(relation.field) for relation in _relations()} == pointing


def test_undone_it_is_as_before(keep, other, by):
    theirs, before = TicketFactory(client=other), ClientFactory(merged_into=other)
    entry = actions.merge(keep=keep, other=other, by=by, facts={"phone": other.phone})

    later = TicketFactory(client=keep)
    actions.unmerge(entry=entry, by=by)

    fresh(keep, other, theirs, before, later)
    assert theirs.client == before.merged_into == other
    assert later.client == keep
    assert (keep.phone, keep.phone_last4) == ("086 555 0143", "0143")
    assert other.merged_into is None
    assert keep.last_merge is None


def test_what_was_changed_by_hand_since_refuses_it_with_the_reason(keep, other, by):
    facts = {"phone": other.phone, "email": other.email}
    entry = actions.merge(keep=keep, other=other, by=by, facts=facts)
    actions.change_client(client=keep, facts={"phone": "085 555 7777"}, by=by)

    with pytest.raises(actions.MergeError, match="phone of this client was changed since"):
        actions.unmerge(entry=entry, by=by)

    fresh(keep, other)
    assert (keep.phone, keep.email) == ("085 555 7777", "mary@larkfield.example")
    assert other.merged_into == keep


def test_what_the_merge_did_not_touch_may_change(keep, other, by):
    entry = actions.merge(keep=keep, other=other, by=by, facts={"phone": other.phone})
    actions.change_client(client=keep, facts={"notes": "taller"}, by=by)
    actions.unmerge(entry=entry, by=by)
    fresh(keep)
    assert (keep.phone, keep.notes) == ("086 555 0143", "taller")


def test_nothing_goes_back_into_an_entry_that_was_merged_since(keep, other, by):
    actions.change_client(client=other, facts={"notes": "wrong hand"}, by=by)
    change = other.latest_entries[0]
    actions.merge(keep=keep, other=other, by=by, facts={})
    with pytest.raises(history.HistoryError, match="no longer in use"):
        history.undo(entry=change, by=by)


@pytest.mark.postgres
def test_sent_twice_it_is_done_once(keep, other, by):
    first = actions.merge(keep=keep, other=other, by=by, facts={})
    assert actions.merge(keep=keep, other=other, by=by, facts={"name": "X"}) == first
    fresh(keep)
    assert keep.name == "Mary Larkin"

    undone = actions.unmerge(entry=first, by=by)
    assert actions.unmerge(entry=first, by=by) == undone == (keep, other)
    assert [entry.verb for entry in Entry.objects.order_by("pk")] == [
        "client.merge", "history.undone",
    ]  # fmt: skip


def test_merges_are_undone_from_the_last(keep, other, by):
    third = ClientFactory()
    first = actions.merge(keep=keep, other=other, by=by, facts={})
    second = actions.merge(keep=keep, other=third, by=by, facts={})
    assert keep.last_merge == second
    with pytest.raises(actions.MergeError, match="another merge since"):
        actions.unmerge(entry=first, by=by)
    actions.unmerge(entry=second, by=by)
    actions.unmerge(entry=first, by=by)
    assert Client.objects.present().count() == 3


def test_a_chain_is_undone_from_its_end(keep, other, by):
    """What went into a client that itself went into another waits for that one."""
    top = ClientFactory()
    ticket = TicketFactory(client=other)
    first = actions.merge(keep=keep, other=other, by=by, facts={})
    second = actions.merge(keep=top, other=keep, by=by, facts={})
    fresh(other, ticket)
    assert other.merged_into == ticket.client == top
    with pytest.raises(actions.MergeError, match="another merge since"):
        actions.unmerge(entry=first, by=by)
    actions.unmerge(entry=second, by=by)
    fresh(other, ticket)
    assert other.merged_into == ticket.client == keep
    actions.unmerge(entry=first, by=by)
    fresh(other, ticket)
    assert other.merged_into is None
    assert ticket.client == other


def test_an_entry_does_not_become_one_with_itself(keep, by):
    with pytest.raises(actions.MergeError, match="same entry"):
        actions.merge(keep=keep, other=keep, by=by, facts={})


@pytest.mark.parametrize("side", ["keep", "other"])
@pytest.mark.parametrize("gone", ["merged", "erased"])
def test_an_entry_that_is_gone_cannot_be_merged(keep, other, by, side, gone):
    client = {"keep": keep, "other": other}[side]
    if gone == "merged":
        client.merged_into = ClientFactory()
    else:
        client.erased_at = timezone.now()
    client.save()
    with pytest.raises(actions.MergeError, match="no longer an entry of its own"):
        actions.merge(keep=keep, other=other, by=by, facts={})


@pytest.mark.parametrize("side", ["kept", "gone"])
def test_an_erased_person_does_not_come_back(keep, other, by, side):
    entry = actions.merge(keep=keep, other=other, by=by, facts={})
    Client.objects.filter(pk={"kept": keep, "gone": other}[side].pk).update(
        erased_at=timezone.now()
    )
    with pytest.raises(actions.MergeError, match="erased"):
        actions.unmerge(entry=entry, by=by)


def test_a_merge_that_fails_changes_nothing(keep, other, by):
    ticket = TicketFactory(client=other)
    with pytest.raises(ValueError, match="no_such_fact"):
        actions.merge(keep=keep, other=other, by=by, facts={"no_such_fact": "x"})
    fresh(other, ticket)
    assert other.merged_into is None
    assert ticket.client == other


@pytest.fixture(params=["erased", "merged"])
def stale(request) -> Client:
    """As it was read before somebody else's click."""
    read = ClientFactory(name="Mary Larkin")
    gone = {"erased_at": clock.now()} if request.param == "erased" else {}
    if request.param == "merged":
        gone = {"merged_into": ClientFactory(name="Mary Lark")}
    Client.objects.filter(pk=read.pk).update(name="", **gone)
    return read


def test_nothing_is_written_into_an_entry_that_is_gone(stale):
    with pytest.raises(GoneError, match="no longer in use"):
        actions.change_client(client=stale, facts={"name": "Mary Larkin"}, by=UserFactory())
    assert Client.objects.get(pk=stale.pk).name == ""
