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
    desktop.locator("summary", has_text="Compare").click()
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
    page.set_viewport_size({"width": 320, "height": 700})
    assert_fits(page)


# The same body for a gown: twenty measures in the order of the page, the front before the back.
GOWN = {
    "height": "168", "shoulder": "12", "across_front": "34", "high_bust": "88", "bust": "92",
    "underbust": "78", "bust_span": "18", "bust_point_len": "26", "front_waist": "44",
    "hollow_hem": "142", "waist": "72.5", "high_hip": "90", "hip": "98", "across_back": "35",
    "back_waist": "41", "waist_to_hip": "20", "arm_length": "59", "upper_arm": "29", "wrist": "16",
    "outseam": "104",
}  # fmt: skip
ONCE = "localStorage.setItem('measure-one', 'one'); localStorage.setItem('measure-set', 'gown')"


def keys_of(value):
    return [*value.replace(".5", ""), *([".5"] if value.endswith(".5") else [])]


def kept(page):
    expect(page.locator("#said")).to_contain_text("The sheet is kept.")
    return {one.key: one.typed for one in Measured.objects.filter(sheet=Sheet.objects.latest("pk"))}


def in_view(panel, width, height):
    """The number keys, Next and Save lie within the window, and nothing scrolls."""
    for what in ("[data-press='7']", "[data-press='0']", "[data-next]", "[data-save]"):
        box = panel.locator(what).bounding_box()
        assert box["y"] + box["height"] <= height, what
        assert box["x"] + box["width"] <= width, what
    assert panel.page.evaluate("document.documentElement.scrollHeight <= innerHeight")


@pytest.mark.parametrize("before", [True, False])
def test_twenty_measures_under_the_thumb(page, mary, owner, record_property, before):
    """A client who was never measured, and one a year later, half a centimetre more in some."""
    if before:
        last = mary.sheets.get()
        last.values.all().delete()
        for key, typed in GOWN.items():
            less = Fraction(typed) - Fraction(len(key) % 3 == 0, 2)
            MeasuredFactory(sheet=last, key=key, mm=float(less * 10), typed=f"{float(less):g}")
    else:
        SheetFactory(taken_by=owner, front_from="neck_side")
        mary = ClientFactory()
    signed_in(page, owner).goto(f"/clients/{mary.pk}/sheets/new/")
    page.evaluate(ONCE)
    page.reload()
    hands, panel = Hands(page), page.locator("[data-one]")
    name = panel.get_by_role("heading", level=2)
    expect(name).to_have_text("Height")
    keys_stand = set()
    for place, (key, value) in enumerate(GOWN.items()):
        expect(panel.locator(".one-tape > i").nth(place)).to_have_class("here")
        keys_stand.add(panel.locator("[data-press='0']").bounding_box()["y"])
        exact = panel.locator("[data-near]").get_by_text(value, exact=True)
        if before:
            hands.tap(exact)
        else:
            for press in keys_of(value):
                hands.tap(panel.locator(f"[data-press='{press}']"))
        if before and key == "front_waist":
            # The fact that the last sheet left open; what was typed meanwhile stays.
            asked = panel.get_by_role("heading", name="Where does the front length begin")
            expect(asked).to_be_visible()
            hands.tap(panel.get_by_role("button", name="From the side of the neck"))
        if key == "high_bust":
            in_view(panel, 390, 844)
            if before:
                assert_accessible(page)
            page.set_viewport_size({"width": 320, "height": 568})
            in_view(panel, 320, 568)
            page.set_viewport_size({"width": 390, "height": 844})
    assert len(keys_stand) == 1, "the thumb has to look for the keys"
    hands.tap(panel.get_by_role("button", name="The client agrees: save 20"))
    assert kept(page) == GOWN
    who = "measured before" if before else "never measured"
    hands.report(f"20 measures under the thumb, {who}", 45, record_property)


def test_two_missing_measures_without_going_through_the_rest(page, mary, owner, record_property):
    """From the client's measures: hollow to hem by its name, the wrist by its mark on the tape."""
    last = mary.sheets.get()
    for key in GOWN.keys() - {"waist", "hollow_hem", "wrist"}:
        MeasuredFactory(sheet=last, key=key, mm=900, typed="90")
    hands = Hands(signed_in(page, owner))
    page.goto(f"/clients/{mary.pk}/")
    hands.tap(page.get_by_role("link", name="All measures"))
    hands.tap(page.get_by_role("link", name="What is missing"))
    panel = page.locator("[data-one]")
    name, which = panel.get_by_role("heading", level=2), panel.get_by_label("Which measures")
    expect(which).to_have_value("missing all")
    expect(name).to_have_text("Head")
    hands.tap(name.get_by_role("button"))
    listed = panel.get_by_role("group", name="Go to a measure")
    assert_accessible(page)
    assert_fits(page)
    hands.tap(listed.get_by_text("Hollow to hem"))
    expect(listed).to_be_hidden()
    expect(name).to_have_text("Hollow to hem")
    for key in "142":
        hands.tap(panel.locator(f"[data-press='{key}']"))
    box, marks = panel.locator("[data-tape]").bounding_box(), panel.locator("[data-tape] > i")
    wrist = panel.locator("[data-list] > button", has=page.get_by_text("Wrist", exact=True))
    place = int(wrist.get_attribute("data-at"))
    wide = box["width"] / marks.count()
    page.touchscreen.tap(box["x"] + (place + 0.5) * wide, box["y"] + box["height"] / 2)
    hands.done.append("(tap)")
    expect(name).to_have_text("Wrist")
    for key in "16":
        hands.tap(panel.locator(f"[data-press='{key}']"))
    hands.tap(panel.get_by_role("button", name="Save 2"))
    hands.tap(panel.get_by_role("button", name="The client agrees: save"))
    assert kept(page) == {"hollow_hem": "142", "wrist": "16"}
    hands.report("Two missing measures, 5 figures among the taps", 15, record_property)


def test_twenty_measures_one_by_one_with_keys(desktop, mary, owner, record_property):
    SheetFactory(client=mary, taken_by=owner, front_from="neck_side")
    signed_in(desktop, owner).goto(f"/clients/{mary.pk}/sheets/new/")
    desktop.evaluate(ONCE)
    desktop.reload()
    hands, panel = Hands(desktop), desktop.locator("[data-one]")
    expect(panel.get_by_role("heading", level=2)).to_have_text("Height")
    for place, value in enumerate(GOWN.values()):
        expect(panel.locator(".one-tape > i").nth(place)).to_have_class("here")
        for key in value:
            hands.press(key)
    hands.press("Enter")
    assert kept(desktop) == GOWN
    hands.report("20 measures one by one with keys", 60, record_property)


def test_a_child_s_year_of_birth_is_asked_once_and_can_be_skipped(page, mary, owner):
    signed_in(page, owner).goto(f"/clients/{mary.pk}/sheets/new/")
    child = page.locator("[data-one-sets]").get_by_role("button", name="A child")
    child.tap()
    panel, year = page.locator("[data-one]"), clock.today().year - 6
    asked = panel.get_by_role("group", name="Born in which year?")
    expect(asked).to_be_visible()
    expect(panel.locator("[data-press]").first).to_be_hidden()
    assert_accessible(page)
    assert_fits(page)
    asked.get_by_role("button", name="Skip this one").tap()
    expect(panel.get_by_role("heading", level=2)).to_have_text("Height")
    panel.get_by_label("Which measures").select_option("trousers")
    panel.get_by_label("Which measures").select_option("child")
    expect(asked).to_be_hidden()
    page.reload()
    page.keyboard.type(f"{year}")
    expect(asked).to_be_hidden()
    expect(page.locator("#id_born")).to_have_value(f"{year}")
    page.keyboard.type("150")
    expect(panel.get_by_role("group", name="Is that")).to_contain_text("usually 98.8 to 132.8")


def test_a_pregnancy_answers_why_a_girth_has_grown(page, mary, owner):
    """It is noted with her consent, and the week if she says it; the list has the tick too."""
    signed_in(page, owner).goto(f"/clients/{mary.pk}/sheets/new/")
    page.locator("[data-one-sets]").get_by_role("button", name="Trousers").tap()
    panel = page.locator("[data-one]")
    page.keyboard.type("86")
    asked = panel.get_by_role("group", name="Is that")
    asked.get_by_role("button", name="86 is right: pregnant").tap()
    panel.locator("[data-names]").tap()
    tick = panel.get_by_role("button", name="Pregnant")
    expect(tick).to_have_attribute("aria-pressed", "true")
    assert_accessible(page)
    panel.locator("[data-list] > [data-at='0']").tap()
    panel.get_by_role("button", name="Save 1").tap()
    expect(panel).to_contain_text("and that the pregnancy is noted")
    expect(panel.get_by_label("Parent or guardian")).to_be_hidden()
    panel.get_by_label("Week of the pregnancy").fill("22")
    assert_fits(page)
    panel.get_by_role("button", name="The client agrees: save").tap()
    assert kept(page) == {"waist": "86"}
    sheet = mary.sheets.latest("pk")
    assert (sheet.pregnant, sheet.week) == (True, 22)


def test_a_slip_on_the_keys_is_no_value_of_the_next_measure(page, mary, owner):
    """980 for 90, Next pressed although it has gone on, and a tenth: 40.2."""
    signed_in(page, owner).goto(f"/clients/{mary.pk}/sheets/new/")
    # Consent stands beside Save before anything is refused.
    assert page.locator(".step").get_by_label("The client agrees").bounding_box()["y"] > 700
    page.get_by_role("button", name="One measure at a time").tap()
    panel = page.locator("[data-one]")
    name, value = panel.get_by_role("heading", level=2), panel.locator("[data-value]")

    def press(*keys):
        for key in keys:
            panel.locator(f"[data-press='{key}']").tap()

    panel.get_by_label("Which measures").select_option("gown")
    panel.locator("[data-names]").tap()
    panel.locator("[data-list]").get_by_text("Bust or chest").tap()
    press("9", "8")
    expect(name).to_have_text("Under the bust")
    press("0")
    expect(name).to_have_text("Bust or chest")
    expect(value).to_have_text("98")
    press("9", "0")
    expect(name).to_have_text("Under the bust")
    page.wait_for_timeout(500)
    panel.locator("[data-next]").tap()
    expect(name).to_have_text("Under the bust")
    press(".5", ".5", "2")
    expect(page.locator("#id_bust")).to_have_value("90.2")
    press("7", "8")
    expect(name).to_have_text("Between bust points")
    expect(page.locator("#id_underbust")).to_have_value("78")
    press("1")
    panel.locator("[data-press='.5']").tap()
    press("7")
    expect(value).to_have_text("1.7")
    # From a keyboard as it is written, also after a measure that has gone on by itself.
    name.get_by_role("button").tap()
    panel.locator("[data-list]").get_by_text("Bust or chest").tap()
    page.keyboard.type("92.4")
    expect(page.locator("#id_bust")).to_have_value("92.4")


def test_one_measure_at_a_time_asks_at_once_and_once(page, mary, owner):
    """67 cm after 74, 38 that was read in inches, and Enter pressed from habit."""
    signed_in(page, owner).goto(f"/clients/{mary.pk}/sheets/new/")
    page.get_by_role("button", name="One measure at a time").tap()
    panel = page.locator("[data-one]")
    name, asked = panel.get_by_role("heading", level=2), panel.get_by_role("group", name="Is that")
    panel.get_by_label("Which measures").select_option("trousers")
    expect(name).to_have_text("Waist")
    expect(panel).to_contain_text("Last time, Sun 1 Mar 2020")
    page.keyboard.type("67")
    expect(asked.get_by_role("heading")).to_have_text("67? Last time 74.")
    expect(asked).to_contain_text(f"Waist {MINUS}7 cm since the last sheet")
    expect(asked.get_by_role("button", name="It is 76, figures swapped")).to_be_visible()
    expect(panel.locator("[data-press]").first).to_be_hidden()
    assert_accessible(page)
    assert_fits(page)
    asked.get_by_role("button", name="67 is right").tap()
    expect(name).to_have_text("Stomach")
    page.keyboard.type("88")
    expect(name).to_have_text("High hip")
    page.keyboard.type("90")
    expect(name).to_have_text("Hip")
    page.keyboard.press("Enter")
    expect(name).to_have_text("Hip")
    page.keyboard.type("38")
    expect(asked).to_contain_text("usual in inches")
    asked.get_by_role("button", name="It is 38 in").tap()
    expect(name).to_have_text("Front rise")
    page.keyboard.type("30")
    expect(name).to_have_text("Inside leg")
    panel.get_by_role("button", name="In cm").tap()
    for key in ("3", "0", "3/8"):
        panel.locator(f"[data-press='{key}']").tap()
    expect(name).to_have_text("Thigh")
    panel.locator("[data-press='1/16']").tap()
    panel.get_by_role("button", name="List").tap()
    fields = page.locator("#id_waist, #id_high_hip, #id_hip, #id_inseam")
    assert fields.evaluate_all("fields => fields.map(field => field.value)") == [
        "67", "38 in", "30 7/16 in", "90",
    ]  # fmt: skip
    page.get_by_role("button", name="One measure at a time").tap()
    panel.get_by_role("button", name="Save 6").tap()
    panel.get_by_role("button", name="The client agrees: save").tap()
    expect(page.locator("#said")).to_contain_text("The sheet is kept.")
    assert mary.sheets.latest("pk").values.count() == 6
