"""The shelf on a phone: a length is put on it, a piece is cut, and it is taken back."""

from decimal import Decimal

from django.urls import reverse
from playwright.sync_api import expect

from jobs.makes.models import Cloth
from tests import factories as f
from tests.browser.hands import Hands, signed_in


def test_a_cut_of_cloth(page, studio, owner, record_property):
    linen = f.ClothFactory(name="Linen", swatch=f.PictureFactory())
    f.MakeFactory(words="Apron")
    signed_in(page, owner).goto(reverse("cloth-list"))
    hands = Hands(page)
    hands.tap(page.get_by_role("link", name="Linen"))
    page.get_by_role("heading", name="3 m left").wait_for()
    hands.tap(page.get_by_label("How much").first)
    hands.type("1.2")
    hands.choose(page.get_by_label("For", exact=True), "Apron")
    hands.tap(page.get_by_role("button", name="Cut it"))
    page.get_by_text("Cut: 1.2 m. 1.8 m left.").wait_for()
    linen.refresh_from_db()
    assert linen.left_mm == Decimal(1800)
    hands.report("A cut of cloth for a make", 8, record_property)
    page.get_by_role("button", name="Undo").tap()
    page.get_by_role("heading", name="3 m left").wait_for()


def test_too_much_is_said_beside_the_field(page, studio, owner):
    linen = f.ClothFactory(name="Linen")
    signed_in(page, owner).goto(linen.get_absolute_url())
    page.get_by_label("How much").first.fill("4")
    page.get_by_role("button", name="Cut it").tap()
    field = page.get_by_label("How much")
    expect(page.locator(".field", has=field)).to_contain_text("There is 3 m left.")
    expect(field).to_have_value("4")


def test_new_cloth_of_three_answers(page, studio, owner, record_property):
    signed_in(page, owner).goto(reverse("cloth-new"))
    hands = Hands(page)
    for label, typed in (("What it is", "Wool"), ("Usable width", "150"), ("How much", "2.5")):
        hands.tap(page.get_by_label(label))
        hands.type(typed)
    hands.tap(page.get_by_role("button", name="Save cloth").first)
    page.get_by_role("heading", name="2.5 m left").wait_for()
    assert Cloth.objects.latest("pk").name == "Wool"
    hands.report("New cloth on the shelf", 14, record_property)
