"""A passkey from making it to logging in with it, with the browser's own virtual authenticator.

The Chrome DevTools Protocol, domain WebAuthn, has it: it answers as a phone that knows its owner.
"""

from io import BytesIO
from urllib.parse import parse_qs, urlsplit

import zxingcpp
from PIL import Image
from playwright.sync_api import expect

from studio.shop.models import Passkey
from tests.browser.hands import assert_accessible, assert_fits, signed_in
from tests.factories import PASSWORD

PHONE = {
    "protocol": "ctap2", "transport": "internal", "hasResidentKey": True,
    "hasUserVerification": True, "isUserVerified": True, "automaticPresenceSimulation": True,
}  # fmt: skip


def test_a_passkey_is_made_and_opens_the_studio(own_page, studio, owner):
    page = signed_in(own_page, owner)
    devtools = page.context.new_cdp_session(page)
    devtools.send("WebAuthn.enable")
    phone = devtools.send("WebAuthn.addVirtualAuthenticator", {"options": PHONE})

    page.goto("/logins/second/")
    page.get_by_role("link", name="Add a passkey").tap()
    page.get_by_label("What you call it").fill("Counter phone")
    page.get_by_role("button", name="Make the passkey").tap()
    expect(page.get_by_role("heading", level=1)).to_have_text("Your recovery codes")
    expect(page.locator(".codes li")).to_have_count(10)
    assert_fits(page)
    assert_accessible(page)
    page.get_by_role("button", name="Done").tap()
    expect(page.get_by_role("heading", name="Your recovery codes")).to_be_visible()
    page.get_by_label("They are printed or written down").check()
    page.get_by_role("button", name="Done").tap()
    expect(page.locator("main")).to_contain_text("Counter phone")
    assert_fits(page)
    assert_accessible(page)

    # A phone's camera reads the secret that stands below the code of the app.
    page.goto("/logins/second/app/")
    picture = page.locator(".qr").screenshot()
    (code,) = zxingcpp.read_barcodes(Image.open(BytesIO(picture)))
    secret = page.locator(".secret").inner_text().replace(" ", "")
    assert parse_qs(urlsplit(code.text).query)["secret"] == [secret]

    page.context.clear_cookies()
    page.goto("/login/")
    page.get_by_label("Name").fill("owner")
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Log in").tap()
    expect(page.get_by_role("heading", level=1)).to_have_text("Second factor")
    assert_fits(page)
    assert_accessible(page)
    # Somebody else's thumb: the page says so, and the right one opens.
    devtools.send("WebAuthn.setUserVerified", phone | {"isUserVerified": False})
    use = page.get_by_role("button", name="Use a passkey")
    use.tap()
    expect(page.get_by_role("alert")).to_contain_text("No passkey was used.")
    devtools.send("WebAuthn.setUserVerified", phone | {"isUserVerified": True})
    use.tap()
    expect(page.get_by_role("link", name="Drop-off", exact=True)).to_be_visible()
    assert Passkey.objects.get().used_at
