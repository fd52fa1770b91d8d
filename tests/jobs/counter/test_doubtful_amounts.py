"""An amount at the drop-off that is hard to believe: one question, and nothing typed is lost.

What is believed is common practice; against a sheet, a leg cannot lose more than it is long.
"""

from decimal import Decimal

import pytest

from jobs.tickets.models import Line, Ticket
from tests import factories
from tests.jobs.counter.html_form import Counter

ASKED = "400 cm off the trousers whose inside leg is 78 cm: did you mean 4 cm or 40 cm?"


@pytest.fixture
def hem(studio):
    kind = factories.GarmentKindFactory(name="Trousers")
    return factories.OperationFactory(
        garment_kind=kind, name="Hem", takes_amount=True, usual_basis="leg",
        usual_measure="take_off", work_order=40,
    )  # fmt: skip


@pytest.fixture
def niamh(studio):
    sheet = factories.SheetFactory(client__name="Niamh Yarrow")
    factories.MeasuredFactory(sheet=sheet, key="inseam", mm=Decimal(780), typed="78 cm")
    return sheet.client


def counter(owner_client, hem, amount, client=None):
    client = client or factories.ClientFactory(name="Mary Larkin")
    page = Counter(owner_client, f"/drop-off/?client={client.pk}")
    page.press(f"add-garment:{hem.garment_kind_id}").press(f"add-line:0:{hem.pk}")
    return page.type(g0_l0_amount=amount, g0_l0_note="blue thread")


def test_it_is_asked_at_save_and_what_was_meant_saves_it(owner_client, hem, niamh):
    page = counter(owner_client, hem, "400", niamh).press("save")
    assert not Ticket.objects.exists()
    assert ASKED in page.text
    assert 'href="#id_g0-l0-amount"' in page.text
    assert page.form.fields["g0-l0-amount"] == ["400"]
    assert page.form.fields["g0-l0-note"] == ["blue thread"]
    page.press("save-meant:0:0:4 cm")
    assert Line.objects.get().pinned == "take off 4 cm, each leg"
    assert Line.objects.get().note == "blue thread"


def test_it_is_right_is_asked_once(owner_client, hem, niamh):
    page = counter(owner_client, hem, "400", niamh).press("save").press("save-sure:0:0")
    assert page.response.status_code == 302
    line = Line.objects.get()
    assert line.pinned == "take off 400 cm, each leg"
    # Agreed as it is, a change of the ticket asks no more; another amount is asked about anew.
    change = Counter(owner_client, f"/t/{line.garment.ticket.number}/change/")
    assert "did you mean" not in change.type(g0_l0_note="red thread").press("save").text
    assert Line.objects.get().note == "red thread"
    change = Counter(owner_client, f"/t/{line.garment.ticket.number}/change/")
    assert "did you mean" in change.type(g0_l0_amount="500").press("save").text
    assert Line.objects.get().amount_typed == "400 cm"


def test_it_is_asked_beside_the_amount_before_save_and_the_answer_stays(owner_client, hem, niamh):
    page = counter(owner_client, hem, "400", niamh)
    live = page.client.post("/drop-off/", page.form.fields, headers={"HX-Request": "true"})
    assert ASKED in live.text
    page.press("enter")
    assert ASKED in page.text
    page.press("sure:0:0")
    assert "did you mean" not in page.text
    page.press("save")
    assert Line.objects.get().amount_mm == 4000


def test_an_answer_is_for_that_amount_alone(owner_client, hem, niamh):
    page = counter(owner_client, hem, "400", niamh).press("enter").press("sure:0:0")
    page.type(g0_l0_amount="450").press("save")
    assert "450 cm off the trousers" in page.text
    assert not Ticket.objects.exists()


@pytest.mark.parametrize(
    ("amount", "asked"),
    [
        ("4", ""),
        ("40", ""),
        ("16 in", ""),
        ("400", "400 cm off the trousers, usually at most 50 cm: did you mean 4 cm or 40 cm?"),
        ("0.4 mm", "0.4 mm off the trousers, usually at least 0.2 cm: did you mean 4 mm or 40 mm?"),
    ],
)
def test_without_a_sheet_common_practice_is_asked_against(owner_client, hem, amount, asked):
    page = counter(owner_client, hem, amount).press("save")
    assert Ticket.objects.exists() is not bool(asked)
    assert asked in page.text


def test_an_inside_leg_is_more_than_what_is_cut_off_it(owner_client, hem):
    """A child's leg of 30 cm: 35 is within common practice, and more than there is."""
    sheet = factories.SheetFactory()
    factories.MeasuredFactory(sheet=sheet, key="inseam", mm=Decimal(300), typed="30 cm")
    page = counter(owner_client, hem, "35", sheet.client).press("save")
    assert "35 cm off the trousers whose inside leg is 30 cm: did you mean 3.5 cm?" in page.text


def test_work_measured_later_asks_the_same(owner_client, hem, niamh):
    page = counter(owner_client, hem, "", niamh).type(g0_l0_measure_later="on")
    page.press("save")
    line = Line.objects.get()
    typed = {"amount": "400", "measure": "take_off", "basis": "leg"}
    asked = owner_client.post(f"/lines/{line.pk}/measure/", typed)
    assert ASKED in asked.text
    assert 'name="amount" value="4 cm"' in asked.text
    line.refresh_from_db()
    assert line.amount_mm is None
    owner_client.post(f"/lines/{line.pk}/measure/", typed | {"amount": ["400", "4 cm"]})
    line.refresh_from_db()
    assert line.pinned == "take off 4 cm, each leg"
