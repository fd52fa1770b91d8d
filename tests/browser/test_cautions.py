"""A child's night dress: its caution at the counter, read once, printed on the work sheet."""

import re
from io import BytesIO
from unicodedata import normalize

import pytest
from django.urls import reverse
from playwright.sync_api import expect
from pypdf import PdfReader

from jobs.tickets.models import CautionRead, Garment
from tests import factories
from tests.browser.hands import assert_accessible, assert_fits, signed_in

TICKET_PAGE = re.compile(r"/t/\d\d-\d{4}/$")


@pytest.fixture
def counter(page, studio, owner):
    """The drop-off page with a client chosen and a night dress on the table."""
    kind = factories.GarmentKindFactory(name="Night dress", concern="child_night")
    factories.OperationFactory(garment_kind=kind, name="Hem")
    mary = factories.ClientFactory(name="Mary Larkin")
    signed_in(page, owner).goto(f"{reverse('drop-off')}?client={mary.pk}")
    page.get_by_role("button", name="Night dress").tap()
    return page


def choose_the_hem(page) -> None:
    page.get_by_role("button", name=re.compile("^Hem")).tap()
    expect(page.get_by_role("heading", name="Hem")).to_be_visible()


def work_sheet(page) -> str:
    address = reverse("ticket-work-sheet", args=[Garment.objects.get().ticket.number])
    answer = page.request.get(address)
    text = " ".join(sheet.extract_text() for sheet in PdfReader(BytesIO(answer.body())).pages)
    # Ligatures are taken apart again.
    return " ".join(normalize("NFKC", text).split())


def test_from_the_counter_to_the_work_sheet(counter, owner):
    page = counter
    caution = page.get_by_text("Do not let it out or trim it without asking")
    expect(caution).to_be_visible()
    assert_fits(page)
    assert_accessible(page)
    choose_the_hem(page)
    page.get_by_label("I have read this: Children's night clothes").tap()
    page.get_by_role("button", name="Save ticket").tap()
    page.get_by_role("link", name=re.compile("open the ticket")).tap()
    page.wait_for_url(TICKET_PAGE)
    read = page.get_by_text(f"Read by {owner.shown_name}")
    expect(read).to_have_count(1)

    page.get_by_role("button", name=re.compile("I have read this.*Cords")).tap()
    expect(read).to_have_count(2)
    expect(page.get_by_role("button", name=re.compile("I have read this"))).to_have_count(0)
    assert CautionRead.objects.count() == 2
    assert_fits(page)
    assert_accessible(page)
    said = work_sheet(page)
    assert "Caution, children's night clothes: Do not let it out or trim it" in said
    assert said.count(f"Read by {owner.shown_name}") == 2


def test_the_care_label_is_noted_on_the_ticket_and_printed(counter):
    page = counter
    choose_the_hem(page)
    page.get_by_role("button", name="Save ticket").tap()
    page.get_by_role("link", name=re.compile("open the ticket")).tap()
    page.wait_for_url(TICKET_PAGE)
    page.get_by_role("link", name="Fit", exact=True).tap()
    page.get_by_text("Care label", exact=True).tap()
    page.get_by_label("Fibres on the label").fill("80 % wool 20 % polyamide")
    page.get_by_label("Iron on the label").select_option(label="Two dots")
    assert_fits(page)
    page.get_by_role("button", name="Save label").tap()
    page.get_by_role("link", name="Fit", exact=True).tap()
    expect(page.get_by_text("Press at most 110 °C (1 dot, no steam)")).to_be_visible()
    assert "Press at most 110 °C (1 dot, no steam): polyamide" in work_sheet(page)


def test_new_or_worn_changes_the_note_while_the_tick_stays(counter):
    page = counter
    choose_the_hem(page)
    page.get_by_label("I have read this: Cords").tap()
    page.get_by_text("Condition, things left").tap()
    page.get_by_label("New, never worn").tap()
    expect(page.get_by_text("modifying used clothing carries the reduced rate")).to_be_visible()
    expect(page.get_by_label("I have read this: Cords")).to_be_checked()
    assert_fits(page)


def test_the_page_of_all_cautions(page, studio, owner):
    signed_in(page, owner).goto(reverse("cautions"))
    assert_fits(page)
    assert_accessible(page)
    page.get_by_label("Hangs out at each end").fill("3 1/4 in")
    page.get_by_label("Size on the label").fill("10")
    page.get_by_label("Where").select_option(label="Waist or lower edge")
    page.get_by_role("button", name="Look it up").first.tap()
    expect(page.get_by_text("At most 3 in (7.6 cm) may hang out at each end.")).to_be_visible()
