"""The demo studio, walked by its links from the front page: every page reached, none amiss."""

from collections import Counter, deque

import pytest
from django.urls import resolve, reverse
from playwright.sync_api import CDPSession, Page

from clients.models import Sheet
from jobs.billing.models import Payment
from jobs.tickets.models import Ticket
from studio.shop.models import User
from tests.browser.conftest import DESKTOP, PHONE
from tests.browser.hands import (
    assert_accessible,
    assert_laid_out,
    assert_readable_large,
    resize,
    signed_in,
)
from tests.fixtures.larkfield.quick import fill_quickly
from tests.thorough import rounds
from tests.url_table import FILE, PAGE, TABLE

# Pages of one kind that are looked at: tickets differ by state, and one invoice is taken back.
USUALLY = rounds(1, 2)
OFTEN = {
    "ticket": rounds(4, 6),
    "client": rounds(2, 3),
    "invoice": rounds(2, 4),
    **dict.fromkeys(("cloth", "find", "garment-fit", "make", "pattern", "sheets", "year-of"), 2),
}
# The front page, answers of the find box and of the question whether there is time, and the page
# that shows developers all components.
STARTS = ["/", "/find/?q=a", "/rush/", "/looks/", "/new-days/"]
# Linked from some pages of a kind alone, perhaps from none of those that are looked at.
ASIDE = ["look-back-pairs", "price-names"]
# Of a ticket that has left: what stands after Save and after handing over.
AFTER = ["ticket-saved", "ticket-handed-over"]
# What nobody has there yet.
MADE = ["pad", "own-measure", "measure-set", "clients-file", "backup-copy"]
# What only a form leads to, filled in wrongly or once it is sent; a year is linked by its number,
# and the end of a sitting stands behind its last answer.
UNLINKED = {
    "line-wait",
    "line-cut",
    "cloth-cut",
    "hem-minutes",
    "make-finish",
    "year",
    "sitting-end",
}


@pytest.fixture
def lived_in(live_server, monkeypatch) -> User:
    """Lists that are longer than a page need no more."""
    return fill_quickly(monkeypatch, past=60)


# Where the page leads. Asked by a locator each page would be given Playwright's own scripts first.
LINKS = """() => [...document.querySelectorAll("a[href]")]
    .filter(({origin}) => origin === location.origin).map(({pathname}) => pathname)"""


def look(page: Page, browser: CDPSession, path: str, first: bool) -> None:
    """Of a kind's ``first`` page all there is to ask; others have its style sheet and its words.

    These may be too wide, too small or wrongly told by what they hold, which a phone shows first.
    """
    resize(page, **PHONE)
    page.goto(path)
    assert_laid_out(page)
    if not first:
        assert_accessible(page, schemes=(), targets=False)
        return
    assert_accessible(page, targets=False)
    assert_readable_large(page, browser)
    resize(page, **DESKTOP)
    assert_laid_out(page)


def test_every_page_of_a_lived_in_studio(page, lived_in, press, record_property):
    signed_in(page, lived_in)
    browser = page.context.new_cdp_session(page)
    # Few clients are measured, and few of all clients are looked at; few of all tickets likewise,
    # and among them perhaps none that is paid and has left.
    sheets = reverse("sheets", args=[Sheet.objects.latest("pk").client_id])
    paid = Payment.objects.filter(kind=Payment.Kind.BALANCE, reversed_by=None).latest("pk")
    sent = [reverse(name, args=[paid.ticket.number]) for name in AFTER]
    made = [reverse(name, kwargs=TABLE[name].make()) for name in MADE]
    # An invoice that lacks something is shown by its form alone.
    lacking = Ticket.objects.filter(invoices=None, client__street="").latest("gross")
    refused = [reverse(name, args=[lacking.number]) for name in ("invoice-issue", "reverse-charge")]
    # Few tickets are for an event, and from these alone one counts back.
    gown = Ticket.objects.open().exclude(event="").latest("received_at")
    refused.append(reverse("ticket-event", args=[gown.number]))
    aside = [reverse(name, kwargs=TABLE[name].make()) for name in ASIDE]
    starts = [*STARTS, *aside, sheets, paid.ticket.get_absolute_url(), *sent, *made, *refused]
    waiting, known = deque(starts), set(starts)
    # To lay papers out is the business of their own tests.
    press.proofs = True
    seen: Counter[str] = Counter()
    faults: list[str] = []
    while waiting:
        path = waiting.popleft()
        name = resolve(path.partition("?")[0]).url_name
        is_file = TABLE[name].shows == FILE
        if seen[name] >= OFTEN.get(name, 2 if is_file else USUALLY):
            continue
        seen[name] += 1
        if is_file:
            assert page.request.get(path).status == 200, path
            continue
        try:
            look(page, browser, path, first=seen[name] == 1)
        except AssertionError as fault:
            # Not the first fault alone: all pages take minutes.
            faults.append(str(fault))
            page.goto(path)
        new = [link for link in page.evaluate(LINKS) if link not in known]
        known.update(new)
        waiting.extend(dict.fromkeys(new))
    assert not faults, "\n".join(faults)
    record_property("figure", f"the demo studio: {seen.total()} pages and papers without a finding")
    pages = {
        name
        for name, row in TABLE.items()
        if (row.method, row.owner, row.shows) == ("get", 200, PAGE)
    }
    assert pages - set(seen) == UNLINKED
