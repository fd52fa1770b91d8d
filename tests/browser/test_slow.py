"""A slow phone: what is done before the scripts listen, or before an answer comes, is not lost."""

from collections.abc import Iterator
from contextlib import contextmanager

from playwright.sync_api import Page, Route, expect

from tests import factories
from tests.browser.hands import signed_in
from tests.drafts import received, take_in, trousers

CHANGED = "field => field.dispatchEvent(new Event('change', { bubbles: true }))"


@contextmanager
def held(page: Page, address: str) -> Iterator[None]:
    """What the page asks of ``address`` waits for the end of the block."""
    waiting: list[Route] | None = []

    def hold(route: Route) -> None:
        if waiting is None:
            route.continue_()
        else:
            waiting.append(route)

    page.route(address, hold)
    yield
    late, waiting = waiting, None
    for route in late:
        route.continue_()


def test_what_is_typed_before_the_scripts_listen_is_told_to_them(page, studio, owner):
    """A fitting of a whole day begins when the bench opens: noon is offered no more."""
    ticket = received(studio, owner, trousers(take_in()))
    factories.ClientFactory(name="Mary Larkin")
    signed_in(page, owner)
    noon = page.locator(".times label", has_text="12:00")
    with held(page, "**/*.js"):
        page.goto(f"/t/{ticket.number}/fittings/new/", wait_until="commit")
        page.get_by_label("Minutes").fill("480")
        expect(noon.first).to_be_visible()
    expect(noon).to_have_count(0)

    with held(page, "**/*.js"):
        page.goto("/find/", wait_until="commit")
        page.locator("#find").fill("lar")
        expect(page.locator("#found")).not_to_contain_text("Mary Larkin")
    expect(page.locator("#found")).to_contain_text("Mary Larkin")


def test_what_is_changed_while_an_answer_is_on_its_way_is_changed_in_it(page, studio, owner):
    """The drop-off comes back as a whole, made from what the form said when it was sent."""
    kind = factories.GarmentKindFactory(name="Trousers")
    factories.OperationFactory(garment_kind=kind, name="Hem", price=2400)
    mary = factories.ClientFactory(name="Mary Larkin")
    signed_in(page, owner).goto(f"/drop-off/?client={mary.pk}")
    page.locator(".kinds").get_by_role("button", name="Trousers").tap()
    colour = page.get_by_label("Another colour")
    with held(page, "**/drop-off/"):
        page.get_by_role("button", name="Hem").first.tap()
        colour.fill("navy with a blue stripe")
    expect(page.locator("#bar")).to_contain_text("€24.00")
    expect(colour).to_have_value("navy with a blue stripe")
    expect(colour).to_be_focused()
    days = page.locator(".calendar input")
    expect(page.locator(".calendar input:checked")).to_have_count(1)
    with held(page, "**/drop-off/"):
        with page.expect_request("**/drop-off/"):
            page.locator("#id_g0-l0-minutes").evaluate(CHANGED)
        days.last.check(force=True)
    expect(page.locator("#ready-on input")).to_have_value(days.last.get_attribute("value"))
    expect(days.last).to_be_checked()
