"""The browser's watchers see what they are there to see."""

import pytest
from django.urls import reverse

from tests.browser.hands import (
    Hands,
    assert_accessible,
    assert_fits,
    assert_readable_large,
    assert_touched,
    signed_in,
)

FORM = """
<!doctype html><html lang="en"><title>Try</title><main><h1>Try</h1>
<label>Name <input id="name"></label>
<label>Kind <select id="kind"><option>Skirt</option><option>Coat</option></select></label>
<button id="save" type="button">Save</button></main></html>
"""


def test_hands_count_every_key_and_tap(page):
    page.set_content(FORM)
    hands = Hands(page)
    hands.tap("#name")
    hands.type("Ana")
    hands.press("Shift+Tab")
    hands.choose("#kind", "Coat")
    assert page.input_value("#name") == "Ana"
    assert page.input_value("#kind") == "Coat"
    assert hands.count == 1 + 3 + 2 + 2
    told = []
    hands.report("a form", 8, lambda *said: told.append(said))
    assert told == [
        (
            "figure",
            "a form: 8 keystrokes and taps of at most 8: (tap) A n a [Shift] [Tab] (tap) (tap)",
        )
    ]
    with pytest.raises(AssertionError, match="8 keystrokes and taps of at most 7"):
        hands.report("a form", 7, lambda *said: None)


def test_what_shuts_people_out_is_found(page):
    page.set_content(FORM)
    assert_accessible(page)
    page.set_content(FORM.replace("<label>Name", "<label>").replace("Save", ""))
    with pytest.raises(AssertionError, match="button-name"):
        assert_accessible(page)


def test_what_cannot_be_read_in_the_evening_is_found(page):
    dark = "@media (prefers-color-scheme: dark) { main { background: #000; color: #222 } }"
    page.set_content(FORM.replace("<main>", f"<style>{dark}</style><main>"))
    assert_accessible(page, schemes=("light",))
    with pytest.raises(AssertionError, match=r"(?s)dark.*color-contrast"):
        assert_accessible(page)


def test_colours_that_were_sound_are_asked_after_where_they_stand_on_another_ground(page):
    """The same words in the same class are found wherever ground, light or type differ."""
    page.set_content(FORM.replace("<h1>", "<p class='note'>Sound</p><h1>"))
    assert_accessible(page)
    assert_accessible(page)
    for wrong in (
        ".note { color: #999 }",
        "main { background: #666 }",
        "main { opacity: .3 }",
        "@media (prefers-color-scheme: dark) { .note { color: #aaa } }",
        ".note { background: #000; color: #333 }",
    ):
        style = f"<style>{wrong}</style><p class='note'>Sound</p><h1>"
        page.set_content(FORM.replace("<h1>", style))
        with pytest.raises(AssertionError, match="color-contrast"):
            assert_accessible(page)
    page.set_content(FORM.replace("<h1>", "<p class='note' hidden>Grey</p><h1>"))
    page.add_style_tag(content=".note { color: #bbb }")
    assert_accessible(page)
    page.evaluate("document.querySelector('.note').hidden = false")
    with pytest.raises(AssertionError, match="color-contrast"):
        assert_accessible(page)


def test_a_page_wider_than_the_screen_is_found(page):
    page.set_content('<meta name="viewport" content="width=device-width"><p>Narrow')
    assert_fits(page)
    page.set_content('<p style="width: 391px">Wide')
    with pytest.raises(AssertionError, match="too wide"):
        assert_fits(page)


def test_a_finding_of_the_least_degree_is_found(page):
    """An empty heading of a table is a minor one (axe-core's own word)."""
    table = "<table><tr><th>Work</th><th></th></tr><tr><td>Hem</td><td>1</td></tr></table>"
    page.set_content(FORM.replace("</main>", f"{table}</main>"))
    with pytest.raises(AssertionError, match=r"empty-table-header \(minor\)"):
        assert_accessible(page)


HIGH = "display: inline-flex; width: 60px; height: 44px"


@pytest.mark.parametrize(
    ("content", "fault"),
    [
        (f'<a href="#" style="{HIGH}">12</a> of <p>Read <a href="#">the rules</a> first.</p>', ""),
        ('<a href="#" style="display: inline-flex">12</a>', "less than 44 px"),
        ('<p><a href="#">All</a></p>', "less than 44 px"),
        (f'<button class="btn main" style="{HIGH}">Save</button>', ""),
        (f'<button class="btn main" style="{HIGH}">Save</button>' * 2, "more than one filled"),
    ],
)
def test_what_is_hard_to_touch_is_found(page, content, fault):
    page.set_content(f"<main>{content}</main>")
    if fault:
        with pytest.raises(AssertionError, match=fault):
            assert_touched(page)
    else:
        assert_touched(page)


NARROW = '<meta name="viewport" content="width=device-width"><main style="font-size: 1rem">'


@pytest.mark.parametrize(
    ("content", "fault"),
    [
        ("<h1>Tickets</h1><p>Every word has its room.", ""),
        (
            '<p style="width: 3rem; overflow-wrap: anywhere">Trousers',
            "zoom of 400 %, squeezed: Trousers",
        ),
        (
            '<p style="width: 300px; overflow: hidden; white-space: nowrap">' + 9 * "Trousers ",
            "cut",
        ),
        ('<p style="width: 20.5rem; background: red">Wide', "letters of 200 % on a phone, aside"),
        (
            '<div style="position: fixed; bottom: 0; left: 0; height: 130px; width: 90%">Bar</div>',
            "zoom of 400 %, covered: div",
        ),
    ],
)
def test_what_is_lost_at_a_great_zoom_is_found(page, content, fault):
    page.set_content(NARROW + content)
    browser = page.context.new_cdp_session(page)
    if fault:
        with pytest.raises(AssertionError, match=fault):
            assert_readable_large(page, browser)
    else:
        assert_readable_large(page, browser)


def test_what_the_policy_refuses_is_a_complaint(page, complaints, studio):
    page.goto(reverse("login"))
    assert complaints == []
    with page.context.expect_event("console"):
        page.evaluate("document.body.setAttribute('style', 'color: red')")
    assert any("Content Security Policy" in said for said in complaints)
    complaints.clear()


def test_a_script_that_breaks_is_a_complaint(page, complaints, studio):
    page.goto(reverse("login"))
    with page.context.expect_event("weberror"):
        page.evaluate("setTimeout(() => { throw new Error('torn') })")
    assert any("torn" in said for said in complaints)
    complaints.clear()


def test_the_desktop_is_wide_and_has_a_mouse(desktop):
    desktop.set_content(FORM)
    assert desktop.evaluate("[innerWidth, innerHeight, navigator.maxTouchPoints]") == [1280, 900, 0]
    Hands(desktop).tap("#save")
    assert desktop.evaluate("document.activeElement.id") == "save"


def test_what_one_leaves_in_a_window_the_next_does_not_find(window, page, studio, owner):
    signed_in(page, owner).goto(reverse("more"))
    page.evaluate("localStorage.setItem('keys', 'no'); sessionStorage.setItem('place', 9)")
    page.set_viewport_size({"width": 500, "height": 500})
    page.emulate_media(color_scheme="dark")
    page.route("**/*", lambda route: route.abort())
    page.context.new_page()
    window("phone").tidy()
    page.goto(reverse("more"))
    page.wait_for_url(f"**{reverse('login')}**")
    assert page.context.pages == [page]
    kept = "[localStorage.getItem('keys'), sessionStorage.getItem('place')]"
    assert page.evaluate(kept) == [None, None]
    assert page.evaluate("[innerWidth, innerHeight]") == [390, 844]
    assert page.evaluate("matchMedia('(prefers-color-scheme: light)').matches")
