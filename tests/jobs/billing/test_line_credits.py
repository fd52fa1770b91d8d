"""Credit for single lines, reckoned here with exact fractions.

A reduction of the price after the supply reduces the taxable amount: Directive 2006/112/EC, Article
90(1); the document names the invoice it amends "specifically and unambiguously", Article 219 (both
from memory). Tax is rounded half up once for each rate of what was credited so far.
"""

import re
from collections import defaultdict
from datetime import date
from decimal import Decimal
from fractions import Fraction
from uuid import uuid4

import pytest
import time_machine
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from jobs.billing.actions import (
    BillingError,
    credit_invoice,
    credit_lines,
    issue_invoice,
    record_payment,
)
from jobs.billing.books import handed_over_between, income_by_operation, ledger
from jobs.billing.credits import CreditError, charged_lines, credit_charges, lines_left
from jobs.billing.documents import charge_rows
from jobs.billing.models import Invoice, Payment
from jobs.billing.queries import balance, open_invoice, open_money, taken_on, ticket_money
from jobs.counter.sums import money_sums
from jobs.tickets.models import Ticket
from studio.shop import clock
from tests.drafts import gone, hem, issued, received, take_in, trousers
from tests.jobs.billing.test_charge_rows import BUSINESS, LINES, billed, half_up, plain
from tests.papers_data import REPAIRS

STANDARD = {"name": "Standard", "percent": "23", "exempt": False, "sentence": ""}


def tax_of(price: int, percent: str, mode: str) -> int:
    """Half up, once: a price with tax inside holds percent / (100 + percent) of it."""
    rate = Fraction(percent)
    return half_up(Fraction(price) * rate / (100 + (rate if mode == "included" else 0)))


@given(
    st.lists(LINES, min_size=1, max_size=5),
    st.sampled_from(["included", "added", "none"]),
    st.sampled_from(["", BUSINESS]),
    st.integers(0, 100),
    st.data(),
)
def test_however_it_is_credited_the_notes_come_to_the_invoice(lines, mode, number, off, data):
    off = min(off, sum(line.unit_price * line.quantity for line in lines))
    terms = {"discount_amount": off, "rush_percent": Decimal(20)}
    invoice = billed(*lines, tax_mode=mode, tax_number=number, **terms)
    notes: list[dict] = []
    credited: dict[str, int] = defaultdict(int)
    while left := {line.place: line.left for line in lines_left(invoice, notes) if line.left}:
        places = data.draw(st.sets(st.sampled_from(sorted(left)), min_size=1))
        whole = len(notes) > 4
        amounts = {p: left[p] if whole else data.draw(st.integers(1, left[p])) for p in places}
        note = invoice | credit_charges(invoice, notes, amounts) | {"kind": "credit"}
        notes.append(note)
        assert {line["of"]: -line["price"] for line in charged_lines(note)} == amounts
        for line in charged_lines(note):
            assert line["net"] + line["tax"] == line["gross"] <= 0
            assert line["tax"] <= 0 >= line["net"]
        assert (
            sum(row.amount for row in charge_rows(note))
            == note["net" if (number and mode == "included") or mode == "added" else "gross"]
        )
        for key in ("net", "tax", "gross"):
            assert note[key] == sum(line[key] for line in charged_lines(note))
            assert mode == "none" or note[key] == sum(rate[key] for rate in note["rates"])
        for line in charged_lines(note):
            credited[line["tax_facts"]["name"]] -= line["price"]
        for rate in invoice["rates"]:
            name = rate["name"]
            told = -sum(r["tax"] for n in notes for r in n["rates"] if r["name"] == name)
            assert told == tax_of(credited[name], rate["percent"], mode)
    for key in ("net", "tax", "gross"):
        assert sum(note[key] for note in notes) == -invoice[key]
        for rate in invoice["rates"]:
            of_rate = [r[key] for n in notes for r in n["rates"] if r["name"] == rate["name"]]
            assert sum(of_rate) == -rate[key]


def test_the_lined_hem_of_50_00_is_44_05_and_5_95():
    """50 x 13.5 / 113.5 = 5.947; then of 42.50 the rest of 92.50 x 13.5 / 113.5 = 11.002: 5.05."""
    invoice = billed(plain(4250), plain(5000))
    first = credit_charges(invoice, [], {1: 5000})
    assert (first["net"], first["tax"], first["gross"]) == (-4405, -595, -5000)
    second = credit_charges(invoice, [first], {0: 4250})
    assert (second["net"], second["tax"], second["gross"]) == (-3745, -505, -4250)


def test_a_whole_line_keeps_its_pieces_a_part_is_one_piece():
    invoice = billed(plain(250, 4)) | {"kind": "credit"}
    whole, part = (invoice | credit_charges(invoice, [], {0: of}) for of in (1000, 300))
    assert [(row.pieces, row.unit, row.amount) for row in charge_rows(whole)] == [(-4, 250, -1000)]
    assert [(row.pieces, row.unit, row.amount) for row in charge_rows(part)] == [(-1, 300, -300)]


@pytest.mark.parametrize(
    ("amounts", "wrong"),
    [({0: 1001}, "more than is left"), ({0: 0}, "above zero"), ({0: -1}, "above zero"),
     ({7: 1}, "not on this invoice")],
)  # fmt: skip
def test_no_more_than_is_left_of_a_line(amounts, wrong):
    with pytest.raises(CreditError, match=wrong):
        credit_charges(billed(plain(250, 4)), [], amounts)


@pytest.fixture
def ticket(studio, owner):
    """Taken in for 30.00 at 23 %, hemmed for 24.00 at 13.5 %: 54.00."""
    return received(studio, owner, trousers(take_in(tax=STANDARD), hem(tax=REPAIRS)))


@pytest.fixture
def credit(studio, owner):
    def crediting(invoice, amounts, why="Let down again", give_back="", form_key=None):
        return credit_lines(
            invoice=invoice, amounts=amounts, why=why, give_back=give_back, by=owner,
            studio=studio, form_key=form_key or uuid4(),
        )  # fmt: skip

    return crediting


@pytest.fixture
def pay(studio, owner):
    def paying(ticket, amount):
        return record_payment(
            ticket=ticket, amount=amount, method="card", kind="part", by=owner, studio=studio,
            form_key=uuid4(),
        )  # fmt: skip

    return paying


def words_of(page: str) -> str:
    return " ".join(re.sub("<[^>]+>", " ", page.replace("\N{NO-BREAK SPACE}", " ")).split())


def nothing_is_off():
    assert [str(sum_) for sum_ in money_sums() if not sum_.right] == []


def test_what_was_paid_goes_back_and_all_sums_follow(studio, owner, ticket, credit, pay):
    """24.00 x 13.5 / 113.5 = 2.855: 21.15 and 2.85."""
    pay(ticket, 5400)
    invoice = issued(studio, owner, ticket)
    note = credit(invoice, {1: 2400}, give_back="cash")
    assert (note.kind, note.part, note.refers_to) == ("credit", True, invoice)
    assert (note.net, note.tax, note.gross) == (-2115, -285, -2400)
    assert note.data["refers_to"]["number"] == invoice.number
    refund = Payment.objects.get(kind="refund")
    assert (refund.amount, refund.method, refund.invoice) == (-2400, "cash", invoice)
    assert refund.note == f"{note.number}: Let down again"
    money = ticket_money(ticket)
    assert (money.credited, money.owed, money.paid, money.balance) == (2400, 3000, 3000, 0)
    assert (money.standing, money.outdated) == (invoice, False)
    assert (balance(ticket), open_money().owed, open_money().to_give_back) == (0, 0, 0)
    assert [method.total for method in taken_on(clock.today()).methods][:2] == [-2400, 5400]
    nothing_is_off()


def test_kept_for_later_it_is_to_be_given_back(studio, owner, ticket, credit, pay, owner_client):
    pay(ticket, 5400)
    note = credit(issued(studio, owner, ticket), {1: 2400})
    told = "To give back on that day €24.00"
    assert told in words_of(owner_client.get(note.get_absolute_url()).text)
    paper = owner_client.get(reverse("invoice-paper", args=[note.number])).content.decode()
    assert "To give back €24.00" in words_of(paper)
    assert (balance(ticket), open_money().to_give_back, open_money().back) == (-2400, 2400, 1)
    assert not Payment.objects.filter(kind="refund").exists()
    nothing_is_off()


def test_only_what_was_paid_too_much_goes_back(studio, owner, ticket, credit, pay):
    """40.00 of 54.00 are paid. 20.00 less to pay: 34.00, and so 6.00 go back; then all 24.00."""
    pay(ticket, 4000)
    invoice = issued(studio, owner, ticket)
    credit(invoice, {0: 2000}, give_back="card")
    assert (Payment.objects.get(kind="refund").amount, balance(ticket)) == (-600, 0)
    credit(invoice, {1: 2400}, give_back="card")
    assert sum(p.amount for p in Payment.objects.filter(kind="refund")) == -3000
    nothing_is_off()


def test_where_nothing_was_paid_less_is_to_be_paid(studio, owner, ticket, credit):
    credit(issued(studio, owner, ticket), {0: 1000}, give_back="cash")
    assert balance(ticket) == 4400
    assert not Payment.objects.exists()
    nothing_is_off()


def test_nothing_is_credited_twice(studio, owner, ticket, credit):
    invoice, key = issued(studio, owner, ticket), uuid4()
    note = credit(invoice, {1: 2400}, form_key=key)
    assert credit(invoice, {1: 2400}, form_key=key) == note
    with pytest.raises(BillingError, match="Hem: that is more than is left of it"):
        credit(invoice, {1: 1})
    with pytest.raises(BillingError, match="a credit note itself"):
        credit(note, {0: 1})
    with pytest.raises(BillingError, match="Tick the work"):
        credit(invoice, {})
    with pytest.raises(BillingError, match="Say why"):
        credit(invoice, {0: 1}, why=" ")
    with pytest.raises(BillingError, match="cash, card or transfer"):
        credit(invoice, {0: 1}, give_back="shells")
    assert Invoice.objects.filter(kind="credit").count() == 1


def test_the_rest_can_be_taken_back_and_invoiced_anew(studio, owner, ticket, credit):
    """30.00 x 23 / 123 = 5.61 of tax and 24.00 with 2.85, half of the hem was credited before."""
    invoice, who = issued(studio, owner, ticket), {"by": owner, "studio": studio}
    part = credit(invoice, {1: 1200})
    assert open_invoice(ticket) == invoice
    with pytest.raises(BillingError, match="stands"):
        issue_invoice(ticket=ticket, form_key=uuid4(), **who)
    rest = credit_invoice(invoice=invoice, why="Wrong name", form_key=uuid4(), **who)
    for key in ("net", "tax", "gross"):
        assert getattr(part, key) + getattr(rest, key) == -getattr(invoice, key)
    assert (open_invoice(ticket), balance(ticket)) == (None, 5400)
    with pytest.raises(BillingError, match="credited already"):
        credit(invoice, {0: 1})
    assert issue_invoice(ticket=ticket, form_key=uuid4(), **who).gross == 5400
    nothing_is_off()


def test_what_the_work_brought_in_is_less_from_the_day_of_the_credit_on(
    studio, owner, ticket, credit
):
    """Handed over in June: 24.39 and 21.15. Half of the hem is credited in July: 10.57 of net."""
    june, july = (date(2026, 6, 1), date(2026, 6, 30)), (date(2026, 7, 1), date(2026, 7, 1))
    with time_machine.travel("2026-06-10 11:00Z", tick=False):
        invoice = issued(studio, owner, gone(ticket, clock.now()))
    with time_machine.travel("2026-07-01 11:00Z", tick=False):
        credit(invoice, {1: 1200})
    assert handed_over_between(*june).net == 2439 + 2115
    less = handed_over_between(*july)
    assert (less.count, less.net, less.invoiced) == (0, -1057, -1057)
    year = (date(2026, 1, 1), date(2026, 12, 31))
    assert handed_over_between(*year).net == 2439 + 2115 - 1057
    operations = {row.name: (row.pieces, row.net) for row in income_by_operation(*year)}
    assert operations["Hem"] == (1, 2115 - 1057)
    rows = ledger(*year)
    assert sum(row.handed_over or 0 for row in rows) == 2439 + 2115 - 1057
    assert sum(row.net or 0 for row in rows) == 2439 + 2115 - 1057
    nothing_is_off()


@pytest.mark.parametrize(("currency", "price", "tax"), [("JPY", 2400, 285), ("KWD", 24_005, 2855)])
def test_currencies_without_and_with_three_decimals(studio, owner, credit, currency, price, tax):
    """2,400 x 13.5 / 113.5 = 285.46 yen; 24.005 x 13.5 / 113.5 = 2.85522 dinar."""
    studio.currency = currency
    studio.save()
    ticket = received(studio, owner, trousers(hem(unit_price=price, tax=REPAIRS)))
    invoice = issued(studio, owner, ticket)
    notes = [credit(invoice, {0: part}) for part in (1, price // 3, price - price // 3 - 1)]
    assert [sum(getattr(note, key) for note in notes) for key in ("tax", "gross")] == [-tax, -price]
    assert {note.currency for note in notes} == {currency}
    assert Ticket.objects.get(pk=ticket.pk).gross == price
    assert balance(ticket) == 0
