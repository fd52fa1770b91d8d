"""At the counter with the client: marks put by a tap, initials drawn, the paper carries both."""

import re
from decimal import Decimal

import pytest
from PIL import Image
from playwright.sync_api import expect

from jobs.tickets.models import Initials, Mark, Photo
from tests import papers
from tests.browser.hands import Hands, assert_accessible, assert_fits, signed_in
from tests.drafts import hem, received, trousers
from tests.factories import ClientFactory, PhotoFactory


@pytest.fixture
def ticket(studio, owner):
    client = ClientFactory(name="Maeve Tuohy")
    worn = trousers(hem(), shoes="black pumps", heel_typed="7 cm", heel_mm=Decimal(70))
    return received(studio, owner, worn, client=client)


@pytest.fixture
def photo(ticket) -> Photo:
    told = {"file__width": 800, "file__height": 600, "width": 800, "height": 600}
    return PhotoFactory(garment=ticket.garments.get(), **told)


def test_marks_by_tap_and_initials_by_finger_are_on_the_paper(
    page, owner, ticket, photo, record_property
):
    signed_in(page, owner).goto(f"/photos/{photo.pk}/marks/")
    picture = page.get_by_alt_text("Put the mark on the photograph")
    assert picture.bounding_box()["width"] > 300, "The picture is as wide as the page."
    hands = Hands(page)
    page.get_by_label("What is there").focus()
    hands.type("pin")
    tap(picture, 0.25, 0.5)
    expect(page.get_by_role("listitem").filter(has_text="1 pin")).to_be_visible()
    # The place first, then the words.
    tap(picture, 0.75, 0.2)
    expect(page.get_by_label("What is there")).to_be_focused()
    hands.type("hole")
    hands.press("Enter")
    expect(page.get_by_role("listitem").filter(has_text="2 hole")).to_be_visible()
    assert_accessible(page)
    assert_fits(page)
    for mark, (across, down) in zip(Mark.objects.all(), [(250, 500), (750, 200)], strict=True):
        assert abs(mark.across - across) <= 5
        assert abs(mark.down - down) <= 5

    page.goto(f"/t/{ticket.number}/")
    page.get_by_role("link", name="Papers").tap()
    page.get_by_role("link", name="Initials").tap()
    expect(page.get_by_label("Initials", exact=True)).to_have_value("MT")
    assert_accessible(page)
    assert_fits(page)
    page.get_by_role("button", name="Signed on screen").tap()
    page.locator("#refused").get_by_text("Nothing is drawn on the screen yet.").wait_for()
    hands = Hands(page)
    draw(page, page.locator("canvas"))
    hands.tap(page.get_by_role("button", name="Signed on screen"))
    page.wait_for_url(f"**/t/{ticket.number}/")
    page.get_by_role("link", name="Papers").tap()
    page.locator("#papers").get_by_text(re.compile("^Signed on screen:")).wait_for()
    hands.report("Initials after drawing", 1, record_property)
    given = Initials.objects.get()
    with Image.open(given.file) as ink:
        # The stroke fell across most of the field of three to one.
        assert ink.width > 300
        assert ink.height > 60

    address = page.get_by_role("link", name="Agreement").get_attribute("href")
    said = papers.text(page.request.get(page.url.split("/t/")[0] + address).body())
    for words in ("Heel 7 cm", "Shoes: black pumps", "A 1 pin", "A 2 hole", "MT, on screen"):
        assert words in said


def test_without_javascript(plain, owner, ticket, photo):
    page = signed_in(plain, owner)
    page.goto(f"/photos/{photo.pk}/marks/")
    page.get_by_label("What is there").fill("stain")
    tap(page.get_by_alt_text("Put the mark on the photograph"), 0.5, 0.9)
    expect(page.get_by_role("listitem").filter(has_text="1 stain")).to_be_visible()
    mark = Mark.objects.get()
    assert abs(mark.across - 500) <= 5
    assert abs(mark.down - 900) <= 5
    page.get_by_role("button", name="Remove").tap()
    page.get_by_text("No marks yet.").wait_for()

    page.goto(f"/t/{ticket.number}/agreements/1/initials/")
    expect(page.locator("canvas")).to_be_hidden()
    page.get_by_label("Initials", exact=True).fill("M.T.")
    page.get_by_role("button", name="Signed on paper").tap()
    page.get_by_role("link", name="Papers").click()
    page.locator("#papers").get_by_text(re.compile("^Signed on paper:")).wait_for()


def test_a_mark_is_put_by_keyboard_alone(desktop, owner, photo):
    signed_in(desktop, owner).goto(f"/photos/{photo.pk}/marks/")
    desktop.get_by_label("What is there").focus()
    hands = Hands(desktop)
    hands.type("seam")
    desktop.get_by_text("The place in numbers").focus()
    hands.press("Enter")
    desktop.get_by_label("Across: 0 left, 100 right").focus()
    hands.type("12.5")
    desktop.get_by_label("Down: 0 top, 100 bottom").focus()
    hands.type("80")
    hands.press("Enter")
    expect(desktop.get_by_role("listitem").filter(has_text="1 seam")).to_be_visible()
    mark = Mark.objects.get()
    assert (mark.across, mark.down) == (125, 800)
    assert_accessible(desktop)


def tap(picture, across: float, down: float) -> None:
    """A finger on that part of the picture, which has come whole by then."""
    picture.page.wait_for_load_state("load")
    box = picture.bounding_box()
    picture.tap(position={"x": box["width"] * across, "y": box["height"] * down})


def draw(page, canvas) -> None:
    """Up and down again, from the left of the canvas to its right."""
    canvas.scroll_into_view_if_needed()
    box = canvas.bounding_box()
    places = [(0.1, 0.9), (0.3, 0.2), (0.5, 0.9), (0.7, 0.2), (0.9, 0.9)]
    (first, *rest) = [
        (box["x"] + box["width"] * x, box["y"] + box["height"] * y) for x, y in places
    ]
    page.mouse.move(*first)
    page.mouse.down()
    for place in rest:
        page.mouse.move(*place, steps=4)
    page.mouse.up()
