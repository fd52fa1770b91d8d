"""Ideas looked through by thumb and by key; the year on the screen and on paper."""

import re
import time
from datetime import date, timedelta
from io import BytesIO

import pytest
from django.urls import reverse
from playwright.sync_api import expect
from pypdf import PdfReader

from jobs.makes.models import Look, Make
from studio.shop import clock
from tests import factories as f
from tests.browser.hands import Hands, assert_accessible, assert_fits, signed_in
from tests.drafts import gone, hem, received, trousers
from tests.jobs.counter.year.making import at, finished, photograph

CARDS, DAILY = 10, 56
A4 = (210, 297)  # ISO 216
MOST_SECONDS = 300 * CARDS / 60
"""Sixty cards take five minutes, so ten take fifty seconds."""


@pytest.fixture
def cards(live_server, studio):
    """The first one with a photograph and the cloth meant for it."""
    makes = [
        f.MakeFactory(words=f"Idea {number}", added_at=clock.now() - timedelta(days=99 - number))
        for number in range(CARDS)
    ]
    makes[0].pictures.add(photograph(1))
    f.ClothPlanFactory(make=makes[0], cloth__name="Brown tweed")
    return makes


def answer(page, name: str):
    return page.get_by_role("button", name=re.compile(f"^{name}"))


def test_ten_ideas_at_one_tap_or_key_each(page, desktop, cards, owner, record_property):
    """By thumb on a phone in the sitting, then anew by keys at a desk: sixty take five minutes."""
    begun = dict.fromkeys(("tap", "key"), 0.0)
    at_last = {"tap": "What did you reach for", "key": f"That was {clock.today().year}."}
    for way, screen in (("tap", page), ("key", desktop)):
        signed_in(screen, owner).goto(reverse("look-back"))
        hands, began = Hands(screen), time.monotonic()
        for number in range(CARDS - (3 if way == "key" else 0)):
            heading = screen.locator("#thing")
            heading.wait_for()
            words = heading.text_content()
            name, key = [("Carry on", "c"), ("Drop", "d"), ("Not sure", "n")][number % 3]
            if way == "key":
                name, key = "Carry on", "1"
                expect(heading).to_be_focused()
                expect(screen.locator("form[data-listens]")).to_be_visible()
                hands.press(key)
            else:
                box = answer(screen, name).bounding_box()
                assert box["height"] >= DAILY
                assert box["y"] + box["height"] <= screen.viewport_size["height"]
                hands.tap(answer(screen, name))
            expect(heading.filter(has_text=re.compile(f"^{words}$"))).to_have_count(0)
        begun[way] = time.monotonic() - began
        screen.get_by_role("heading", name=at_last[way]).wait_for()
        record_property("figure", f"ideas looked through by {way} in {begun[way]:.1f} s")
    assert Make.objects.filter(state="let_go").count() == 3
    assert Look.objects.count() == CARDS + CARDS - 3
    assert max(begun.values()) <= MOST_SECONDS


def test_an_idea_can_be_read_and_its_drop_undone(page, cards, owner):
    signed_in(page, owner).goto(reverse("look-back"))
    expect(page.locator("#thing")).to_have_text("Idea 0")
    answer(page, "Drop").tap()
    page.get_by_text("Brown tweed is free for something else.").first.wait_for()
    page.get_by_role("button", name=re.compile("^Undo")).tap()
    expect(page.locator("#thing")).to_have_text("Idea 0")
    expect(page.get_by_text("Brown tweed")).to_be_visible()


def test_without_javascript(plain, cards, owner):
    page = signed_in(plain, owner)
    page.goto(reverse("look-back"))
    answer(page, "Carry on").click()
    page.get_by_role("heading", name="Idea 1", exact=True).wait_for()
    answer(page, "Carry on").click()
    page.get_by_role("heading", name="Idea 2", exact=True).wait_for()
    page.goto(reverse("look-back-pairs"))
    page.get_by_role("button", name=re.compile("Rather this.*Idea 1")).click()
    expect(page.get_by_role("heading", name="Wanted most")).to_be_visible()
    page.goto(reverse("year"))
    expect(page.get_by_role("heading", name=f"The year {clock.today().year}")).to_be_visible()


def test_two_beside_each_other(page, cards, owner):
    for make in cards[:3]:
        Look.objects.create(make=make, answer="keep", was="idea", at=clock.now())
    signed_in(page, owner).goto(reverse("look-back-pairs"))
    assert_fits(page)
    assert_accessible(page)
    page.get_by_role("button", name=re.compile("Rather this.*Idea 0")).tap()
    page.get_by_role("heading", name="Wanted most").wait_for()
    assert_accessible(page)


@pytest.fixture
def full_year(live_server, studio, owner):
    """Fifty makes with pictures, client work and cloth, in the year before this one."""
    year = clock.today().year - 1
    pictures = [photograph(number, size=(400, 300)) for number in range(5)]
    for number in range(50):
        make = finished(
            date(year, 1, 5) + timedelta(weeks=number),
            number,
            words=f"Number {number} of the year",
        )
        make.pictures.add(pictures[number % 5])
        f.BenchTimeFactory(
            line=None, purpose="own", make=make, minutes=200, started_at=at(make.finished_on)
        )
        f.ClothMoveFactory(day=make.finished_on)
    for number in range(25):
        work = trousers(hem(name=f"Operation {number}"))
        gone(received(studio, owner, work), at(date(year, 5, 1)))
    return year


def test_the_year_can_be_read_by_everybody_and_prints_on_two_sheets(
    page, desktop, full_year, owner, record_property
):
    for screen in (page, desktop):
        signed_in(screen, owner).goto(reverse("year-of", args=[full_year]))
        screen.get_by_role("heading", name="What was made").wait_for()
        assert_fits(screen)
    for name in ("year-hours", "year-income"):
        page.goto(reverse(name, args=[full_year]))
        assert_fits(page)

    page.goto(reverse("year-of", args=[full_year]))
    sheets = PdfReader(BytesIO(page.pdf(prefer_css_page_size=True))).pages
    size = {
        tuple(round(float(side) * 25.4 / 72) for side in sheet.mediabox[2:]) for sheet in sheets
    }
    text = " ".join(" ".join(sheet.extract_text() for sheet in sheets).split())
    record_property("figure", f"a year of 50 makes prints on {len(sheets)} sheets of at most 2")
    assert size == {A4}
    assert len(sheets) <= 2
    for words in ("Number 49 of the year", "Operation 24", "Beside the years before"):
        assert words in text
