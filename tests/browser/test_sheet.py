"""A measurement sheet at the counter: fifteen measures by keyboard alone, and a tape misread."""

from fractions import Fraction

import pytest
from playwright.sync_api import expect

from clients.fit.lengths import parse_length, show_change
from clients.models import Measured, Sheet
from studio.shop import clock
from tests.browser.hands import Hands, assert_accessible, assert_fits, signed_in
from tests.factories import ClientFactory, MeasuredFactory, SheetFactory

# One body in centimetres, in the order of the page.
BODY = {
    "height": "168", "shoulder": "12.5", "high_bust": "88", "bust": "92", "underbust": "78",
    "front_waist": "44", "back_waist": "41", "waist": "72.5", "hip": "98", "waist_to_hip": "20.5",
    "arm_length": "59", "upper_arm": "29", "crotch_depth": "26", "outseam": "104", "inseam": "77",
}  # fmt: skip
SECONDS = 90
KEYS_A_SECOND = 3  # a slow typist's rate (common practice), with a tape in the other hand
MINUS = "\N{MINUS SIGN}"


@pytest.fixture
def mary(studio, owner):
    """Measured before: a waist of 74 cm."""
    client = ClientFactory(name="Mary Larkin")
    last = SheetFactory(
        client=client, taken_by=owner, taken_on=clock.today().replace(day=1).replace(year=2020)
    )
    MeasuredFactory(sheet=last, mm=740, typed="74")
    return client


def test_fifteen_by_keyboard_alone(desktop, mary, owner, record_property):
    hands = Hands(signed_in(desktop, owner))
    desktop.goto(f"/clients/{mary.pk}/sheets/new/")
    for key, value in BODY.items():
        expect(desktop.locator(f"#id_{key}")).to_be_focused()
        hands.type(value)
        if key == "waist":
            waist = desktop.locator(".measure", has=desktop.locator("#id_waist"))
            expect(waist.locator("output")).to_have_text(f"{MINUS}1.5")
            expect(waist).to_contain_text("last 74")
        hands.press("Enter")
    # Where the waist was taken stands as last time; the front length from the side of the neck.
    hands.press("Enter")
    hands.press("Space")
    for _ in range(5):
        hands.press("Enter")
    expect(desktop.get_by_label("The client agrees that these measures are kept")).to_be_focused()
    hands.press("Space")
    hands.press("Enter")
    expect(desktop.get_by_role("button", name="Save", exact=True)).to_be_focused()
    hands.press("Enter")
    desktop.get_by_role("status").get_by_text("The sheet is kept.").wait_for()
    hands.report("A sheet of 15 by keyboard", SECONDS * KEYS_A_SECOND, record_property)
    seconds = round(float(Fraction(hands.count, KEYS_A_SECOND)))
    record_property(
        "figure",
        f"A sheet of 15: {seconds} s of at most {SECONDS} s at {KEYS_A_SECOND} keystrokes a second",
    )
    kept = Measured.objects.filter(sheet=Sheet.objects.latest("pk"))
    assert {one.key: one.typed for one in kept} == BODY
    row = desktop.get_by_role("row", name="Waist 74")
    expect(row).to_contain_text(f"{MINUS}1.5")
    assert_accessible(desktop)


def test_the_difference_while_typing_is_the_servers(desktop, studio, mary, owner):
    """The page against clients.fit.lengths, in inches; nothing where the level is another."""
    studio.unit = studio.Unit.INCH
    studio.save()
    signed_in(desktop, owner).goto(f"/clients/{mary.pk}/sheets/new/")
    field = desktop.get_by_label("Waist", exact=True)
    output = desktop.locator(".measure", has=field).locator("output")
    for typed in (
        "28 3/8",
        "28-3/8",
        "29½",
        '27.5"',
        "5/8",
        "72,5 cm",
        "740 mm",
        "29 1/8 in",
        "30″",
    ):
        field.fill(typed)
        change = parse_length(typed, "in").mm - 740
        expect(output).to_have_text(show_change(change, "in"))
    field.fill("wide")
    expect(output).to_have_text("")
    field.fill("28")
    desktop.get_by_label("Halfway between lowest rib and hip bone").check()
    expect(output).to_have_text("")


def test_a_tape_read_in_inches_is_caught_and_put_right(page, mary, owner):
    signed_in(page, owner).goto(f"/clients/{mary.pk}/sheets/new/")
    page.get_by_label("Hip", exact=True).fill("38")
    page.get_by_label("The client agrees that these measures are kept").check()
    assert_accessible(page)
    assert_fits(page)
    page.get_by_role("button", name="Save", exact=True).tap()
    asked = page.get_by_role("alert")
    expect(asked).to_contain_text("Hip 38: unlikely in centimetres, usual in inches.")
    expect(page.get_by_label("Hip", exact=True)).to_have_value("38")
    assert not Sheet.objects.filter(values__key="hip").exists()
    assert_accessible(page)
    assert_fits(page)
    page.get_by_label("Hip", exact=True).fill("38 in")
    page.get_by_role("button", name="Save all the same").last.tap()
    page.get_by_role("status").get_by_text("The sheet is kept.").wait_for()
    # 38 x 25.4 = 965.2 mm, exact.
    kept = Measured.objects.get(key="hip")
    assert (kept.typed, kept.unit, kept.mm * 10) == ("38 in", "in", 9652)
    assert_fits(page)


def test_enter_loses_nothing_without_javascript(plain, mary, owner):
    page = signed_in(plain, owner)
    page.goto(f"/clients/{mary.pk}/sheets/new/")
    page.get_by_label("Waist", exact=True).fill("72.5")
    page.keyboard.press("Enter")
    expect(
        page.get_by_text("Measures are kept only with the client's agreement.", exact=True)
    ).to_be_visible()
    expect(page.get_by_label("Waist", exact=True)).to_have_value("72.5")
    waist = page.locator(".measure", has=page.locator("#id_waist"))
    expect(waist.locator("output")).to_have_text(f"{MINUS}1.5")
    page.get_by_label("The client agrees that these measures are kept").check()
    page.get_by_role("button", name="Save", exact=True).focus()
    page.keyboard.press("Enter")
    page.get_by_role("status").get_by_text("The sheet is kept.").wait_for()
    assert Sheet.objects.latest("pk").values.get().typed == "72.5"


def test_the_course_and_a_day_ahead(page, mary, owner):
    for month, waist in ((9, 73), (10, 72)):
        sheet = SheetFactory(client=mary, taken_by=owner, taken_on=f"2026-{month:02d}-01")
        MeasuredFactory(sheet=sheet, mm=waist * 10, typed=str(waist))
        MeasuredFactory(sheet=sheet, key="hip", mm=980, typed="98")
    signed_in(page, owner).goto(f"/clients/{mary.pk}/sheets/?day=2099-01-01")
    expect(page.get_by_role("img", name="Waist: 74 on")).to_be_visible()
    expect(page.get_by_text("too few to say")).to_have_count(1)
    assert_accessible(page)
    assert_fits(page)


def test_a_sheet_shows_the_figure_and_what_has_changed_most(page, mary, owner):
    """74 to 72.5 is 15 mm: the tape lies there; a line for what changed by less."""
    sheet = SheetFactory(client=mary, taken_by=owner)
    MeasuredFactory(sheet=sheet, mm=725, typed="72.5")
    MeasuredFactory(sheet=sheet, key="hip", mm=980, typed="98")
    signed_in(page, owner).goto(f"/clients/sheets/{sheet.pk}/")
    figure = page.get_by_role("img", name="seen from the front, measured: waist, hip")
    expect(figure.locator(".laid")).to_have_count(1)
    expect(figure.locator(".taken")).to_have_count(1)
    assert figure.bounding_box()["y"] < 300
    assert_accessible(page)
    assert_fits(page)
    page.set_viewport_size({"width": 320, "height": 700})
    assert_fits(page)


def test_one_measure_at_a_time_under_the_thumb(page, mary, owner, record_property):
    signed_in(page, owner).goto(f"/clients/{mary.pk}/sheets/new/")
    hands = Hands(page)
    hands.tap(page.get_by_role("button", name="One measure at a time"))
    panel = page.locator("[data-one]")
    next_one = panel.locator("[data-next]")
    expect(panel.get_by_role("heading")).to_have_text("Height")
    assert_accessible(page)
    assert_fits(page)
    box = next_one.bounding_box()
    assert box["y"] + box["height"] <= 844
    first = hands.count
    for key in ("1", "6", "8", ".5"):
        hands.tap(panel.get_by_role("button", name=key, exact=True))
    expect(panel.locator("output")).to_have_text("168.5")
    hands.tap(next_one)
    expect(panel.get_by_role("heading")).to_have_text("Shoulder")
    record_property("figure", f"one measure under the thumb: {hands.count - first} taps")
    page.keyboard.press("1")
    page.keyboard.press("2")
    page.keyboard.press("Enter")
    hands.tap(panel.get_by_role("button", name="Skip this one"))
    hands.tap(panel.get_by_role("button", name="The measure before"))
    hands.tap(panel.get_by_role("button", name="Save 2"))
    expect(page.locator("#id_agreed")).to_be_focused()
    hands.tap(panel.get_by_role("button", name="All on one page"))
    expect(page.locator("#id_high_bust")).to_be_focused()
    values = page.locator("#id_height, #id_shoulder, #id_high_bust")
    assert values.evaluate_all("fields => fields.map(field => field.value)") == ["168.5", "12", ""]
    hands.tap(page.get_by_role("button", name="One measure at a time"))
    hands.tap(panel.locator("#id_agreed"))
    hands.tap(panel.get_by_role("button", name="Save 2"))
    expect(page.locator("#sheet")).to_have_count(0)
    assert mary.sheets.count() == 2
