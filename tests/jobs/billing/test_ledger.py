"""The ledger tells the same sums as the invoices and the drawer, and no spreadsheet obeys it."""

import csv
from datetime import date
from uuid import uuid4

import pytest
import time_machine
from django.conf import settings

from jobs.billing.actions import (
    credit_invoice,
    issue_invoice,
    record_payment,
    reverse_payment,
)
from jobs.billing.books import ledger
from jobs.billing.queries import invoiced_between, taken_between
from jobs.billing.tables import LEDGER_HEADINGS
from tests.drafts import hem, received, take_in, trousers
from tests.factories import ClientFactory

STANDARD = {"name": "Standard", "percent": "23", "exempt": False, "sentence": ""}
DAY = date(2026, 7, 1)
ADDRESS = "/money/ledger.csv?from=2026-07-01&to=2026-07-01"


@pytest.fixture
def booked(studio, owner):
    """On 1 July: two lines at two rates invoiced, credited and issued anew; 5.00 paid, reversed."""
    client = ClientFactory(name='=HYPERLINK("x")')
    ticket = received(studio, owner, trousers(take_in(tax=STANDARD), hem()), client=client)
    who = {"by": owner, "studio": studio}
    with time_machine.travel("2026-07-01 12:00Z", tick=False):
        first = issue_invoice(ticket=ticket, form_key=uuid4(), **who)
        credit_invoice(invoice=first, why="Wrong", form_key=uuid4(), **who)
        issue_invoice(ticket=ticket, form_key=uuid4(), **who)
        paid = record_payment(
            ticket=ticket, amount=500, method="card", kind="part", form_key=uuid4(),
            note="-1+1", **who,
        )  # fmt: skip
        reverse_payment(payment=paid, why="@home", form_key=uuid4(), **who)
    return ticket


@pytest.fixture
def rows(booked, owner_client):
    response = owner_client.get(ADDRESS)
    assert response["Content-Type"].startswith("text/csv")
    assert 'filename="ledger-2026-07-01-2026-07-01.csv"' in response["Content-Disposition"]
    return list(csv.DictReader(response.content.decode("utf-8-sig").splitlines()))


def test_every_line_credit_and_payment_is_there(rows, booked):
    assert list(rows[0]) == LEDGER_HEADINGS
    sides = ["A \N{MIDDLE DOT} trousers, navy: Take in sides", "23", "24.39", "5.61", "30.00", ""]
    the_hem = ["A \N{MIDDLE DOT} trousers, navy: Hem", "13.5", "21.15", "2.85", "24.00", ""]
    back = [[line[0], line[1], *(f"-{net}" for net in line[2:5]), ""] for line in (sides, the_hem)]
    shown = ["kind", "number", "belongs to", "what", "rate %"]
    shown += ["without tax", "tax amount", "total", "paid"]
    assert [[row[heading] for heading in shown] for row in rows] == [
        ["Invoice", "I26-0001", "", *sides],
        ["Invoice", "I26-0001", "", *the_hem],
        ["Credit note", "I26-0002", "I26-0001", *back[0]],
        ["Credit note", "I26-0002", "I26-0001", *back[1]],
        ["Invoice", "I26-0003", "", *sides],
        ["Invoice", "I26-0003", "", *the_hem],
        ["Part payment", "R26-0001", "I26-0003", "'-1+1", "", "", "", "", "5.00"],
        ["Reversal", "R26-0002", "R26-0001", "'@home", "", "", "", "", "-5.00"],
    ]
    assert {row["ticket"] for row in rows} == {booked.number}
    assert {row["day"] for row in rows} == {"2026-07-01"}
    assert {row["currency"] for row in rows} == {"EUR"}


def test_a_cell_never_starts_a_formula(rows):
    """OWASP, "CSV Injection": cells that begin with = + - @ or a tab are run by spreadsheets."""
    assert {row["client"] for row in rows} == {'\'=HYPERLINK("x")'}
    numbers = {"without tax", "tax amount", "total", "paid"}
    for row in rows:
        for heading, cell in row.items():
            assert cell[:1] not in {"=", "+", "@", "\t"}
            assert heading in numbers or cell[:1] != "-"


def test_its_sums_are_those_of_the_invoices_and_of_the_drawer(booked):
    listed = ledger(DAY, DAY)
    invoiced = invoiced_between(DAY, DAY)
    for key in ("net", "tax", "gross"):
        assert sum(getattr(row, key) or 0 for row in listed) == getattr(invoiced, key)
    assert invoiced.gross == 5400
    assert sum(row.paid or 0 for row in listed) == taken_between(DAY, DAY).all.total == 0


def test_days_outside_are_left_out(booked):
    assert ledger(date(2026, 6, 1), date(2026, 6, 30)) == []
    assert ledger(date(2026, 7, 2), date(2026, 7, 31)) == []


@pytest.mark.parametrize(
    ("asked", "wrong"),
    [
        ("", "This field is required."),
        ("?from=2026-07-01", "This field is required."),
        ("?from=soon&to=2026-07-01", "Enter a valid date."),
        ("?from=2026-07-02&to=2026-07-01", "The last day is before the first."),
    ],
)
def test_an_unclear_span_is_asked_again(owner_client, asked, wrong):
    response = owner_client.get(f"/money/ledger.csv{asked}")
    assert response.status_code == 400
    assert wrong in response.content.decode()


def test_the_page_for_developers_names_every_column():
    page = (settings.BASE_DIR / "docs" / "books.md").read_text()
    assert ", ".join(LEDGER_HEADINGS) in " ".join(page.split())
