"""A Friday, and a sheet as it is sent."""

from uuid import uuid4

import pytest
import time_machine

from tests.factories import ClientFactory, MeasuredFactory, SheetFactory

TODAY = "2026-11-27"


@pytest.fixture(autouse=True)
def friday():
    with time_machine.travel(f"{TODAY} 12:00Z", tick=False) as moment:
        yield moment


@pytest.fixture
def mary(db):
    return ClientFactory(name="Mary Larkin")


@pytest.fixture
def filled():
    """What the form is sent with: consent, and whatever a test adds."""

    def data(**more):
        form = {"taken_on": TODAY, "consent_on": TODAY, "agreed": "on", "form_key": str(uuid4())}
        return form | {"waist_at": "natural", "front_from": "neck_side"} | more

    return data


@pytest.fixture
def measured(mary):
    """A sheet of ``day`` with values in centimetres."""

    def sheet(day=TODAY, client=None, waist_at="natural", **values):
        made = SheetFactory(client=client or mary, taken_on=day, waist_at=waist_at)
        for key, cm in values.items():
            MeasuredFactory(sheet=made, key=key, mm=cm * 10, typed=str(cm))
        return made

    return sheet
