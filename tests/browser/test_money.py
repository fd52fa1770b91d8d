"""The money rooms by hand: the cash box counted, columns measured, figures that stay whole."""

import re
from datetime import timedelta
from uuid import uuid4

import pytest
from playwright.sync_api import expect

from jobs.billing import actions
from jobs.billing.models import CashCount, Invoice, Payment
from studio.shop import clock
from studio.shop.models import Profile
from tests.browser.hands import Hands, assert_accessible, assert_fits, signed_in
from tests.drafts import gone, hem, issued, received, trousers
from tests.factories import PaymentFactory


@pytest.fixture
def month(studio, owner):
    """Money by every way, some of it back; work in the house, on the rail and at home unpaid."""
    ticket = received(studio, owner)
    today = clock.today()
    for back, method in enumerate(Payment.Method.values * 3):
        PaymentFactory(ticket=ticket, amount=500 + 700 * back, method=method,
                       day=max(today.replace(day=1), today - timedelta(days=back)))  # fmt: skip
    PaymentFactory(ticket=ticket, amount=-300, method="card", kind="refund")
    for price in range(10):
        gone(received(studio, owner, trousers(hem(unit_price=4500 + price))))
    return issued(studio, owner, gone(received(studio, owner)))


def test_the_box_is_counted_with_ten_fields_and_one_button(page, studio, owner, record_property):
    actions.close_day(pieces={}, rest=13750, taken_out=0, expected=None, why="", by=owner,
                      studio=studio, form_key=uuid4())  # fmt: skip
    hands = Hands(signed_in(page, owner))
    page.goto("/money/")
    hands.tap("text=Count the cash")
    page.wait_for_url("**/day-end/")
    fields = page.locator("main input:visible, main select:visible, main textarea:visible").count()
    buttons = page.locator("main .btn:visible:not([href*='.pdf']), .step .btn:visible").count()
    record_property("figure", f"day-end: {fields} fields of at most 10 and {buttons} button")
    assert (fields, buttons) == (10, 1)
    for name, typed in {"5000": "2", "1000": "3", "200": "3"}.items():
        page.locator(f"[data-worth='{name}']").fill(typed)
    page.locator("[data-rest]").fill("0,50")
    assert page.locator("[data-counted]").inner_text() == "€136.50"
    assert page.locator("[data-off]").inner_text().split() == ["short", "€1.00"]
    assert page.locator("[data-off-line]").inner_text() == "€1.00 short"
    hands.tap("text=Close the day")
    page.get_by_text("Day closed. The next begins with €136.50.").wait_for()
    assert CashCount.objects.first().difference == -100
    record_property("figure", f"day-end: {hands.count} taps beside what is counted")
    assert hands.count == 2


def test_an_invoice_that_lacks_a_name_leads_to_its_field_and_is_then_issued(page, studio, owner):
    Profile.objects.update(legal_name="")
    ticket = received(studio, owner)
    signed_in(page, owner)
    page.goto(f"{ticket.get_absolute_url()}#money")
    page.get_by_role("button", name="Issue invoice").click()
    row = page.get_by_role("link", name="The studio's legal name")
    expect(row).to_contain_text("Article 226 (5), 226b (b)")
    assert_accessible(page)
    row.click()
    field = page.get_by_label("Legal name", exact=True)
    expect(field).to_be_focused()
    part, other = (
        page.locator(f"[data-part={name}]").evaluate("it => getComputedStyle(it).backgroundColor")
        for name in ("legal", "vat")
    )
    assert part != other
    field.fill("Wren Larkfield")
    page.get_by_role("button", name="Save").click()
    expect(page.get_by_role("heading", name="Invoice: nothing is missing")).to_be_visible()
    page.get_by_role("button", name="Issue the invoice").click()
    expect(page.get_by_role("link", name="Print (PDF)")).to_be_visible()
    assert Invoice.objects.get().data["studio"]["legal_name"] == "Wren Larkfield"


def test_columns_and_lengths_measure_what_their_figures_say(desktop, month, owner, record_property):
    page = signed_in(desktop, owner)
    page.goto("/money/")
    chart = page.locator(".taken .columns")
    rows = chart.locator("tbody tr").evaluate_all(
        "rows => rows.flatMap(row => [...row.cells].slice(1, -1).map(cell => cell.textContent))"
    )
    figures = [float(re.sub(r"[^\d.-]", "", words)) for words in rows]
    figures = [figure for figure in figures if figure]
    heights = chart.locator("rect.part").evaluate_all("all => all.map(r => r.height.baseVal.value)")
    assert len(figures) == len(heights) > 5
    scale = sum(heights) / sum(map(abs, figures))
    most = max(abs(h - abs(f) * scale) for h, f in zip(heights, figures, strict=True))
    record_property("figure", f"{len(heights)} columns differ by {most:.2f} px of at most 1")
    assert most < 1
    load = page.locator("[aria-label='To pay'] .load")
    amounts = [float(words.strip("€")) for words in load.locator("dd").all_inner_texts()]
    widths = load.locator("rect.part").evaluate_all("all => all.map(r => r.width.baseVal.value)")
    assert [w / sum(widths) for w in widths] == pytest.approx(
        [amount / sum(amounts) for amount in amounts], abs=0.002
    )


# As a reader knows them: 1 h 30, 45 min, 4.5 cm, 27 Nov 2026, -€4.38, 26-0143. A weekday may stand
# above its date.
WHOLE = "|".join([
    r"\d+ h(?: \d\d)?", r"\d+ min", r"[\d.]+ (?:cm|m|%)", r"-?€[\d.,]+", r"\b[A-Z]?\d\d-\d{4}\b",
    r"\b\d+ [A-Z][a-z]{2,3}\b(?: \d{4})?",
])  # fmt: skip
BROKEN = """pattern => {
  const found = new RegExp(pattern, "g"), broken = [], range = document.createRange();
  const walk = document.createTreeWalker(document.querySelector("main"), NodeFilter.SHOW_TEXT);
  let seen = 0;
  while (walk.nextNode()) {
    const node = walk.currentNode;
    if (node.parentElement.closest("svg, option, script, .visually-hidden")) continue;
    for (const match of node.data.replace(/\\u00a0/g, " ").matchAll(found)) {
      range.setStart(node, match.index); range.setEnd(node, match.index + match[0].length);
      const boxes = [...range.getClientRects()].filter(box => box.width > 0);
      const lines = new Set(boxes.map(box => Math.round(box.top)));
      seen += lines.size > 0; if (lines.size > 1) broken.push(match[0]);
    }
  }
  return [seen, broken];
}"""


def test_the_money_rooms_shut_nobody_out_and_no_figure_breaks(page, month, owner, record_property):
    """No figure at any width from 320 to 440 px, in steps of 8: some line would end in each."""
    signed_in(page, owner)
    invoice = month.get_absolute_url()
    for address in ("/money/", "/money/day-end/", invoice, f"{invoice}credit/", "/year/"):
        page.set_viewport_size({"width": 320, "height": 640})
        page.goto(address)
        if address in {"/money/", "/money/day-end/", invoice}:
            assert page.locator("h1").count() == 1
            assert page.locator(".btn.main:visible").count() == 1
            assert_fits(page)
        folded = page.locator("details:not([open]) > summary")
        folded.evaluate_all("all => all.forEach(s => s.click())")
        figures = 0
        for width in range(320, 441, 8):
            page.set_viewport_size({"width": width, "height": 844})
            seen, broken = page.evaluate(BROKEN, WHOLE)
            assert broken == [], f"{address} at {width} px"
            figures = max(seen, figures)
        assert figures > 5
        record_property("figure", f"{address}: {figures} figures stay whole from 320 to 440 px")


def test_a_line_is_credited_on_the_paper(page, studio, owner, record_property):
    """50.00 x 13.5 / 113.5 = 5.947 of tax; 20.00 of it hold 2.379. What was paid goes back."""
    lines = hem(name="Zip", unit_price=4250), hem(name="Hem, lined", unit_price=5000)
    ticket = received(studio, owner, trousers(*lines))
    actions.record_payment(ticket=ticket, amount=9250, method="card", kind="balance", by=owner,
                           studio=studio, form_key=uuid4())  # fmt: skip
    invoice = issued(studio, owner, ticket)
    hands = Hands(signed_in(page, owner))
    page.goto(invoice.get_absolute_url())
    hands.tap("text=Give money back for a line")
    hands.tap("text=Hem, lined")
    expect(page.locator("#credit-sums")).to_contain_text("44.05")
    assert_accessible(page)
    assert_fits(page)
    page.get_by_label("Hem, lined of").fill("20")
    expect(page.locator("#credit-sums")).to_contain_text("2.38")
    expect(page.locator("#credit-fact")).to_contain_text("20.00 back")
    hands.tap("text=Price agreed lower")
    expect(page.get_by_label("Why")).to_have_value("Price agreed lower")
    hands.tap("text=Issue credit")
    expect(page.get_by_text("credited by")).to_be_visible()
    assert Payment.objects.get(kind="refund").amount == -2000
    record_property("figure", f"credit for a line: {hands.count} taps beside what is typed")
    assert hands.count == 4
