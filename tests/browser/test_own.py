"""Ideas on a phone: drawn with a finger, made on a whim, moved by keyboard and without scripts."""

import re
import time
from io import BytesIO

import pytest
from django.urls import reverse
from PIL import Image
from playwright.sync_api import Locator, Page, expect

from jobs.makes.models import Hope, Make, MakeState
from jobs.makes.year.seasons import season_of
from studio.shop import clock
from tests import factories as f
from tests.browser.hands import (
    Hands,
    assert_accessible,
    assert_fits,
    assert_readable_large,
    signed_in,
)
from tests.thorough import left_out


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


def middle(thing: Locator, down: float = 0.5) -> tuple[float, float]:
    thing.scroll_into_view_if_needed()
    box = thing.bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + down * box["height"]


def carry(page: Page, thing: Locator, to: Locator, down: float = 0.5) -> None:
    """With the mouse, to a spot of the target, in parts of its height; that stays as wide."""
    width = to.bounding_box()["width"]
    page.mouse.move(*middle(thing))
    page.mouse.down()
    page.mouse.move(*middle(thing), steps=2)
    expect(page.locator("body")).not_to_have_class(re.compile("dragging"))
    x, y = middle(to, down)
    page.mouse.move(x, y, steps=8)
    expect(to.locator(".slot")).to_be_visible()
    assert to.bounding_box()["width"] == width
    page.mouse.up()


def carry_by_finger(page: Page, thing: Locator, to: Locator, shown: Locator) -> None:
    """Held until it is lifted, moved to the target, and put down once ``shown`` is there."""
    finger = page.context.new_cdp_session(page)

    def touch(kind: str, *spots: tuple[float, float]) -> None:
        points = [{"x": x, "y": y} for x, y in spots]
        finger.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    x, y = middle(thing)
    touch("touchStart", (x, y))
    expect(thing).to_have_class(re.compile("chosen"))
    for step in range(1, 4):
        touch("touchMove", (x, y - 8 * step))
    expect(page.locator("body")).to_have_class(re.compile("dragging|giving"))
    box = to.bounding_box()
    far, high = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    for step in range(1, 9):
        touch("touchMove", (x + (far - x) * step / 8, y - 24 + (high - y + 24) * step / 8))
    expect(shown).to_be_visible()
    touch("touchEnd")


def dark_at(make: Make, across: float, down: float) -> bool:
    """Whether the sketch has ink at a spot, given in parts of its width and height."""
    with make.pictures.get().file.open("rb") as file:
        sketch = Image.open(BytesIO(file.read())).convert("L")
    x, y = across * sketch.width, down * sketch.height
    return sketch.crop((int(x) - 6, int(y) - 6, int(x) + 6, int(y) + 6)).getextrema()[0] < 90


def in_order(page: Page, area: str, words: list[str]) -> None:
    expect(page.locator(f'[data-area="{area}"] > .tile .face')).to_have_text(words)


def picture_file(name: str = "shot.jpg") -> dict:
    file = BytesIO()
    Image.new("RGB", (300, 200), "teal").save(file, "JPEG")
    return {"name": name, "mimeType": "image/jpeg", "buffer": file.getvalue()}


def test_an_idea_is_kept_in_two_taps_and_in_a_few_words(page, studio, owner, record_property):
    """A saved picture: New idea, Pictures, and the picture itself in the phone's own list."""
    signed_in(page, owner).goto(reverse("cloth-list"))
    hands = Hands(page)
    hands.tap(page.get_by_role("link", name="New idea").last)
    with page.expect_file_chooser() as chosen:
        hands.tap(page.locator(".ways").get_by_text("Pictures"))
    chosen.value.set_files([picture_file(), picture_file("b.jpg")])
    hands.done.append("(tap)")
    expect(page.get_by_text("Kept in Loose")).to_be_visible()
    assert Make.objects.get().pictures.count() == 2
    hands.report("An idea with a saved picture", 3, record_property)
    assert_fits(page)
    assert_accessible(page)
    page.get_by_label("Call it").fill("Linen top")
    page.locator(".kept").get_by_role("button", name="Save").tap()
    expect(page.locator(".tile .cap")).to_have_text(["Linen top"])
    page.wait_for_load_state()

    hands = Hands(page)
    hands.tap(page.get_by_role("link", name="New idea").last)
    expect(page.locator("#new-words")).to_be_focused()
    hands.type("Wrap skirt")
    hands.tap(page.locator(".new-idea").get_by_role("button", name="Save"))
    expect(page.get_by_text("Kept in Loose")).to_be_visible()
    hands.report("A new idea of ten letters", 12, record_property)
    assert Make.objects.filter(words="Wrap skirt").exists()


def test_an_idea_drawn_with_a_finger(page, studio, owner, record_property):
    signed_in(page, owner).goto(reverse("own"))
    hands = Hands(page)
    hands.tap(page.locator("main").get_by_role("link", name="Draw"))
    expect(page.locator("canvas")).to_be_visible()
    draw(page, [(0.2, 0.2), (0.3, 0.2), (0.5, 0.2), (0.8, 0.2)])
    draw(page, [(0.2, 0.5), (0.8, 0.5)])
    page.get_by_role("button", name="red").tap()
    page.get_by_role("button", name="brush").tap()
    draw(page, [(0.2, 0.8), (0.8, 0.8)])
    hands.tap(button(page, "Clear the sheet"))
    hands.tap(button(page, "Take back a stroke"))
    assert_fits(page)
    assert_accessible(page)
    hands.tap(button(page, "Save drawing"))
    expect(page.get_by_text("Kept in Loose")).to_be_visible()
    make = Make.objects.get()
    assert make.pictures.get().drawn
    seen = [dark_at(make, 0.5, down) for down in (0.2, 0.35, 0.5)]
    assert seen == [True, False, True]
    with make.pictures.get().file.open("rb") as file:
        red, _green, blue = Image.open(BytesIO(file.read())).convert("RGB").getpixel((450, 880))
    assert red > blue + 60
    hands.report("An idea drawn", 4, record_property)


@pytest.fixture
def three_ideas(studio):
    return [f.MakeFactory(words=words, place=n) for n, words in enumerate("abc")]


def test_pictures_are_carried_with_keys_and_mouse_and_cloth_is_given(
    desktop, owner, three_ideas, record_property
):
    pile, cloth = f.PileFactory(name="Choir"), f.ClothFactory(name="Sand linen")
    f.ClothFactory(name="Rust corduroy")
    page = signed_in(desktop, owner)
    page.goto(reverse("own"))
    told = page.locator("[data-told]")
    page.locator(".tile a", has_text="c").last.focus()
    hands = Hands(page)
    hands.press("Space")
    expect(told).to_have_text("now 3rd of 3 in Loose")
    hands.press("Home")
    expect(told).to_have_text("now 1st of 3 in Loose")
    hands.press("Space")
    expect(told).to_have_text("c: now 1st of 3 in Loose")
    in_order(page, "idea", ["c", "a", "b"])
    hands.report("From the last place to the first", 3, record_property)
    assert [make.words for make in Make.objects.all()] == ["c", "a", "b"]
    page.get_by_role("button", name="Undo").click()
    expect(told).to_have_text("c: now 3rd of 3 in Loose")
    in_order(page, "idea", ["a", "b", "c"])

    page.locator(".tile a", has_text="b").first.focus()
    page.keyboard.press("Space")
    page.keyboard.press("PageUp")
    expect(told).to_have_text("now 1st of 1 in Choir")
    page.keyboard.press("Escape")
    in_order(page, "idea", ["a", "b", "c"])

    page.keyboard.press("Space")
    page.keyboard.press("ArrowLeft")
    expect(told).to_have_text("now 1st of 3 in Loose")
    page.keyboard.press("Enter")
    expect(told).to_have_text("b: now 1st of 3 in Loose")
    assert page.url.endswith(reverse("own"))
    page.get_by_role("button", name="Undo").click()
    expect(told).to_have_text("b: now 2nd of 3 in Loose")
    in_order(page, "idea", ["a", "b", "c"])

    target = page.locator(f'[data-area="pile-{pile.pk}"]')
    carry(page, page.locator('[data-area="idea"] > .tile').first, target, down=0.9)
    expect(told).to_have_text("a: now 1st of 1 in Choir")
    in_order(page, f"pile-{pile.pk}", ["a"])
    assert pile.makes.get().words == "a"

    page.get_by_role("button", name="Sand linen").click()
    expect(page.get_by_text("Sand linen in your hand", exact=True)).to_be_visible()
    page.locator('[data-area="idea"] > .tile').first.click()
    expect(page.get_by_text("Sand linen is meant for b", exact=True).last).to_be_visible()
    page.get_by_role("button", name="Put down").click()
    assert cloth.plans.get().make.words == "b"
    assert_fits(page)
    assert_accessible(page)
    # The tray is open here, as it is not where the page is opened on a phone.
    assert_readable_large(page, page.context.new_cdp_session(page))


def test_the_wall_is_tidied_without_javascript(plain, owner, three_ideas):
    f.PileFactory(name="Choir")
    page = signed_in(plain, owner)
    page.goto(reverse("own"))
    tidy = page.locator(".chips").get_by_role("link", name="Tidy")
    expect(tidy).to_be_in_viewport(ratio=1)
    tidy.tap()
    expect(page.locator(".to-fill")).to_contain_text("Tick pictures, and choose this pile")
    for number in (1, 2):
        page.locator('[data-area="idea"] > .tile').nth(number).tap(position={"x": 20, "y": 90})
    expect(page.get_by_label("Tick b in Loose")).to_be_checked()
    expect(page.get_by_label("Tick c in Loose")).to_be_checked()
    bar = page.get_by_role("region", name="Tidy")
    assert bar.bounding_box()["height"] <= 120
    page.get_by_text("Move to…").tap()
    page.get_by_role("group", name="Piles").get_by_role("button", name="Choir").tap()
    expect(page.get_by_text("2 pictures now in Choir.")).to_be_visible()
    expect(page.locator("section", has_text="Choir").locator(".tile .face")).to_have_text(
        ["b", "c"]
    )


def test_things_are_carried_into_the_seasons_of_a_year(
    desktop, owner, three_ideas, record_property
):
    """By keys, by mouse, and back; the server's answer is what is waited for each time."""
    gap = f.GapFactory(words="Warm trousers")
    year = season_of(clock.today(), 1).year + 1
    page = signed_in(desktop, owner)
    page.goto(reverse("board-of", args=[year]))
    told, head = page.locator("[data-told]"), page.locator('[data-part="head"]')
    hands = Hands(page)

    def lying(area: str) -> list[str]:
        rows = Hope.objects.filter(until=None, year=year, season=area)
        return [str(hope.make or hope.gap) for hope in rows]

    def tile(name: str):
        return page.locator(f'[data-area] > .tile[data-name="{name}"]')

    for number, name in enumerate("ab", 1):
        tile(name).locator("a").focus()
        hands.press("Space")
        expect(told).to_have_text("now in Some time")
        hands.press("PageDown")
        expect(told).to_have_text(f"now 1st of {number} in Winter")
        hands.press("End")
        hands.press("Space")
        expect(head).to_have_text(re.compile(f"^{number} hoped for"))
    assert lying("winter") == ["a", "b"]
    hands.press("Space")
    hands.press("ArrowLeft")
    expect(told).to_have_text("now 1st of 2 in Winter")
    hands.press("Space")
    expect(told).to_have_text("b: now 1st of 2 in Winter")
    assert lying("winter") == ["b", "a"]
    hands.press("Space")
    hands.press("PageDown")
    hands.press("Escape")
    in_order(page, "winter", ["b", "a"])

    carry(page, tile("Warm trousers"), page.locator('[data-area="summer"]'))
    expect(told).to_have_text("Warm trousers: now 1st of 1 in Summer")
    carry(page, tile("a"), page.locator('[data-area="some-time"]'))
    expect(told).to_have_text("a: now in Some time")
    assert (lying("winter"), lying("summer")) == (["b"], ["Warm trousers"])
    assert gap.hopes.get().until is None
    assert_fits(page)
    assert_accessible(page)
    page.get_by_role("button", name="Undo").click()
    in_order(page, "winter", ["b", "a"])


def test_pictures_are_carried_by_finger(page, owner, three_ideas):
    """On the wall to the empty part of a pile, from the tray to a picture, on the board to a
    season that lies out of sight; the server's answer is waited for each time.
    """
    pile, cloth = f.PileFactory(name="Choir"), f.ClothFactory(name="Sand linen")
    f.PilePlaceFactory(pile=pile, make=f.MakeFactory(words="d"))
    signed_in(page, owner).goto(reverse("own"))
    told, lying = page.locator("[data-told]"), page.locator(f'[data-area="pile-{pile.pk}"]')
    loose = page.locator('[data-area="idea"] > .tile')
    carry_by_finger(page, loose.first, lying, lying.locator(".slot"))
    expect(told).to_contain_text("of 2 in Choir")
    assert sorted(make.words for make in pile.makes.all()) == ["a", "d"]

    page.get_by_text("Cloth and patterns").tap()
    snip = page.locator("[data-tray] .snips > li")
    carry_by_finger(page, snip, loose.first, page.locator(".aimed"))
    expect(told).to_have_text("Sand linen is meant for b")
    assert cloth.plans.get().make.words == "b"

    year = season_of(clock.today(), 1).year + 1
    page.goto(reverse("board-of", args=[year]))
    drop = page.locator('[data-drop="summer"]')
    some_time = page.locator('[data-area="some-time"] > .tile')
    carry_by_finger(page, some_time.first, drop, drop.locator(".slot"))
    expect(told).to_contain_text("now 1st of 1 in Summer")
    assert Hope.objects.get(until=None).season == "summer"


def test_made_already(page, studio, owner, record_property):
    signed_in(page, owner).goto(reverse("own"))
    hands = Hands(page)
    hands.tap(page.locator("#start-words"))
    hands.type("Tote bag")
    hands.tap(page.locator("main").get_by_role("button", name="Made already"))
    expect(page.locator("h1", has_text="made already")).to_be_visible()
    make = Make.objects.get()
    assert (make.state, make.finished_on) == (MakeState.FINISHED, clock.today())
    assert hands.done.count("(tap)") <= 3
    assert_fits(page)
    page.get_by_label("Photograph: Worn").set_input_files(picture_file())
    expect(page.get_by_alt_text("Worn of Tote bag")).to_be_visible()


@pytest.mark.parametrize("count", [8, left_out(200)])
def test_the_first_screen_of_a_phone_holds_six_pictures(page, studio, owner, count):
    """Counted as seen: at least half of each picture's face above what lies at the foot."""
    makes = [f.MakeFactory(words=f"Idea {n}", place=n) for n in range(count)]
    for make in makes[:3]:
        f.PilePlaceFactory(make=make, pile__name=f"Pile {make.pk}")
    signed_in(page, owner).goto(reverse("own"))
    expect(page.locator(".face").first).to_be_visible()
    foot = page.locator(".shelf").bounding_box()["y"]
    boxes = page.locator("main .face").evaluate_all(
        "all => all.map(one => one.getBoundingClientRect()).map(box => [box.y, box.height, box.x])"
    )
    seen = [1 for top, height, left in boxes if top + height / 2 <= foot and left < 390]
    assert len(seen) >= 6
    assert_fits(page)


def test_what_became_of_ten_makes_is_eleven_taps(page, studio, owner, record_property):
    for number in range(10):
        f.MakeFactory(words=f"Make {number}", state=MakeState.FINISHED, finished_on=clock.today())
    signed_in(page, owner).goto(reverse("makes"))
    hands, started = Hands(page), time.monotonic()
    hands.tap(page.get_by_role("link", name="Never judged: Make 9"))
    bar = page.get_by_role("region", name="What became of it")
    for number in range(9, -1, -1):
        expect(bar.locator("b").last).to_have_text(f"Make {number}")
        hands.tap(bar.get_by_role("button", name="Worn often"))
    expect(page.get_by_role("link", name="Worn often: Make 0")).to_be_visible()
    expect(bar).to_have_count(0)
    took = time.monotonic() - started
    assert Make.objects.filter(fate="often").count() == 10
    hands.report("What became of ten makes", 11, record_property)
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
    page.goto(reverse("own"))
    page.locator("details").evaluate_all("all => all.forEach(one => one.open = true)")
    assert_fits(page)
    assert_accessible(page)
    boxes = page.locator("main :is(.btn, summary)").all()
    small = [box for one in boxes if (box := one.bounding_box()) and box["height"] < 44]
    assert small == []
