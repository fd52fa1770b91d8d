"""Ideas on a phone: drawn with a finger, made on a whim, moved by keyboard and without scripts."""

import re
import time
from io import BytesIO

import pytest
from django.urls import reverse
from PIL import Image
from playwright.sync_api import Page, expect

from jobs.makes.models import Make, MakeState
from studio.shop import clock
from tests import factories as f
from tests.browser.hands import Hands, assert_accessible, assert_fits, signed_in

TEN_SECONDS = 10


def button(page: Page, name: str, card: str = ".*"):
    """A button by how its name begins, and by the card that it speaks of."""
    return page.get_by_role("button", name=re.compile(rf"^{name}\b.*{card}$"))


def draw(page: Page, spots: list[tuple[float, float]]) -> None:
    """One stroke of a finger: touches as chromium itself sends them, in parts of the sheet."""
    box = page.locator("canvas").bounding_box()
    finger = page.context.new_cdp_session(page)
    for number, (across, down) in enumerate(spots):
        point = {"x": box["x"] + across * box["width"], "y": box["y"] + down * box["height"]}
        kind = "touchMove" if number else "touchStart"
        finger.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [point]})
    finger.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})


def dark_at(make: Make, across: float, down: float) -> bool:
    """Whether the sketch has ink at a spot, given in parts of its width and height."""
    with make.pictures.get().file.open("rb") as file:
        sketch = Image.open(BytesIO(file.read())).convert("L")
    x, y = across * sketch.width, down * sketch.height
    return sketch.crop((int(x) - 6, int(y) - 6, int(x) + 6, int(y) + 6)).getextrema()[0] < 90


def assert_hung(page: Page, state: str, names: list[str]) -> None:
    expect(page.locator(f"[aria-labelledby=part-{state}] h3")).to_have_text(names)


def test_an_idea_in_a_few_words(page, studio, owner, record_property):
    signed_in(page, owner).goto(reverse("own"))
    hands, started = Hands(page), time.monotonic()
    hands.tap(page.get_by_label("A new idea, in a few words"))
    hands.type("Linen top")
    hands.tap(button(page, "Save idea"))
    page.get_by_role("heading", name="Linen top").wait_for()
    took = time.monotonic() - started
    assert_hung(page, "idea", ["Linen top"])
    hands.report("A new idea of nine letters", 11, record_property)
    record_property("figure", f"A new idea: the machine took {took:.1f} s of it")
    assert took < TEN_SECONDS


def test_an_idea_drawn_with_a_finger(page, studio, owner, record_property):
    signed_in(page, owner).goto(reverse("own"))
    hands, started = Hands(page), time.monotonic()
    hands.tap(page.get_by_label("A new idea, in a few words"))
    hands.type("Wrap skirt")
    hands.tap(button(page, "Draw"))
    draw(page, [(0.2, 0.2), (0.3, 0.2), (0.5, 0.2), (0.8, 0.2)])
    draw(page, [(0.2, 0.5), (0.8, 0.5)])
    draw(page, [(0.2, 0.8), (0.8, 0.8)])
    hands.tap(button(page, "Take back a stroke"))
    assert_fits(page)
    assert_accessible(page)
    hands.tap(button(page, "Save idea"))
    page.get_by_role("heading", name="Wrap skirt").wait_for()
    took = time.monotonic() - started
    make = Make.objects.get()
    assert make.pictures.get().drawn
    seen = [dark_at(make, 0.5, down) for down in (0.2, 0.35, 0.5, 0.8)]
    assert seen == [True, False, True, False]
    hands.report("An idea with a sketch, its strokes apart", 14, record_property)
    record_property("figure", f"An idea with a sketch: the machine took {took:.1f} s of it")


def test_a_cleared_sheet_comes_back_and_an_empty_one_is_no_picture(desktop, studio, owner):
    signed_in(desktop, owner).goto(reverse("own"))
    desktop.get_by_label("A new idea, in a few words").fill("Coat")
    button(desktop, "Draw").click()
    box = desktop.locator("canvas").bounding_box()
    desktop.mouse.move(box["x"] + box["width"] * 0.2, box["y"] + box["height"] * 0.2)
    desktop.mouse.down()
    desktop.mouse.move(box["x"] + box["width"] * 0.8, box["y"] + box["height"] * 0.2)
    desktop.mouse.up()
    button(desktop, "Clear the sheet").click()
    button(desktop, "Take back a stroke").click()
    button(desktop, "Save idea").click()
    desktop.get_by_role("heading", name="Coat").wait_for()
    assert dark_at(Make.objects.get(), 0.5, 0.2)

    desktop.get_by_label("A new idea, in a few words").fill("Cape")
    button(desktop, "Draw").click()
    button(desktop, "Save idea").click()
    desktop.get_by_role("heading", name="Cape").wait_for()
    assert not Make.objects.get(words="Cape").pictures.exists()


def test_made_on_a_whim(page, studio, owner, record_property):
    signed_in(page, owner).goto(reverse("own"))
    hands = Hands(page)
    hands.tap(page.get_by_label("A new idea, in a few words"))
    hands.type("Tote bag")
    hands.tap(button(page, "Made already"))
    page.get_by_text("without having been planned").wait_for()
    make = Make.objects.get()
    assert (make.state, make.finished_on) == (MakeState.FINISHED, clock.today())
    taps = hands.done.count("(tap)")
    record_property("figure", f"Made already: {taps} taps and the words")
    assert taps <= 3
    assert_fits(page)

    file = BytesIO()
    Image.new("RGB", (300, 200), "teal").save(file, "JPEG")
    shot = {"name": "shot.jpg", "mimeType": "image/jpeg", "buffer": file.getvalue()}
    page.get_by_label("Photograph").set_input_files(shot)
    button(page, "Save picture").tap()
    expect(page.get_by_alt_text(re.compile("Photograph .* of Tote bag"))).to_be_visible()


def test_one_tap_from_an_idea_and_one_to_undo_it(page, studio, owner, record_property):
    f.MakeFactory(words="Coat")
    signed_in(page, owner).goto(reverse("own"))
    hands = Hands(page)
    hands.tap(button(page, "Start it", "Coat"))
    page.get_by_text("Under way: Coat", exact=True).wait_for()
    assert_hung(page, "under_way", ["Coat"])
    hands.report("An idea started", 1, record_property)
    hands.tap(button(page, "Undo"))
    page.get_by_text("Undone: Under way: Coat").wait_for()
    assert_hung(page, "idea", ["Coat"])


def carry_third_to_the_top(page: Page, press) -> None:
    press(page.locator("summary", has_text="third"))
    press(button(page, "Up", "third"))
    page.wait_for_url("**did=up")
    expect(button(page, "Up", "third")).to_be_focused()
    page.keyboard.press("Enter")
    expect(button(page, "Down", "third")).to_be_focused()
    assert_hung(page, "idea", ["third", "first", "second"])
    press(button(page, "Plan next", "third"))
    page.get_by_text("Planned next: third", exact=True).wait_for()
    assert_hung(page, "lined_up", ["third"])


@pytest.fixture
def _three_ideas(studio):
    for words in ("third", "second", "first"):
        f.MakeFactory(words=words)


@pytest.mark.usefixtures("_three_ideas")
def test_a_card_is_moved_by_keyboard_alone(desktop, owner):
    signed_in(desktop, owner).goto(reverse("own"))

    def press(target) -> None:
        """Tab until the target has the focus, then press it."""
        for _ in range(80):
            if target.evaluate("it => it === document.activeElement"):
                break
            desktop.keyboard.press("Tab")
        expect(target).to_be_focused()
        desktop.keyboard.press("Enter")

    carry_third_to_the_top(desktop, press)


@pytest.mark.usefixtures("_three_ideas")
def test_a_card_is_moved_without_javascript(new_context, live_server, owner):
    page = signed_in(new_context(java_script_enabled=False).new_page(), owner)
    page.goto(reverse("own"))
    expect(button(page, "Draw")).to_be_hidden()
    carry_third_to_the_top(page, lambda target: target.tap())
    button(page, "Undo").tap()
    page.get_by_text("Undone: Planned next: third").wait_for()
    assert_hung(page, "idea", ["third", "first", "second"])


def test_what_became_of_ten_makes_is_ten_taps(page, studio, owner, record_property):
    for number in range(10):
        f.MakeFactory(words=f"Make {number}", state=MakeState.FINISHED, finished_on=clock.today())
    signed_in(page, owner).goto(reverse("makes"))
    hands, started = Hands(page), time.monotonic()
    for number in range(10):
        hands.tap(button(page, "Worn often", f"Make {number}"))
        expect(button(page, "Worn often", f"Make {number}")).to_have_attribute(
            "aria-pressed", "true"
        )
    took = time.monotonic() - started
    assert Make.objects.filter(fate="often").count() == 10
    hands.report("What became of ten makes", 10, record_property)
    record_property("figure", f"What became of a make: the machine took {took / 10:.2f} s of it")
    assert_fits(page)


def test_every_state_of_a_make_shuts_nobody_out(page, studio, owner):
    signed_in(page, owner)
    told = {"finished_on": clock.today(), "let_go_at": clock.now(), "heat": 4}
    for state in MakeState:
        make = f.MakeFactory(state=state, wear_by="2001-01-01", planned=True, **told)
        make.pictures.add(f.PictureFactory())
        f.ClothPlanFactory(make=make, cloth__swatch=f.PictureFactory(), typed="1.6 m")
        page.goto(make.get_absolute_url())
        assert_fits(page)
        assert_accessible(page)
    page.goto(f"{reverse('own')}?at={Make.objects.first().pk}")
    page.locator("details").evaluate_all("all => all.forEach(one => one.open = true)")
    assert_fits(page)
    assert_accessible(page)
    boxes = page.locator("main :is(.btn, summary, .with-it a)").all()
    small = [box for one in boxes if (box := one.bounding_box()) and box["height"] < 44]
    assert small == []
