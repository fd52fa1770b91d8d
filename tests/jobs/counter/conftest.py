"""What several tests of the counter stand on."""

import pytest

from tests import factories


@pytest.fixture
def work(studio):
    """A hem on the list, dearer than the one that a ticket of the drafts was agreed at."""
    kind = factories.GarmentKindFactory(name="Trousers")
    return factories.OperationFactory(
        garment_kind=kind, name="Hem", price=3000, takes_amount=True,
        usual_basis="total", usual_measure="take_off",
    )  # fmt: skip
