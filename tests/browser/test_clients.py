"""Clients in a browser: longest names on a phone, a file and a merge without JavaScript."""

from django.urls import reverse
from playwright.sync_api import expect

from clients.models import Client
from tests.browser.hands import assert_accessible, assert_fits, assert_in_sight, signed_in
from tests.drafts import received, trousers
from tests.factories import ClientFactory, TicketFactory

LONGEST = {
    "name": "W" * 200,
    "phone": "+353 (0)86 555 0143 / 01 555 0199 evening",
    "email": f"{'m' * 60}@{'larkfield' * 6}.example",
    "street": "3 Mill Lane " * 16,
    "city": "Larkfield" * 11,
    "notes": "مريم 🧵 " + "w" * 300,
}
TABLE = (
    "name,phone,birthday\nMary Larkin,086 555 0143,\nTom Larkin,086 555 0143,\n"
    f"{'W' * 200},1234,\n,5678,\nAda Ashe,,\n"
)


def upload(page, text: str) -> None:
    page.goto(reverse("clients-import"))
    page.set_input_files(
        "input[type=file]",
        {"name": "clients.csv", "mimeType": "text/csv", "buffer": text.encode()},
    )
    page.get_by_role("button", name="Look at it").click()


def test_the_longest_facts_fit_on_a_phone_and_shut_nobody_out(page, studio, owner):
    """The pages of a client, and those between: two entries beside each other, a file looked at."""
    client = ClientFactory(**LONGEST | {"phone": LONGEST["phone"][:40]})
    ClientFactory(name=client.name)
    other = ClientFactory(name="Mary Larkin", phone="086 555 0143")
    signed_in(page, owner)
    merge = reverse("client-merge", args=[client.pk])
    pages = [reverse(name, args=[client.pk]) for name in ("client", "client-edit")]
    for address in (*pages, merge, reverse("clients"), f"{merge}?other={other.pk}"):
        page.goto(address)
        assert_fits(page)
    assert_accessible(page)
    upload(page, TABLE)
    expect(page.get_by_role("heading", name="What is in each column?")).to_be_visible()
    assert_fits(page)
    assert_accessible(page)
    page.get_by_role("button", name="Look at the people").click()
    for kind in ("New", "Cannot be taken"):
        page.get_by_role("button", name=kind).click()
        assert_fits(page)
        assert_accessible(page)


def test_a_large_file_says_how_much_of_it_is_sent(page, studio, owner, tmp_path):
    """One that is too large is named before a byte of it goes; one that is refused stays a page."""
    large = tmp_path / "large.vcf"
    with large.open("wb") as file:
        file.truncate(25 * 1024 * 1024 + 1)
    signed_in(page, owner)
    page.goto(reverse("clients-import"))
    page.set_input_files("input[type=file]", large)
    sent = []
    page.on("request", lambda request: sent.append(request.method))
    page.get_by_role("button", name="Look at it").click()
    expect(page.get_by_text("at most 25 MB are read. Send it in parts.")).to_be_visible()
    assert_accessible(page)
    assert "POST" not in sent
    page.evaluate("""() => document.addEventListener("htmx:xhr:progress", () => {
        window.told = (window.told ?? "") + document.querySelector("[data-told]").textContent;
    })""")
    nobody = b"name" + (b"\n" + b" " * 1000) * 1500
    page.set_input_files("input[type=file]", {"name": "a.csv", "mimeType": "", "buffer": nobody})
    page.get_by_role("button", name="Look at it").click()
    expect(page.get_by_role("link", name="nobody in the file but the headings")).to_be_visible()
    assert "Sent. It is being read." in page.evaluate("window.told")
    assert_fits(page)


def test_a_file_comes_in_without_javascript(plain, studio, owner):
    page = signed_in(plain, owner)
    upload(page, TABLE)
    page.get_by_role("button", name="Look at the people").click()
    page.get_by_label("Tom Larkin").check()
    page.get_by_role("button", name="Take them in").click()
    expect(page.get_by_role("heading", name="Taken in")).to_be_visible()
    assert Client.objects.count() == 4
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_role("heading", name="Undone")).to_be_visible()
    assert not Client.objects.exists()


def test_two_entries_become_one_and_two_again_without_javascript(plain, studio, owner):
    keep = ClientFactory(name="Mary Larkin", phone="086 555 0143")
    other = ClientFactory(name="M. Larkin", phone="086 555 0143", notes="left-handed")
    ticket = TicketFactory(client=other)
    page = signed_in(plain, owner)
    page.goto(reverse("client", args=[keep.pk]))
    page.get_by_text("Two entries of one client").click()
    page.get_by_role("link", name="Merge").click()
    page.get_by_role("link", name="M. Larkin").click()
    page.get_by_role("button", name="Make one entry").click()
    expect(page.get_by_text("left-handed")).to_be_visible()
    page.locator("summary").get_by_text("Tickets").click()
    expect(page.get_by_role("link", name=ticket.number)).to_be_visible()
    page.get_by_role("button", name="Undo: two entries again").click()
    expect(page.get_by_text("M. Larkin is an entry of its own again.")).to_be_visible()
    ticket.refresh_from_db()
    assert ticket.client == other


def test_somebody_alike_is_shown_on_a_phone(page, studio, owner):
    ClientFactory(**LONGEST | {"phone": LONGEST["phone"][:40]})
    signed_in(page, owner).goto(reverse("client-new"))
    page.get_by_label("Name").fill(LONGEST["name"])
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("alert")).to_contain_text("Is it one of these?")
    assert_fits(page)
    assert_accessible(page)
    page.get_by_role("button", name="None of these").click()
    expect(page.get_by_text("is on the list.")).to_be_visible()
    assert Client.objects.count() == 2


def test_reach_and_pictures_are_seen_at_once(page, studio, owner, record_property):
    """Phone number and what hangs here end within 440 px of a phone; what one touches is large."""
    client = ClientFactory(name="Anna Reed", phone="087 555 4321", city="Larkfield")
    received(studio, owner, trousers(), trousers(colour="red"), client=client)
    signed_in(page, owner).goto(reverse("client", args=[client.pk]))
    assert_in_sight(page.locator(".reach"), 440, "client: phone", record_property)
    assert_in_sight(page.locator(".rack .garment").first, 440, "client: pictures", record_property)
    for target in page.locator(".reach .btn").all():
        assert target.bounding_box()["height"] >= 56
    assert_fits(page)
    page.set_viewport_size({"width": 320, "height": 700})
    assert_fits(page)


def test_a_note_is_saved_as_its_field_is_left(page, studio, owner):
    client = ClientFactory(name="Anna Reed")
    signed_in(page, owner).goto(reverse("client", args=[client.pk]))
    page.get_by_label("New note").fill("Left leg shorter")
    page.get_by_label("New note").blur()
    expect(page.locator("#notes").get_by_text("Left leg shorter")).to_be_visible()
    client.refresh_from_db()
    assert client.notes == "Left leg shorter"


def test_clients_are_found_as_one_types(page, studio, owner):
    for name in ("Anna Reed", "Bo Finch"):
        ClientFactory(name=name)
    signed_in(page, owner).goto(reverse("clients"))
    page.get_by_label("Name or phone").press_sequentially("fin")
    expect(page.get_by_role("link", name="Anna Reed")).to_have_count(0)
    page.get_by_role("link", name="Bo Finch").tap()
    page.wait_for_url("**/clients/*/")
