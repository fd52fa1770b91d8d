"""The day and the week: a tap starts the clock and a tap stops it; a new ticket moves the week."""

import re
from datetime import timedelta
from io import BytesIO
from unicodedata import normalize

import pytest
import time_machine
from django.urls import reverse
from playwright.sync_api import expect
from pypdf import PdfReader

from jobs.planning import actions
from jobs.planning.models import BenchTime
from jobs.tickets import actions as tickets
from studio.shop import clock
from tests import factories as f
from tests.browser.hands import (
    Hands,
    assert_accessible,
    assert_fits,
    controls_of,
    heights,
    minutes_of,
    signed_in,
)
from tests.drafts import hem, received, take_in, trousers
from tests.thorough import left_out

# ISO 216: A5 is 148 by 210 mm and A4 210 by 297; a point is 1/72 inch of 25.4 mm.
A5, A4 = (148, 210), (210, 297)
MOST_ITEMS = 12


@pytest.fixture(autouse=True)
def _monday(live_server, studio):
    """Monday 2 March, nine in the morning; the bench is open until five and no time is lost."""
    f.PlanRulesFactory(lost_percent=0, own_percent=10)
    with time_machine.travel("2026-03-02 09:00Z"):
        yield


@pytest.fixture
def bring(studio, owner):
    def bringing(*lines, days=2, name="Ada Moss", **facts):
        told = {
            "client": f.ClientFactory(name=name),
            "promise_at": clock.now() + timedelta(days=days),
        }
        return received(studio, owner, trousers(*lines), **told | facts)

    return bringing


def clients_of_the_week(page) -> int:
    page.goto(reverse("week"))
    return minutes_of(page.locator(".key > div", has_text="Clients").locator("dd").inner_text())


@pytest.mark.parametrize("screen", ["own_page", "desktop"])
def test_one_tap_starts_and_one_tap_stops(screen, request, bring, owner, record_property):
    page = signed_in(request.getfixturevalue(screen), owner)
    ticket = bring(take_in(), hem())
    if screen == "own_page":
        page.clock.install()
    page.goto("/")
    hands = Hands(page)
    hands.tap(page.get_by_role("button", name=re.compile(f"Start.*{ticket.number} Take in sides")))
    page.get_by_role("button", name="Pause").wait_for()
    assert hands.count == 1
    BenchTime.objects.update(started_at=clock.now() - timedelta(minutes=25))
    page.reload()
    expect(page.locator("[data-running]")).to_have_text(re.compile(r"^2[456]\smin$"))
    if screen == "own_page":
        # It goes on by itself.
        page.clock.fast_forward("03:10")
        expect(page.locator("[data-running]")).to_have_text(re.compile(r"^2[789]\smin$"))
    hands.tap(page.get_by_role("button", name="Pause"))
    page.get_by_role("status").get_by_text(f"{ticket.number} A Take in sides: 2").wait_for()
    assert BenchTime.objects.get().minutes in {25, 26}
    hands.report("A clock started and stopped", 2, record_property)


def test_the_clock_works_without_javascript(plain, bring, owner):
    bring(hem())
    page = signed_in(plain, owner)
    page.goto("/")
    page.get_by_role("button", name="Start").first.click()
    page.get_by_role("button", name="Done").click()
    page.get_by_role("status").get_by_text("A Hem: 0 min.").wait_for()
    assert BenchTime.objects.get().line.done_at


def test_eight_jobs_are_caught_up_with_in_ten_taps(page, bring, owner, record_property):
    ticket = bring(*[hem(name=f"Part {number}") for number in range(8)])
    tickets.tick_all(ticket=ticket, by=owner)
    signed_in(page, owner).goto("/")
    hands = Hands(page)
    hands.tap(page.locator("summary", has_text="minutes to fill in"))
    assert_fits(page)
    assert_accessible(page)
    for group in page.locator(".guess").all()[:8]:
        hands.tap(group.get_by_text("20", exact=False).first)
    hands.tap(page.get_by_role("button", name="Save"))
    page.get_by_text("Minutes of 8 operations written down.").wait_for()
    assert list(BenchTime.objects.values_list("minutes", flat=True)) == [20] * 8
    hands.report("Eight jobs caught up with", 10, record_property)


def test_the_week_changes_with_a_new_ticket(page, bring, owner):
    signed_in(page, owner)
    bring(hem())
    before = clients_of_the_week(page)
    bring(hem(minutes_each=20), days=0.2)
    assert clients_of_the_week(page) == before + 20


def full_day(bring, studio, owner) -> None:
    """Ten pieces of work and two appointments, and something in each of the other lists."""
    for number in range(10):
        bring(
            hem(name=f"Shorten sleeves from the cuff {number}"), name="Rosalind Ivybridge", days=3
        )
    now = clock.local(clock.now())
    for hours in (1, 2):
        f.AppointmentFactory(name="The accountant", starts_at=now + timedelta(minutes=9 * hours))
    for number in range(4):
        held = bring(hem(), days=9).garments.get().lines.get()
        told = {"what": "client", "question": "Is 40 cm of the brass zip right?"}
        actions.hold(line=held, expected=None, by=owner, **told)
        ready = bring(hem(), name="Hanneke Fennimore")
        tickets.tick_all(ticket=ready, by=owner)
        tickets.mark_ready(ticket=ready, by=owner)
        late = bring(hem(minutes_each=0), name=f"Dervla Elderflower {number}")
        type(late).objects.filter(pk=late.pk).update(promise_at=clock.now() - timedelta(minutes=5))


def printed(page) -> PdfReader:
    """The page as the printer gets it."""
    return PdfReader(BytesIO(page.pdf(prefer_css_page_size=True)))


def size_of(sheet) -> tuple[int, int]:
    return tuple(round(float(side) * 25.4 / 72) for side in sheet.mediabox[2:])


def test_day_and_week_can_be_read_and_touched_by_everybody_and_print_on_a_sheet_each(
    page, bring, studio, owner, record_property
):
    """A day of twelve on A5, the week on A4."""
    full_day(bring, studio, owner)
    signed_in(page, owner).goto("/")
    rows = page.locator(".line > li:not(.chalk-line)").count()
    assert rows >= MOST_ITEMS
    paper = printed(page)
    assert [size_of(sheet) for sheet in paper.pages] == [A5]
    # Ligatures are taken apart again.
    text = " ".join(normalize("NFKC", paper.pages[0].extract_text()).split())
    assert "shorten sleeves from the cuff 9" in text
    assert "The accountant" in text
    assert "Is 40 cm of the brass zip right?" in text
    assert "Find a ticket" not in text
    record_property("figure", f"today's page with {rows} rows prints on {len(paper.pages)} A5")

    page.goto(reverse("week"))
    paper = printed(page)
    assert [size_of(sheet) for sheet in paper.pages] == [A4[::-1]]
    assert "Eight weeks" in paper.pages[0].extract_text()
    for path in (reverse("week"), "/"):
        if path == "/":
            page.goto(path)
        page.get_by_label("Time for").select_option("3 h")
        expect(page.locator("#time-answer .verdict")).to_be_visible()
        assert_fits(page)
        assert_accessible(page)
    page.get_by_role("button", name="Start").first.tap()
    page.get_by_role("button", name="Pause").wait_for()
    assert_accessible(page)
    assert min(heights(page.locator(".now > .acts button, .now > .acts summary"))) >= 56


# The controls of the page itself that can be seen before a drawer is opened: how high each is, and
# whether it stands in a sentence or a heading.
SEEN = """all => all.filter(one => one.checkVisibility({visibilityProperty: true})).map(
    one => [one.getBoundingClientRect(), one.closest("p, h2") !== null]
).filter(([box]) => box.width && box.height).map(([box, within]) => [box.height, within])"""
CONTROLS = "main :is(a, button, summary, select, input:not([type=hidden]))"


@pytest.mark.parametrize("full", [False, True], ids=["a day", "an overfull day"])
def test_the_first_job_is_seen_at_once_and_the_page_is_short(
    full, page, desktop, bring, studio, owner, record_property
):
    if full:
        full_day(bring, studio, owner)
        bring(hem(minutes_each=2000), name="Wilhelmina Featherstonehaugh", days=0.3)
    else:
        bring(take_in(), hem(), days=0.2, name="Rosalind Hazelhurst")
        bring(hem())
    for screen, high, most in ((page, 844, 2.5), (desktop, 900, 1.2)):
        signed_in(screen, owner).goto("/")
        job = screen.locator(".now").bounding_box()
        start = screen.locator(".now .btn.main").bounding_box()
        screens = screen.evaluate("document.documentElement.scrollHeight") / high
        controls = len(controls_of(screen))
        record_property(
            "figure",
            f"today{' overfull' if full else ''} on {high}: the first job at {job['y']:.0f} px, "
            f"Start at {start['y']:.0f} of at most 550, {screens:.2f} screens of at most {most}, "
            f"{controls} controls of at most 25 with the frame",
        )
        assert job["y"] <= 420
        assert start["y"] <= 550
        assert screens <= most
        assert controls <= 25
        assert screen.locator("main .btn.main:visible").count() == 1
        targets = screen.locator(CONTROLS).evaluate_all(SEEN)
        assert targets
        assert sum(high < 44 for high, _ in targets) <= sum(within for _, within in targets)


def test_a_day_goes_by_keys_alone(desktop, bring, owner):
    """S starts and pauses, D is done, N takes in; none of them while something is typed."""
    page, ticket = signed_in(desktop, owner), bring(hem())
    page.goto("/")
    page.keyboard.press("s")
    page.get_by_role("button", name="Pause").wait_for()
    page.wait_for_load_state()
    page.keyboard.press("s")
    page.get_by_role("status").get_by_text(f"{ticket.number} A Hem: 0 min.").wait_for()
    page.wait_for_load_state()
    page.keyboard.press("/")
    page.locator("[data-find]:focus").wait_for()
    page.keyboard.type("sdn")
    expect(page.locator("[data-find]").first).to_have_value("sdn")
    assert BenchTime.objects.count() == 1
    page.goto("/")
    page.keyboard.press("s")
    page.get_by_role("button", name="Pause").wait_for()
    page.wait_for_load_state()
    page.keyboard.press("d")
    page.get_by_role("button", name="Undo").click()
    page.get_by_role("button", name=re.compile("^Start")).wait_for()
    page.wait_for_load_state()
    assert BenchTime.objects.count() == 2
    assert BenchTime.objects.filter(line__done_at=None).count() == 2
    page.keyboard.press("n")
    page.wait_for_url("**/drop-off/")


def test_what_was_done_stays_until_somebody_goes_on_and_its_undo_after_that(own_page, bring, owner):
    """Six seconds at least, and as long as nobody does anything (WCAG 2.2, 2.2.1)."""
    bring(hem(), name="Wilhelmina Featherstonehaugh")
    page = own_page
    page.clock.install(time=clock.now())
    signed_in(page, owner).goto("/")
    page.get_by_role("button", name="Start").first.tap()
    page.get_by_role("button", name="Done").tap()
    said = page.get_by_role("status").locator(".notice-said")
    expect(said.get_by_role("button", name="Undo")).to_be_visible()
    words, undo = (
        said.locator("> span").bounding_box(),
        said.get_by_role("button", name="Undo").bounding_box(),
    )
    assert words["y"] < undo["y"] + undo["height"] / 2 < words["y"] + words["height"]
    heading = page.get_by_role("heading", level=1)
    heading.tap()
    page.clock.run_for(3000)
    expect(said).to_be_visible()
    page.clock.run_for(60000)
    expect(said).to_have_count(0)
    undo = page.get_by_role("banner").get_by_role("button", name="Undo: ")
    assert_fits(page)
    undo.tap()
    page.get_by_role("button", name=re.compile("^Start")).wait_for()
    assert not BenchTime.objects.filter(line__done_at__isnull=False).exists()


def test_keys_of_one_letter_can_be_turned_off(desktop, bring, owner):
    page = signed_in(desktop, owner)
    bring(hem())
    page.goto("/")
    page.get_by_text("Print the day").click()
    page.get_by_role("button", name="These keys").click()
    page.reload()
    page.keyboard.press("s")
    page.keyboard.press("n")
    page.get_by_role("button", name=re.compile("^Start")).wait_for()
    assert not BenchTime.objects.exists()


def test_the_key_that_finds_leads_a_phone_to_the_page_of_finding(page, owner):
    signed_in(page, owner).goto("/")
    page.keyboard.press("/")
    page.wait_for_url("**/find/")
    page.locator("[data-find]:focus").wait_for()


def test_another_can_be_first_in_two_taps(page, bring, owner, record_property):
    bring(hem(), days=1)
    bring(hem(name="Taper"), name="Bo Lark")
    signed_in(page, owner).goto("/")
    hands = Hands(page)
    hands.tap(page.get_by_text("Something else"))
    hands.tap(page.get_by_role("button", name=re.compile("Taper")))
    page.get_by_role("heading", name=re.compile("taper")).wait_for()
    hands.report("Another job started first", 2, record_property)


@pytest.mark.parametrize("role", ["owner", left_out("helper")])
def test_each_state_of_the_day_can_be_read_and_fits(role, request, page, bring, owner):
    """The first day, work, the clock, a promise at risk, the evening: 390 and 320 px."""
    user = request.getfixturevalue(role)
    signed_in(page, user)

    def look() -> None:
        page.goto("/")
        assert_accessible(page)
        for width in (390, 320):
            page.set_viewport_size({"width": width, "height": 844})
            assert_fits(page)

    look()
    ticket = bring(take_in(), hem(), days=0.2, name="Wilhelmina Featherstonehaugh-Cholmondeley")
    held = bring(hem(), days=0.3).garments.get().lines.get()
    actions.hold(line=held, what="client", question="", expected=None, by=owner)
    look()
    line = ticket.garments.get().lines.first()
    actions.start_clock(line=line, purpose="client", by=user)
    look()
    actions.finish_work(by=user)
    tickets.tick_all(ticket=ticket, by=owner)
    tickets.mark_ready(ticket=ticket, by=owner)
    look()
