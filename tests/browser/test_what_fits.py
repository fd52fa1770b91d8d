"""What fits, and the card of a make, by thumb; and the card with JavaScript off."""

from decimal import Decimal

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from jobs.makes.models import Make, MakeState
from jobs.planning.models import BenchTime
from tests.browser.hands import Hands, assert_accessible, assert_fits, signed_in
from tests.factories import (
    ClothFactory,
    ClothPlanFactory,
    MakeFactory,
    NeedFactory,
    PatternFactory,
    PictureFactory,
)


@pytest.fixture
def pattern(studio):
    pattern = PatternFactory(name="Pyjama trousers", minutes=300)
    NeedFactory(pattern=pattern, width_mm=Decimal(1400), length_mm=Decimal(2000))
    return pattern


@pytest.mark.usefixtures("complaints")
def test_a_pair_becomes_an_idea_and_is_sewn(page, owner, pattern, record_property):
    ClothFactory(name="Moss cotton", width_mm=Decimal(1400), left_mm=Decimal(3000))
    signed_in(page, owner)
    page.goto(reverse("own"))
    page.locator("main").get_by_role("link", name="Make now").tap()
    page.get_by_role("heading", name="Make now").wait_for()
    page.get_by_role("button", name="Make it an idea").tap()
    page.get_by_text("Pyjama trousers of Moss cotton").first.wait_for()
    make = Make.objects.get()
    page.goto(make.get_absolute_url())
    hands = Hands(page)
    hands.tap(page.get_by_role("button", name="Start the clock"))
    stop = page.get_by_role("button", name="Stop")
    stop.wait_for()
    hands.report("Clock on a make", 1, record_property)
    assert_fits(page)
    assert_accessible(page)
    stop.tap()
    page.get_by_role("button", name="Start the clock").wait_for()
    time = BenchTime.objects.get()
    assert (time.make, time.minutes) == (make, 0)
    make.refresh_from_db()
    assert make.state == MakeState.UNDER_WAY


@pytest.mark.usefixtures("complaints")
def test_a_make_is_cut_and_finished_on_its_card(page, owner, pattern):
    """All of it in place: the page is never opened anew."""
    wool = ClothFactory(name="Red wool", left_mm=Decimal(3000))
    make = MakeFactory(words="Red coat", state=MakeState.UNDER_WAY, pattern=pattern)
    ClothPlanFactory(make=make, cloth=wool, mm=Decimal(2200), typed="2.2 m")
    make.pictures.add(PictureFactory(step="idea"), PictureFactory(step="fitted"))
    signed_in(page, owner)
    page.goto(make.get_absolute_url())
    page.evaluate("window.opened = 1")
    expect(page.get_by_role("button", name="Start the clock")).to_be_in_viewport()
    expect(page.get_by_alt_text("Fitted of Red coat")).to_be_in_viewport(ratio=1)

    page.get_by_role("link", name="Idea", exact=True).tap()
    expect(page.get_by_alt_text("Idea of Red coat")).to_be_visible()
    page.get_by_label("Stopped at").fill("Hem")
    page.get_by_label("Stopped at").press("Tab")
    expect(page.locator("#said")).to_contain_text("Changed: Red coat")
    page.locator("#cut").tap()
    expect(page.get_by_label("Used")).to_have_value("2.2 m")
    page.get_by_label("Used").fill("2 m")
    assert_fits(page)
    assert_accessible(page)
    page.get_by_role("button", name="Cut", exact=True).tap()
    expect(page.get_by_text("Cut 2 m, ")).to_be_visible()

    page.locator("#finish").tap()
    expect(page.get_by_label("What is left of Red wool?")).to_have_value("0.8 m")
    page.get_by_label("What is left of Red wool?").fill("0.9 m")
    assert_accessible(page)
    page.get_by_role("button", name="Save as finished").tap()
    expect(page.get_by_role("button", name="Sew it again")).to_be_visible()
    expect(page.locator("#said")).to_contain_text("Finished: Red coat")
    assert page.evaluate("window.opened") == 1
    make.refresh_from_db()
    wool.refresh_from_db()
    assert (make.state, make.stopped, wool.left_mm) == (MakeState.FINISHED, "Hem", 900)
    assert_fits(page)


def test_the_card_without_javascript(plain, owner, studio):
    make = MakeFactory(words="Red coat")
    page = signed_in(plain, owner)
    page.goto(make.get_absolute_url())
    page.get_by_role("button", name="Start the clock").tap()
    page.get_by_role("button", name="Stop").tap()
    expect(page.get_by_text("Red coat: 0 min.")).to_be_visible()
    page.get_by_label("Stopped at").fill("Hem")
    page.get_by_role("button", name="Save", exact=True).first.tap()
    expect(page.get_by_text("Changed: Red coat").first).to_be_visible()
    page.locator("#finish").tap()
    page.get_by_role("button", name="Save as finished").tap()
    expect(page.get_by_role("button", name="Sew it again")).to_be_visible()
    make.refresh_from_db()
    assert (BenchTime.objects.get().make, make.stopped, make.state) == (make, "Hem", "finished")
