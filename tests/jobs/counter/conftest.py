"""What several tests of the counter stand on."""

import pytest
import time_machine

from tests import factories


@pytest.fixture
def work(studio):
    """A hem on the list, dearer than the one that a ticket of the drafts was agreed at."""
    kind = factories.GarmentKindFactory(name="Trousers")
    return factories.OperationFactory(
        garment_kind=kind, name="Hem", price=3000, takes_amount=True,
        usual_basis="total", usual_measure="take_off",
    )  # fmt: skip


@pytest.fixture
def monday(studio):
    """Monday 2 March, eight in the morning, an hour before the bench opens; no time is lost."""
    factories.PlanRulesFactory(lost_percent=0, own_percent=0)
    with time_machine.travel("2026-03-02 08:00Z", tick=False):
        yield
