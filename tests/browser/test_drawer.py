"""Do I own this already: two keystrokes at the drawer, on a phone."""

from django.urls import reverse
from playwright.sync_api import expect

from tests import factories as f
from tests.browser.hands import Hands, assert_accessible, assert_fits, signed_in


def test_two_letters_find_a_pattern(page, studio, owner, record_property):
    f.PatternFactory(name="Jüpe portefeuille", number="4126")
    f.PatternFactory.create_batch(30)
    signed_in(page, owner).goto(reverse("pattern-list"))
    hands = Hands(page)
    hands.type("ju")
    expect(page.get_by_role("link", name="Jüpe portefeuille")).to_be_visible()
    expect(page.locator("#found .patterns > li")).to_have_count(1)
    record_property("figure", f"Do I own this already: {hands.count} keystrokes of at most 2")
    assert hands.count == 2
    assert_fits(page)
    assert_accessible(page)


def test_a_pattern_comes_into_the_drawer_and_is_shown_for_a_cloth(page, studio, owner):
    f.ClothFactory(name="Sand linen")
    signed_in(page, owner).goto(reverse("pattern-new"))
    page.get_by_label("Name").fill("Wrap skirt")
    row = page.get_by_role("group", name="Row 1")
    row.get_by_label("Cloth this wide").fill("150 cm")
    row.get_by_label("Takes this much").fill("2.1")
    assert_fits(page)
    assert_accessible(page)
    page.get_by_role("button", name="Into the drawer").tap()
    page.get_by_text("For a cloth on the shelf").tap()
    page.get_by_role("radio", name="Sand linen").check()
    page.get_by_role("button", name="Show for it").tap()
    # 2.10 m are 2.297 yd of 59 in: the chart's next row has 2 3/8 at 58-60 in and 2 5/8 at
    # 52-54; between them 140 cm (55.1 in) are 2.556 yd, 2.337 m, up to the next 5 cm.
    expect(page.get_by_text("2.35 m between two columns of the chart")).to_be_visible()
    assert_fits(page)
    assert_accessible(page)
