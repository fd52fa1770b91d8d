"""A garment comes in: by thumb, by keyboard, without scripts. Every key and tap is counted."""

import io
import re
import time

import pytest
from django.urls import reverse
from PIL import Image
from playwright.sync_api import Page, expect

from jobs.pricing.models import Operation
from jobs.tickets.models import Photo, Ticket
from tests import factories
from tests.browser.hands import Hands, assert_accessible, assert_fits, heights, signed_in
from tests.drafts import hem, received, trousers
from tests.thorough import thinned

SAVED = re.compile(r"/t/\d\d-\d{4}/saved/$")
WORK = {"Trousers": ["Hem", "Take in waist"], "Dress": ["Sides", "Straps"], "Coat": ["Sleeves"]}


@pytest.fixture
def price_list(studio):
    """Three kinds with their work; all of it asks how far, and knows how that is usually meant."""
    for place, (kind, works) in enumerate(WORK.items()):
        made = factories.GarmentKindFactory(name=kind, position=place)
        for order, work in enumerate(works):
            factories.OperationFactory(
                garment_kind=made, name=work, position=order, takes_amount=True,
                usual_basis="total", usual_measure="take_off",
            )  # fmt: skip
    factories.SurchargeFactory(name="Lined")


@pytest.fixture
def mary(studio):
    factories.ClientFactory.create_batch(5)
    return factories.ClientFactory(name="Mary Larkin", phone="086 555 0143")


def button(page: Page, name: str):
    return page.get_by_role("button", name=re.compile(f"^{name}"))


def kind(page: Page, name: str):
    return page.locator(".kinds").get_by_role("button", name=name)


def cursor_in(page: Page, target: str) -> None:
    expect(page.locator(f"#{target}")).to_be_focused()


def saved(page: Page) -> Ticket:
    page.wait_for_url(SAVED)
    return Ticket.objects.first()


def to_drop_off(page: Page, hands: Hands) -> None:
    hands.tap(page.get_by_role("navigation", name="Daily").get_by_role("link", name="Drop-off"))
    cursor_in(page, "id_q")


def to_find(page: Page, hands: Hands) -> None:
    hands.tap(page.get_by_role("navigation", name="Daily").get_by_role("link", name="Find"))
    cursor_in(page, "find")


def take_in_a_hem(page: Page, hands: Hands, amount: str) -> None:
    """From the chosen client to the saved ticket."""
    hands.tap(kind(page, "Trousers"))
    hands.tap(button(page, "Hem").first)
    cursor_in(page, "id_g0-l0-amount")
    hands.type(amount)
    hands.tap(button(page, "Save ticket"))


@pytest.fixture
def hems(price_list):
    """Three hems that came in before: what is done often is offered in one press."""
    hem = Operation.objects.get(name="Hem")
    factories.LineFactory.create_batch(3, operation=hem, garment__ticket__state="collected")


def test_a_known_client_and_one_hem(page, hems, mary, owner, record_property):
    signed_in(page, owner).goto("/")
    hands = Hands(page)
    to_drop_off(page, hands)
    hands.type("lar")
    hands.tap(button(page, "Mary Larkin"))
    cursor_in(page, "first-kind")
    hands.tap(button(page, "Trousers, hem"))
    cursor_in(page, "id_g0-l0-amount")
    hands.type("4.5")
    hands.tap(button(page, "Save ticket"))

    ticket = saved(page)
    assert (ticket.client, ticket.gross) == (mary, 2400)
    assert ticket.garments.get().lines.get().amount_typed == "4.5 cm"
    hands.report("Known client, one hem", 10, record_property)


def test_a_hem_is_answered_in_its_line(page, price_list, mary, owner, record_property):
    """Counted from the open line: at most four taps and five figures, and it stands on the ticket.

    82 less 4 is 78; a hem of women's trousers is 15/16 in deep (American Sewing Guild), 2.4 cm.
    """
    signed_in(page, owner).goto(f"/drop-off/?client={mary.pk}")
    kind(page, "Trousers").tap()
    button(page, "Hem").first.tap()
    cursor_in(page, "id_g0-l0-amount")
    hands = Hands(page)
    hands.type("4")
    hands.tap(page.get_by_text("Where to cut"))
    hands.tap(page.get_by_label("Length now"))
    hands.type("82")
    expect(page.get_by_text("Finish at 78 cm, cut at 80.4 cm.")).to_be_visible()
    hands.tap(page.get_by_label("Turned up now"))
    hands.type("5")
    expect(page.locator(".sketch")).to_contain_text("cloth ends 87 cm")
    taps = hands.done.count("(tap)")
    figures = hands.count - taps
    record_property("figure", f"A hem in its line: {taps} taps, {figures} figures")
    assert taps <= 4
    assert figures <= 5
    assert_fits(page)
    hands.tap(button(page, "Save ticket"))
    page.wait_for_url(SAVED)
    expect(page.get_by_text("hem take off 4 cm, total")).to_be_visible()
    assert Ticket.objects.get().garments.get().cloth_ends["womens_trousers"]["now"] == "82 cm"


def test_a_new_client_and_one_hem(page, price_list, mary, owner, record_property):
    signed_in(page, owner).goto("/")
    hands = Hands(page)
    to_find(page, hands)
    hands.type("0875550199")
    hands.tap(page.get_by_role("link", name="New client, drop-off"))
    cursor_in(page, "id_new_name")
    hands.type("Ann Rivers")
    take_in_a_hem(page, hands, "12.75")

    client = saved(page).client
    assert (client.name, client.phone) == ("Ann Rivers", "0875550199")
    hands.report("New client, one hem", 35, record_property)


def test_same_as_last_time(page, price_list, mary, owner, record_property):
    signed_in(page, owner).goto(f"/drop-off/?client={mary.pk}")
    take_in_a_hem(page, Hands(page), "4.5")
    saved(page)
    Ticket.objects.update(state="collected")

    page.goto("/")
    hands = Hands(page)
    to_drop_off(page, hands)
    hands.type("lar")
    hands.tap(button(page, "Same again: .*, for Mary Larkin"))
    cursor_in(page, "save")
    hands.tap(button(page, "Save ticket"))

    page.wait_for_url(SAVED)
    expect(page.get_by_role("heading", name=re.compile("-0002$"))).to_be_visible()
    hands.report("Same as last time", 7, record_property)


def test_find_leads_to_the_open_ticket(page, price_list, mary, owner, record_property):
    ticket = factories.TicketFactory(number="26-0777", client=mary)
    signed_in(page, owner).goto("/")
    page.locator("h1").click()
    hands = Hands(page)
    hands.press("/")
    hands.type("0777")
    hands.press("Enter")

    page.wait_for_url(f"**{ticket.get_absolute_url()}")
    hands.report("From the first page to the open ticket", 6, record_property)


def test_what_was_agreed_is_two_taps_from_find(
    page, studio, price_list, mary, owner, record_property
):
    """Counted from the name that was typed: how far, for how much and by when, and its version."""
    ticket, _ = (received(studio, owner, trousers(hem()), client=mary) for _ in range(2))
    signed_in(page, owner).goto("/find/?q=larkin")
    hands = Hands(page)
    hands.tap(page.locator(f"#found a[href='{ticket.get_absolute_url()}']"))
    page.wait_for_url(f"**{ticket.get_absolute_url()}")
    for seen in (
        page.locator(".ticket-promise"),
        page.locator(".ticket-facts").get_by_text("€24.00 to pay"),
        page.locator("#sew").get_by_text("take off 4.5 cm"),
    ):
        expect(seen).to_be_in_viewport()
    hands.tap(page.locator(".tabs").get_by_role("link", name="Papers, history"))
    expect(page.get_by_role("link", name=re.compile("^Agreement"))).to_be_visible()
    hands.report("What was agreed, from Find", 2, record_property)


def test_by_keyboard_alone(desktop, price_list, mary, owner, record_property):
    signed_in(desktop, owner).goto("/")
    hands = Hands(desktop)
    hands.press("/")
    hands.type("lar")
    hands.press("Enter")
    expect(desktop.get_by_role("link", name="Drop-off for Mary Larkin")).to_be_focused()
    hands.press("Enter")
    cursor_in(desktop, "first-kind")
    hands.press("Enter")
    cursor_in(desktop, "g0-first")
    hands.press("Enter")
    cursor_in(desktop, "id_g0-l0-amount")
    hands.type("4.5")
    hands.press("Enter")
    cursor_in(desktop, "save")
    hands.press("Enter")

    assert saved(desktop).client == mary
    hands.report("Known client, one hem, by keyboard alone", 13, record_property)


def test_without_javascript(plain, price_list, mary, owner, record_property):
    """The same two visits; "Find" is a press of Enter more."""
    page = signed_in(plain, owner)
    page.goto("/")
    hands = Hands(page)
    to_find(page, hands)
    hands.type("lar")
    hands.press("Enter")
    page.wait_for_url("**/find/?q=*")
    hands.tap(page.get_by_role("link", name="Drop-off for Mary Larkin"))
    cursor_in(page, "first-kind")
    take_in_a_hem(page, hands, "4.5")
    assert saved(page).client == mary
    hands.report("Known client, one hem, without JavaScript", 12, record_property)

    page.goto("/drop-off/")
    hands = Hands(page)
    hands.type("0875550199")
    hands.press("Enter")
    cursor_in(page, "new-client")
    hands.tap(button(page, "New client"))
    cursor_in(page, "id_new_name")
    hands.type("Ann Rivers")
    take_in_a_hem(page, hands, "12.75")
    assert saved(page).client.name == "Ann Rivers"
    hands.report("New client, one hem, without JavaScript", 35, record_property)


@pytest.mark.parametrize("scripts", thinned([True, False], bool))
def test_five_garments_on_a_phone(scripts, lend, price_list, mary, owner, record_property):
    page = signed_in(lend("phone" if scripts else "plain"), owner)
    page.goto(f"/drop-off/?client={mary.pk}")
    hands, started = Hands(page), time.monotonic()
    pieces = [("Trousers", "Hem"), ("Dress", "Sides"), ("Coat", "Sleeves"), ("Dress", "Straps")]
    for index, (name, work) in enumerate([*pieces, ("Trousers", "Take in waist")]):
        hands.tap(kind(page, name))
        cursor_in(page, f"g{index}-first")
        hands.tap(page.locator(f"[aria-labelledby=g{index}-name]").get_by_role("button", name=work))
        cursor_in(page, f"id_g{index}-l0-amount")
        hands.type("2.5")
        assert_fits(page)
    machine = time.monotonic() - started
    expect(page.locator("#bar")).to_contain_text("5 garments")
    if scripts:
        assert_in_little_space(page, record_property)
    hands.tap(button(page, "Save ticket"))

    ticket = saved(page)
    assert "".join(garment.letter for garment in ticket.garments.all()) == "ABCDE"
    assert ticket.gross == 5 * 2400
    way = "with scripts" if scripts else "without JavaScript"
    hands.report(f"Five garments on one ticket {way}", 30, record_property)
    record_property("figure", f"Five garments {way}: the machine took {machine:.1f} s of it")


def assert_in_little_space(screen: Page, tell) -> None:
    """One of five garments lies open, the rail has all."""
    screen.locator(".calendar").evaluate("days => days.setAttribute('data-before', '')")
    screen.keyboard.press("Tab")
    # The days come anew with the answer.
    expect(screen.locator(".calendar:not([data-before])")).to_be_visible()
    expect(screen.locator("#rail li")).to_have_count(6)
    expect(screen.locator(".piece:visible")).to_have_count(1)
    high = screen.evaluate("document.documentElement.scrollHeight / innerHeight")
    wide, most = screen.viewport_size["width"], 2.2
    tell("figure", f"Five garments at {wide}: {high:.2f} screens of at most {most}")
    assert high <= most
    screen.locator("#rail a").first.click()
    expect(screen.locator("#g0-card")).to_be_visible()
    expect(screen.locator("#g4-card")).to_be_hidden()
    assert_fits(screen)
    assert_accessible(screen)


def test_the_slip_is_one_screen_and_its_deposit_a_fact(page, studio, owner):
    ticket = received(studio, owner, *[trousers() for _ in range(5)])
    signed_in(page, owner).goto(reverse("ticket-saved", args=[ticket.number]))
    assert page.evaluate("document.documentElement.scrollHeight") <= 844
    assert_fits(page)
    assert_accessible(page)
    page.get_by_role("link", name="Take deposit").tap()
    page.get_by_label("Amount").fill("30")
    page.get_by_label("Cash").tap()
    page.get_by_role("button", name="Take deposit").tap()
    expect(page.get_by_text("€30.00 paid, €90.00 to pay")).to_be_visible()


def test_a_double_press_makes_one_ticket(page, price_list, mary, owner):
    signed_in(page, owner).goto(f"/drop-off/?client={mary.pk}")
    kind(page, "Trousers").tap()
    button(page, "Hem").first.tap()
    cursor_in(page, "id_g0-l0-amount")
    page.keyboard.type("4.5")
    page.locator("#save").dblclick()

    saved(page)
    assert Ticket.objects.count() == 1


def test_a_drop_off_is_not_left_unsaved_by_accident(own_page, price_list, mary, owner):
    page, asked = own_page, []
    page.on("dialog", lambda dialog: (asked.append(dialog.type), dialog.accept()))
    signed_in(page, owner).goto(f"/drop-off/?client={mary.pk}")
    page.reload()
    assert asked == []

    kind(page, "Trousers").tap()
    button(page, "Hem").first.tap()
    cursor_in(page, "id_g0-l0-amount")
    page.reload()
    assert asked == ["beforeunload"]

    kind(page, "Trousers").tap()
    button(page, "Hem").first.tap()
    cursor_in(page, "id_g0-l0-amount")
    page.keyboard.type("4.5")
    page.locator("#save").tap()
    saved(page)
    assert asked == ["beforeunload"]


def test_typing_goes_on_while_the_price_is_on_its_way(desktop, price_list, mary, owner):
    signed_in(desktop, owner).goto(f"/drop-off/?client={mary.pk}")
    kind(desktop, "Trousers").click()
    button(desktop, "Hem").click()
    cursor_in(desktop, "id_g0-l0-amount")

    def slowly(route):
        time.sleep(0.6)
        route.continue_()

    desktop.route("**/drop-off/", slowly)
    desktop.locator("summary", has_text="Surcharges").click()
    desktop.get_by_label("How many").fill("3")
    colour = desktop.get_by_label("Another colour")
    colour.click()
    desktop.keyboard.type("navy with a blue stripe", delay=60)

    expect(desktop.locator("#bar")).to_contain_text("€72.00")
    expect(colour).to_be_focused()
    expect(colour).to_have_value("navy with a blue stripe")
    expect(desktop.locator("details", has_text="Surcharges").first).to_have_attribute("open", "")


def test_when_the_login_has_ended_nothing_typed_is_lost(page, price_list, mary, owner, complaints):
    signed_in(page, owner).goto(f"/drop-off/?client={mary.pk}")
    kind(page, "Trousers").tap()
    page.get_by_label("Another colour").fill("navy")
    page.context.clear_cookies(name="sessionid")
    button(page, "Hem").first.tap()
    expect(page.get_by_role("alert")).to_contain_text("You are no longer logged in.")

    with page.expect_popup() as beside:
        page.get_by_role("link", name="Log in").tap()
    beside.value.get_by_label("Name").fill(owner.username)
    beside.value.get_by_label("Password").fill(factories.PASSWORD)
    beside.value.get_by_role("button", name="Log in").tap()
    beside.value.wait_for_url(lambda url: "/login/" not in url)
    button(page, "Hem").first.tap()

    cursor_in(page, "id_g0-l0-amount")
    expect(page.locator("[name=g0-colour]:checked")).to_have_value("navy")
    expect(page.get_by_role("alert")).to_have_count(0)
    page.keyboard.type("4.5")
    button(page, "Save ticket").tap()
    assert saved(page).garments.get().colour == "navy"


def test_when_no_answer_comes_the_page_says_so(page, price_list, mary, owner, complaints):
    signed_in(page, owner).goto(f"/drop-off/?client={mary.pk}")
    kind(page, "Trousers").tap()
    button(page, "Hem").first.wait_for()
    page.route("**/drop-off/", lambda route: route.abort())
    button(page, "Hem").first.tap()

    expect(page.get_by_role("alert")).to_contain_text("Nothing typed is lost")
    page.unroute("**/drop-off/")
    button(page, "Hem").first.tap()
    cursor_in(page, "id_g0-l0-amount")
    # The browser itself complains of the address that did not answer.
    complaints.clear()


def test_a_photograph_is_kept_as_soon_as_it_is_taken(page, price_list, mary, owner):
    signed_in(page, owner).goto(f"/drop-off/?client={mary.pk}")
    kind(page, "Trousers").tap()
    file = io.BytesIO()
    Image.new("RGB", (300, 200), "teal").save(file, "JPEG")
    shot = {"name": "shot.jpg", "mimeType": "image/jpeg", "buffer": file.getvalue()}
    page.get_by_label("Photographs").set_input_files(shot)

    expect(page.get_by_alt_text("Photograph 1 of Trousers")).to_be_visible()
    expect(page.get_by_label("Photographs")).to_have_value("")
    button(page, "Hem").first.tap()
    cursor_in(page, "id_g0-l0-amount")
    page.keyboard.type("4.5")
    button(page, "Save ticket").tap()
    ticket = saved(page)
    assert Photo.objects.get().garment.ticket == ticket


def test_what_is_touched_daily_is_large_and_what_is_wrong_is_said(page, price_list, mary, owner):
    signed_in(page, owner).goto(f"/drop-off/?client={mary.pk}")
    assert min(heights(page.locator(".kinds button"))) >= 56
    kind(page, "Trousers").tap()
    button(page, "Hem").first.wait_for()
    assert min(heights(button(page, "Hem").first)) >= 56
    assert min(heights(button(page, "Save ticket"))) >= 56
    button(page, "Hem").first.tap()
    cursor_in(page, "id_g0-l0-amount")
    chips = ":is(.chips, .segments, .calendar) label"
    touched = f".btn, summary, {chips}, .kinds button, .rail a, input:not([type=hidden])"
    small = page.locator(f"#drop-off :is({touched})").evaluate_all(
        "all => all.map(one => one.getBoundingClientRect().toJSON()).filter("
        "    ({height, width}) => height > 0 && height < 44 && width > 24)"
    )
    assert small == []

    page.keyboard.type("four")
    page.keyboard.press("Tab")
    expect(page.locator("#id_g0-l0-amount_said")).to_contain_text("Write one number and one unit")
    button(page, "Save ticket").tap()
    expect(page.get_by_role("alert")).to_contain_text("One thing needs a look")
    cursor_in(page, "id_g0-l0-amount")
    page.locator("#drop-off details").evaluate_all("all => all.forEach(one => one.open = true)")
    assert_fits(page)
    assert_accessible(page)


def test_a_new_client_two_operations_and_a_fitting(page, price_list, mary, owner, record_property):
    """From Today to the slip, where the fitting is the next thing."""
    Operation.objects.filter(name="Sides").update(fitting_first=True)
    signed_in(page, owner).goto("/drop-off/")
    hands = Hands(page)
    cursor_in(page, "id_q")
    page.keyboard.type("Ann Rivers 087 555 0199")
    hands.tap(button(page, "New client"))
    cursor_in(page, "first-kind")
    hands.tap(kind(page, "Dress"))
    hands.tap(button(page, "Sides").first)
    cursor_in(page, "id_g0-l0-amount")
    hands.type("2")
    hands.tap(page.locator("#g0-more"))
    hands.tap(button(page, "Straps").first)
    cursor_in(page, "id_g0-l1-amount")
    hands.type("1.5")
    hands.tap(button(page, "Save ticket"))
    page.wait_for_url(re.compile("/saved/"))
    hands.tap(page.get_by_role("link", name="Book the fitting"))
    page.wait_for_url("**/fittings/new/")
    hands.tap(page.locator(".times input").nth(1))
    hands.tap(page.get_by_role("button", name="Book", exact=True))
    page.wait_for_url(lambda url: "/fittings/new/" not in url)
    assert Ticket.objects.get().fittings.count() == 1
    hands.report("New client, two operations and a fitting", 25, record_property)


def test_the_promise_of_five_garments_stays_in_sight(
    desktop, price_list, mary, owner, record_property
):
    signed_in(desktop, owner).goto(f"/drop-off/?client={mary.pk}")
    for index in range(5):
        kind(desktop, "Trousers").click()
        button(desktop, "Hem").locator("visible=true").first.click()
        cursor_in(desktop, f"id_g{index}-l0-amount")
        desktop.keyboard.type("2.5")
    assert_in_little_space(desktop, record_property)
    for end in (0, 10**6):
        desktop.evaluate(f"scrollTo(0, {end})")
        box = desktop.locator(".calendar").bounding_box()
        bar = desktop.locator(".step").bounding_box()
        assert box["y"] >= 0
        assert box["y"] + box["height"] <= bar["y"]


def test_colour_marks_and_notes_ask_nobody(own_page, price_list, mary, owner):
    page = own_page
    signed_in(page, owner).goto(f"/drop-off/?client={mary.pk}")
    kind(page, "Trousers").tap()
    button(page, "Hem").first.tap()
    cursor_in(page, "id_g0-l0-amount")
    # The hem is drawn a moment after the last letter, whenever the sum was asked for.
    with page.expect_response(lambda answer: "/hem/" in answer.url and "=4.5&" in answer.url):
        page.keyboard.type("4.5")
    with page.expect_response("**/drop-off/"):
        page.keyboard.press("Tab")
    sent = []
    page.on("request", lambda request: sent.append(request.url))
    page.get_by_label("navy").tap()
    expect(page.locator("#g0-pictures svg.garment")).to_have_attribute("color", "#33486a")
    expect(page.locator("#g0-on-rail svg.garment")).to_have_attribute("color", "#33486a")
    page.get_by_text("Condition, things left").tap()
    page.get_by_label("Hole").tap()
    page.get_by_label("Where, and anything else").fill("near the left pocket")
    page.locator("summary", has_text="Surcharges").tap()
    page.locator("#id_g0-l0-note").fill("double thread")
    page.locator("summary", has_text="Another day").tap()
    page.locator("#id_note").fill("ring first")
    page.locator("#id_event").fill("wedding")
    page.locator("#id_event").press("Tab")
    page.wait_for_timeout(600)
    assert [url for url in sent if "/drop-off/" in url] == []
    page.locator("#save").tap()
    garment = saved(page).garments.get()
    assert (garment.colour, garment.condition) == ("navy", "hole; near the left pocket")
