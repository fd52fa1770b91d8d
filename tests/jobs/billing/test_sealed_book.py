"""The sealed book, made anew by a few lines of its own; and what somebody changes behind it.

The lines here follow docs/sealed_book.md and use hashlib alone, nothing of the program.
"""

import hashlib
import importlib
import json
from datetime import UTC, date, datetime, timedelta
from io import StringIO
from uuid import uuid4

import pytest
from django.apps import apps
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import connection
from django.urls import reverse

from jobs.billing.actions import credit_invoice
from jobs.billing.checks import the_sealed_book
from jobs.billing.models import Invoice, Payment, Seal
from jobs.billing.sealed_book import prove
from jobs.counter.notices import day_facts
from jobs.tickets.actions import pads
from studio.shop import clock
from studio.shop.models import NumberSeries
from tests.drafts import issued, paid, received
from tests.factories import InvoiceFactory

pytestmark = [pytest.mark.django_db, pytest.mark.any_day]


@pytest.fixture
def book(studio, owner):
    """A deposit, the invoice, its credit note, and a payment on another ticket."""
    ticket = received(studio, owner)
    paid(studio, owner, ticket)
    invoice = issued(studio, owner, ticket)
    credit_invoice(invoice=invoice, why="Torn", by=owner, studio=studio, form_key=uuid4())
    paid(studio, owner, received(studio, owner, client=ticket.client))
    return ["R26-0001", "I26-0001", "I26-0002", "R26-0002"]


def behind(statement: str, *values) -> None:
    with connection.cursor() as cursor:
        cursor.execute(statement, values)


def sha(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


def plain(value):
    if isinstance(value, datetime):
        return value.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%S.%f+00:00")
    return value.isoformat() if isinstance(value, date) else value


@pytest.mark.postgres
def test_a_few_lines_of_anybody_make_the_same_chain(book):
    """The document's recipe, on rows as the database gives them."""
    before = "0" * 64
    seals = list(Seal.objects.values())
    assert [each["number"] for each in seals] == book
    for place, each in enumerate(seals, 1):
        model = {"invoice": Invoice, "payment": Payment}[each["kind"]]
        row = model.objects.values().get(number=each["number"])
        facts = {k: v for k, v in row.items() if k not in ("id", "paper_id", "form_key", "data")}
        facts.update({"data." + key: value for key, value in row["data"].items()})
        lines = [str(place), before, each["kind"], each["number"]]
        for name in sorted(facts):
            text = json.dumps(
                plain(facts[name]), sort_keys=True, separators=(",", ":"), ensure_ascii=False
            )
            lines.append(name + " " + sha(name + "=" + text))
        assert each["before"] == before
        before = sha("\n".join(lines))
        assert each["seal"] == before
    assert (prove().last, prove().flaws) == (before, [])
    out = StringIO()
    call_command("prove", before[:16], stdout=out)
    assert out.getvalue() == f"4 sealed; nothing was changed.\nThe last seal: {before}\n"


@pytest.mark.postgres
@pytest.mark.parametrize(
    ("statement", "values", "flaw"),
    [
        (
            "UPDATE billing_invoice SET gross = gross - 100 WHERE number = %s", ["I26-0001"],
            "I26-0001 was changed behind the program: gross.",
        ),
        (
            "UPDATE billing_payment SET amount = 900, note = 'x' WHERE number = %s", ["R26-0002"],
            "R26-0002 was changed behind the program: amount, note.",
        ),
        (
            "UPDATE billing_invoice SET number = 'I26-0009' WHERE number = %s", ["I26-0002"],
            "I26-0002 was changed behind the program: number.",
        ),
        ("DELETE FROM billing_payment WHERE number = %s", ["R26-0002"], "R26-0002 is missing."),
        (
            "UPDATE billing_seal SET seal = %s WHERE number = 'I26-0001'", ["f" * 64],
            "I26-0001: its seal itself was changed.",
        ),
        (
            "DELETE FROM billing_seal WHERE number = %s", ["I26-0001"],
            "I26-0002: its seal does not follow on the one before.",
        ),
        (
            "DELETE FROM billing_seal WHERE number = %s", ["R26-0002"],
            "R26-0002 has no seal: it was not written by the program.",
        ),
        (
            "UPDATE shop_numberseries SET last = last + 1 WHERE key = %s", ["I2026"],
            "Numbers without their row: I26-0003.",
        ),
        (
            "UPDATE shop_numberseries SET last = last + 5 WHERE key = %s", ["2026"],
            "Numbers without their row: 26-0003, 26-0004, 26-0005 and 2 more.",
        ),
    ],
)  # fmt: skip
def test_what_is_changed_behind_the_program_is_named(book, studio, statement, values, flaw):
    behind(statement, *values)
    assert flaw in prove().flaws
    assert not the_sealed_book(studio).good
    with pytest.raises(CommandError, match="The book does not hold"):
        call_command("prove", stderr=StringIO())


def test_one_word_of_what_was_printed_is_named(book):
    row = Invoice.objects.get(number="I26-0001")
    data = json.dumps(row.data | {"reason": "another"})
    behind("UPDATE billing_invoice SET data = %s WHERE id = %s", data, row.pk)
    assert prove().flaws == ["I26-0001 was changed behind the program: data.reason."]


def test_an_invoice_written_in_from_outside_has_no_seal(book, owner):
    InvoiceFactory(number="I26-0003", ticket=Invoice.objects.first().ticket, issued_by=owner)
    assert prove().flaws == ["I26-0003 has no seal: it was not written by the program."]


def test_an_end_cut_off_with_its_seals_and_numbers_is_found_by_what_was_printed(book, studio):
    printed = day_facts(clock.today())["seal"]
    assert printed.number == "R26-0002"
    behind("DELETE FROM billing_payment WHERE number = 'R26-0002'")
    behind("DELETE FROM billing_seal WHERE number = 'R26-0002'")
    behind("UPDATE shop_numberseries SET last = last - 1 WHERE key IN ('R2026', 'seal')")
    assert prove().flaws == []
    assert prove(printed.shown[:26]).flaws == [
        f"The seal {printed.seal[:16]} is not in the book: it was rewritten or cut off."
    ]


def test_the_day_end_sheet_and_the_year_say_their_last_seal(
    book, owner_client, helper_client, watch
):
    last = Seal.objects.last()
    assert day_facts(clock.today() - timedelta(days=1))["seal"] is None
    watch.shift(timedelta(days=3))
    assert day_facts(clock.today())["seal"] == last
    page = owner_client.get(reverse("paper-day-end")).content.decode()
    assert last.shown in page
    for address in (reverse("year"), reverse("paper-year", args=[last.sealed_at.year])):
        assert last.shown in owner_client.get(address).content.decode()
        assert last.shown not in helper_client.get(address).content.decode()


def test_a_studio_of_before_begins_its_book_with_all_it_has(book):
    """As if the program had known no seals."""
    sealed = list(Seal.objects.values_list("number", "seal"))
    behind("DELETE FROM billing_seal")
    NumberSeries.objects.filter(key="seal").delete()
    migration = importlib.import_module("jobs.billing.migrations.0007_sealed_book")
    migration.begin_the_book(apps, None)
    proof = prove()
    assert (proof.sealed, proof.late, proof.flaws) == (4, 4, [])
    # All was written in one moment here, so invoices come before payments; each seal is another.
    assert {number for number, _ in sealed} == {each.number for each in Seal.objects.all()}
    assert not {seal for _, seal in sealed} & set(Seal.objects.values_list("seal", flat=True))


def test_the_book_goes_on_after_it_was_begun_late(book, studio, owner):
    test_a_studio_of_before_begins_its_book_with_all_it_has(book)
    issued(studio, owner, Payment.objects.get(number="R26-0002").ticket)
    assert (prove().sealed, prove().late, prove().flaws) == (5, 4, [])


def test_numbers_that_lie_on_a_pad_are_no_gap(book, owner):
    pad = pads.reserve(count=3, form_key=uuid4(), by=owner)
    pads.void(pad=pad, numbers=["26-0004"], why="spoilt", by=owner)
    assert prove().flaws == []
    behind("DELETE FROM tickets_padnumber WHERE number = '26-0004'")
    assert prove().flaws == ["Numbers without their row: 26-0004."]
