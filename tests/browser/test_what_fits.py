"""What fits, and the clock on a make, by thumb; and the clock with JavaScript off."""

from decimal import Decimal

import pytest
from django.urls import reverse

from jobs.makes.models import Make, MakeState
from jobs.planning.models import BenchTime
from tests.browser.hands import Hands, assert_accessible, assert_fits, signed_in
from tests.factories import ClothFactory, MakeFactory, NeedFactory, PatternFactory


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
    page.get_by_role("link", name="What fits").tap()
    page.get_by_role("heading", name="Make now").wait_for()
    assert_fits(page)
    assert_accessible(page)
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


def test_the_clock_without_javascript(browser, browser_context_args, owner, studio):
    make = MakeFactory(words="Red coat")
    context = browser.new_context(**browser_context_args, java_script_enabled=False)
    page = context.new_page()
    signed_in(page, owner)
    page.goto(make.get_absolute_url())
    page.get_by_role("link", name="Minutes at the bench").tap()
    page.get_by_role("button", name="Start the clock").tap()
    page.get_by_role("link", name="Minutes at the bench").tap()
    page.get_by_role("button", name="Stop").tap()
    page.get_by_text("Red coat: 0 min.").wait_for()
    context.close()
    assert BenchTime.objects.get().make == make
