"""Whoever still has a page of an erased or merged entry open writes nothing back into it."""

import pytest

from clients import actions
from clients.models import Client
from studio.shop import clock
from tests.factories import ClientFactory, UserFactory

pytestmark = pytest.mark.django_db


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
    with pytest.raises(actions.GoneError, match="no longer in use"):
        actions.change_client(client=stale, facts={"name": "Mary Larkin"}, by=UserFactory())
    assert Client.objects.get(pk=stale.pk).name == ""
