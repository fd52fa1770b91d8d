"""A garment comes in: by thumb, by keyboard, without scripts. Every key and tap is counted."""

import io
import re
import time

import pytest
from PIL import Image
from playwright.sync_api import Page, expect

from jobs.tickets.models import Photo, Ticket
from tests import factories
from tests.browser.hands import Hands, assert_accessible, assert_fits, signed_in

TICKET_PAGE = re.compile(r"/t/\d\d-\d{4}/$")
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


def cursor_in(page: Page, target: str) -> None:
    expect(page.locator(f"#{target}")).to_be_focused()


def saved(page: Page) -> Ticket:
    page.wait_for_url(TICKET_PAGE)
    return Ticket.objects.first()


def take_in_a_hem(page: Page, hands: Hands, amount: str) -> None:
    """From the chosen client to the saved ticket."""
    hands.tap(button(page, "Trousers"))
    hands.tap(button(page, "Hem"))
    cursor_in(page, "id_g0-l0-amount")
    hands.type(amount)
    hands.tap(button(page, "Save ticket"))


def test_a_known_client_and_one_hem(page, price_list, mary, owner, record_property):
    signed_in(page, owner).goto("/")
    hands = Hands(page)
    hands.type("0143")
    hands.tap(page.get_by_role("link", name="Drop-off for Mary Larkin"))
    cursor_in(page, "first-kind")
    take_in_a_hem(page, hands, "4.5")

    ticket = saved(page)
    assert (ticket.client, ticket.gross) == (mary, 2400)
    assert ticket.garments.get().lines.get().amount_typed == "4.5 cm"
    hands.report("Known client, one hem", 12, record_property)


def test_a_new_client_and_one_hem(page, price_list, mary, owner, record_property):
    signed_in(page, owner).goto("/")
    hands = Hands(page)
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
    hands.type("0143")
    hands.tap(page.get_by_role("link", name="Drop-off for Mary Larkin"))
    cursor_in(page, "first-kind")
    hands.tap(button(page, "Same as last time"))
    cursor_in(page, "save")
    hands.tap(button(page, "Save ticket"))

    page.wait_for_url(TICKET_PAGE)
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


def test_by_keyboard_alone(desktop, price_list, mary, owner, record_property):
    signed_in(desktop, owner).goto("/")
    hands = Hands(desktop)
    hands.type("0143")
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


def test_without_javascript(new_context, live_server, price_list, mary, owner, record_property):
    """The same two visits; "Find" is a press of Enter more."""
    page = signed_in(new_context(java_script_enabled=False).new_page(), owner)
    page.goto("/")
    hands = Hands(page)
    hands.type("0143")
    hands.press("Enter")
    page.wait_for_url("**/find/*")
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


@pytest.mark.parametrize("scripts", [True, False], ids=["scripts", "no scripts"])
def test_five_garments_on_a_phone(
    scripts, new_context, live_server, price_list, mary, owner, record_property
):
    page = signed_in(new_context(java_script_enabled=scripts).new_page(), owner)
    page.goto(f"/drop-off/?client={mary.pk}")
    hands, started = Hands(page), time.monotonic()
    pieces = [("Trousers", "Hem"), ("Dress", "Sides"), ("Coat", "Sleeves"), ("Dress", "Straps")]
    for index, (kind, work) in enumerate([*pieces, ("Trousers", "Take in waist")]):
        hands.tap(page.locator("[aria-labelledby=kinds]").get_by_role("button", name=kind))
        cursor_in(page, f"g{index}-first")
        hands.tap(page.locator(f"[aria-labelledby=g{index}-name]").get_by_role("button", name=work))
        cursor_in(page, f"id_g{index}-l0-amount")
        hands.type("2.5")
        assert_fits(page)
    machine = time.monotonic() - started
    expect(page.locator("#bar")).to_contain_text("5 garments")
    hands.tap(button(page, "Save ticket"))

    ticket = saved(page)
    assert "".join(garment.letter for garment in ticket.garments.all()) == "ABCDE"
    assert ticket.gross == 5 * 2400
    way = "with scripts" if scripts else "without JavaScript"
    hands.report(f"Five garments on one ticket {way}", 30, record_property)
    record_property("figure", f"Five garments {way}: the machine took {machine:.1f} s of it")


def test_a_double_press_makes_one_ticket(page, price_list, mary, owner):
    signed_in(page, owner).goto(f"/drop-off/?client={mary.pk}")
    button(page, "Trousers").tap()
    button(page, "Hem").tap()
    cursor_in(page, "id_g0-l0-amount")
    page.keyboard.type("4.5")
    page.locator("#save").dblclick()

    saved(page)
    assert Ticket.objects.count() == 1


def test_a_drop_off_is_not_left_unsaved_by_accident(page, price_list, mary, owner):
    asked = []
    page.on("dialog", lambda dialog: (asked.append(dialog.type), dialog.accept()))
    signed_in(page, owner).goto(f"/drop-off/?client={mary.pk}")
    page.reload()
    assert asked == []

    button(page, "Trousers").tap()
    button(page, "Hem").tap()
    cursor_in(page, "id_g0-l0-amount")
    page.reload()
    assert asked == ["beforeunload"]

    button(page, "Trousers").tap()
    button(page, "Hem").tap()
    cursor_in(page, "id_g0-l0-amount")
    page.keyboard.type("4.5")
    page.locator("#save").tap()
    saved(page)
    assert asked == ["beforeunload"]


def test_typing_goes_on_while_the_price_is_on_its_way(desktop, price_list, mary, owner):
    signed_in(desktop, owner).goto(f"/drop-off/?client={mary.pk}")
    button(desktop, "Trousers").click()
    button(desktop, "Hem").click()
    cursor_in(desktop, "id_g0-l0-amount")

    def slowly(route):
        time.sleep(0.6)
        route.continue_()

    desktop.route("**/drop-off/", slowly)
    desktop.locator("summary", has_text="Surcharges").click()
    desktop.get_by_label("How many").fill("3")
    colour = desktop.get_by_label("Colour", exact=True)
    colour.click()
    desktop.keyboard.type("navy with a blue stripe", delay=60)

    expect(desktop.locator("#bar")).to_contain_text("€72.00")
    expect(colour).to_be_focused()
    expect(colour).to_have_value("navy with a blue stripe")
    expect(desktop.locator("details", has_text="Surcharges").first).to_have_attribute("open", "")


def test_when_the_login_has_ended_nothing_typed_is_lost(page, price_list, mary, owner, complaints):
    signed_in(page, owner).goto(f"/drop-off/?client={mary.pk}")
    button(page, "Trousers").tap()
    page.get_by_label("Colour", exact=True).fill("navy")
    page.context.clear_cookies(name="sessionid")
    button(page, "Hem").tap()
    expect(page.get_by_role("alert")).to_contain_text("You are no longer logged in.")

    with page.expect_popup() as beside:
        page.get_by_role("link", name="Log in").tap()
    beside.value.get_by_label("Name").fill(owner.username)
    beside.value.get_by_label("Password").fill(factories.PASSWORD)
    beside.value.get_by_role("button", name="Log in").tap()
    beside.value.wait_for_url(lambda url: "/login/" not in url)
    button(page, "Hem").tap()

    cursor_in(page, "id_g0-l0-amount")
    assert page.get_by_label("Colour", exact=True).input_value() == "navy"
    assert page.get_by_role("alert").count() == 0
    page.keyboard.type("4.5")
    button(page, "Save ticket").tap()
    assert saved(page).garments.get().colour == "navy"


def test_when_no_answer_comes_the_page_says_so(page, price_list, mary, owner, complaints):
    signed_in(page, owner).goto(f"/drop-off/?client={mary.pk}")
    button(page, "Trousers").tap()
    button(page, "Hem").wait_for()
    page.route("**/drop-off/", lambda route: route.abort())
    button(page, "Hem").tap()

    expect(page.get_by_role("alert")).to_contain_text("Nothing typed is lost")
    page.unroute("**/drop-off/")
    button(page, "Hem").tap()
    cursor_in(page, "id_g0-l0-amount")
    # The browser itself complains of the address that did not answer.
    complaints.clear()


def test_a_photograph_is_kept_as_soon_as_it_is_taken(page, price_list, mary, owner):
    signed_in(page, owner).goto(f"/drop-off/?client={mary.pk}")
    button(page, "Trousers").tap()
    file = io.BytesIO()
    Image.new("RGB", (300, 200), "teal").save(file, "JPEG")
    shot = {"name": "shot.jpg", "mimeType": "image/jpeg", "buffer": file.getvalue()}
    page.get_by_label("Photographs").set_input_files(shot)

    expect(page.get_by_alt_text("Photograph 1 of Trousers")).to_be_visible()
    assert page.get_by_label("Photographs").input_value() == ""
    button(page, "Hem").tap()
    cursor_in(page, "id_g0-l0-amount")
    page.keyboard.type("4.5")
    button(page, "Save ticket").tap()
    ticket = saved(page)
    assert Photo.objects.get().garment.ticket == ticket


def test_what_is_wrong_is_said_and_shown(page, price_list, mary, owner):
    signed_in(page, owner).goto(f"/drop-off/?client={mary.pk}")
    button(page, "Trousers").tap()
    button(page, "Hem").tap()
    cursor_in(page, "id_g0-l0-amount")
    page.keyboard.type("four")
    page.keyboard.press("Tab")
    expect(page.locator("#id_g0-l0-amount_said")).to_contain_text("Write one number and one unit")
    button(page, "Save ticket").tap()

    expect(page.get_by_role("alert")).to_contain_text("One thing needs a look")
    cursor_in(page, "id_g0-l0-amount")
    page.locator("#drop-off details").evaluate_all("all => all.forEach(one => one.open = true)")
    assert_fits(page)
    assert_accessible(page)


def test_what_is_touched_daily_is_large(page, price_list, mary, owner):
    signed_in(page, owner).goto(f"/drop-off/?client={mary.pk}")
    heights = [page.locator("[aria-labelledby=kinds] .btn").first.bounding_box()["height"]]
    button(page, "Trousers").tap()
    button(page, "Hem").wait_for()
    heights.append(button(page, "Hem").bounding_box()["height"])
    heights.append(button(page, "Save ticket").bounding_box()["height"])
    assert min(heights) >= 56
    button(page, "Hem").tap()
    cursor_in(page, "id_g0-l0-amount")
    targets = page.locator("#drop-off :is(.btn, summary, .chips label, input:not([type=hidden]))")
    shown = [box for target in targets.all() if (box := target.bounding_box())]
    small = [box for box in shown if box["height"] < 44 and box["width"] > 24]
    assert small == []
