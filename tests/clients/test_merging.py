"""Two entries of one person become one, and two again."""

import pytest
from django.db import models
from django.utils import timezone

from clients import actions
from clients.models import Client, ClientMerge
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

    merged = actions.merge(keep=keep, other=other, by=by, facts=facts)

    fresh(keep, other, mine, theirs, before)
    assert mine.client == theirs.client == other.merged_into == before.merged_into == keep
    assert (keep.name, keep.email, keep.phone_last4) == ("Mary Larkin", other.email, "0199")
    assert (keep.notes, merged.by) == ("tall", by)
    assert merged.moved == {
        "tickets.Ticket.client": [theirs.pk],
        "clients.Client.merged_into": [before.pk],
    }
    assert list(Client.objects.present()) == [keep]


def test_every_relation_to_a_client_is_known_to_the_merge(keep, other, by):
    """Walks all models by itself, from the other side: their own fields instead of relations."""
    from django.apps import apps

    from clients.actions import _relations

    pointing = {
        str(field)
        for model in apps.get_models(include_auto_created=True)
        if model is not ClientMerge
        for field in model._meta.get_fields()
        if isinstance(field, models.ForeignKey) and field.related_model is Client
    }
    assert "tickets.Ticket.client" in pointing
    assert set(_relations()) == pointing


def test_undone_it_is_as_before(keep, other, by):
    theirs, before = TicketFactory(client=other), ClientFactory(merged_into=other)
    merged = actions.merge(keep=keep, other=other, by=by, facts={"phone": other.phone})

    later = TicketFactory(client=keep)
    actions.unmerge(merged=merged)

    fresh(keep, other, theirs, before, later)
    assert theirs.client == before.merged_into == other
    assert later.client == keep
    assert (keep.phone, keep.phone_last4) == ("086 555 0143", "0143")
    assert other.merged_into is None
    assert keep.last_merge is None


def test_what_was_changed_by_hand_since_stays(keep, other, by):
    facts = {"phone": other.phone, "email": other.email}
    merged = actions.merge(keep=keep, other=other, by=by, facts=facts)
    keep.refresh_from_db()
    actions.change_client(client=keep, facts={"phone": "085 555 7777"})

    actions.unmerge(merged=merged)

    fresh(keep)
    assert (keep.phone, keep.email) == ("085 555 7777", "")


def test_sent_twice_it_is_done_once(keep, other, by):
    first = actions.merge(keep=keep, other=other, by=by, facts={})
    assert actions.merge(keep=keep, other=other, by=by, facts={"name": "X"}) == first
    fresh(keep)
    assert keep.name == "Mary Larkin"

    undone = actions.unmerge(merged=first)
    assert actions.unmerge(merged=first).undone_at == undone.undone_at
    assert ClientMerge.objects.count() == 1


def test_merges_are_undone_from_the_last(keep, other, by):
    third = ClientFactory()
    first = actions.merge(keep=keep, other=other, by=by, facts={})
    second = actions.merge(keep=keep, other=third, by=by, facts={})
    assert keep.last_merge == second
    with pytest.raises(actions.MergeError, match="another merge since"):
        actions.unmerge(merged=first)
    actions.unmerge(merged=second)
    actions.unmerge(merged=first)
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
        actions.unmerge(merged=first)
    actions.unmerge(merged=second)
    fresh(other, ticket)
    assert other.merged_into == ticket.client == keep
    actions.unmerge(merged=first)
    fresh(other, ticket)
    assert other.merged_into is None
    assert ticket.client == other


def test_an_entry_does_not_become_one_with_itself(keep, by):
    with pytest.raises(actions.MergeError, match="same entry"):
        actions.merge(keep=keep, other=keep, by=by, facts={})


@pytest.mark.parametrize("side", ["keep", "other"])
@pytest.mark.parametrize("gone", ["merged", "erased"])
def test_an_entry_that_is_gone_cannot_be_merged(keep, other, by, side, gone):
    entry = {"keep": keep, "other": other}[side]
    if gone == "merged":
        entry.merged_into = ClientFactory()
    else:
        entry.erased_at = timezone.now()
    entry.save()
    with pytest.raises(actions.MergeError, match="no longer an entry of its own"):
        actions.merge(keep=keep, other=other, by=by, facts={})


@pytest.mark.parametrize("side", ["kept", "gone"])
def test_an_erased_person_does_not_come_back(keep, other, by, side):
    merged = actions.merge(keep=keep, other=other, by=by, facts={})
    Client.objects.filter(pk=getattr(merged, side).pk).update(erased_at=timezone.now())
    with pytest.raises(actions.MergeError, match="erased"):
        actions.unmerge(merged=merged)


def test_a_merge_that_fails_changes_nothing(keep, other, by):
    ticket = TicketFactory(client=other)
    with pytest.raises(AttributeError):
        actions.merge(keep=keep, other=other, by=by, facts={"no_such_fact": "x"})
    fresh(other, ticket)
    assert other.merged_into is None
    assert ticket.client == other
