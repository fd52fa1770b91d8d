"""What the work brought in, without tax: what was handed over, invoiced or not."""

from datetime import UTC, date, datetime
from uuid import uuid4

import pytest

from jobs.billing.actions import credit_invoice
from jobs.billing.books import handed_over_between, income_by_operation, income_rows, ledger
from jobs.pricing.models import PriceRules
from jobs.tickets import actions
from jobs.tickets.actions.agree import draft_of
from tests.drafts import gone, hem, issued, received, take_in, trousers

YEAR = (date(2026, 1, 1), date(2026, 12, 31))
ZIP = {"name": "Zip", "unit_price": 3405}


def at(day: str) -> datetime:
    """In the studio's zone, Dublin, the year 2027 begins at this moment in UTC too."""
    return datetime.fromisoformat(day).replace(tzinfo=UTC)


@pytest.fixture
def work(studio, owner):
    """Handed over in 2026, of 13.5 % tax inside: 24.00 is 21.15, 34.05 is 30.00 and 48.00 42.29.

    One of them is invoiced, one was and is credited, one never was; and what was handed over
    outside of the year or is still here does not count, though it is invoiced.
    """
    first = received(studio, owner, trousers(hem()), trousers(hem(**ZIP), kind_name="Skirt"))
    issued(studio, owner, gone(first, at("2026-01-01 00:00")))
    second = gone(received(studio, owner, trousers(hem(quantity=2))), at("2026-12-31 23:59"))
    wrong = issued(studio, owner, received(studio, owner, trousers(hem(**ZIP))))
    credit_invoice(invoice=wrong, why="Twice", by=owner, studio=studio, form_key=uuid4())
    gone(wrong.ticket, at("2026-06-01 12:00"))
    for outside in ("2025-12-31 23:59", "2027-01-01 00:00"):
        issued(studio, owner, gone(received(studio, owner), at(outside)))
    issued(studio, owner, received(studio, owner))
    return first, second, wrong.ticket


def test_it_counts_work_handed_over_with_what_of_it_is_invoiced(work):
    """21.15 + 30.00 (58.05 / 1.135 = 51.145, so 51.15), 42.29 and 30.00; only the first stands."""
    year = handed_over_between(*YEAR)
    assert (year.count, year.net) == (3, 5115 + 4229 + 3000)
    assert (year.invoiced, year.not_invoiced) == (5115, 4229 + 3000)


def test_the_operations_come_to_it_the_largest_first(work):
    operations = [(row.name, row.pieces, row.net) for row in income_by_operation(*YEAR)]
    assert operations == [("Hem", 3, 2115 + 4229), ("Zip", 2, 6000)]
    assert sum(net for _, _, net in operations) == handed_over_between(*YEAR).net


def test_the_rows_of_one_operation_the_latest_first(work):
    rows = income_rows(*YEAR, "Hem")
    assert [(row.day, row.quantity, row.net) for row in rows] == [
        (date(2026, 12, 31), 2, 4229), (date(2026, 1, 1), 1, 2115),
    ]  # fmt: skip
    assert rows[0].garment == "A \N{MIDDLE DOT} trousers, navy"
    assert rows[0].number == work[1].number


def test_the_ledger_tells_the_same(work):
    rows = [row for row in ledger(*YEAR) if row.kind == "Handed over"]
    assert [row.ticket for row in rows] == [ticket.number for ticket in (work[0], work[2], work[1])]
    assert sum(row.handed_over or 0 for row in rows) == handed_over_between(*YEAR).net
    assert not any(row.net or row.gross or row.paid for row in rows)


def test_what_was_agreed_last_counts_with_what_the_rules_add(studio, owner):
    """A hem of 5.00 is agreed anew at 6.00 and lifted to 12.00: 12 / 1.135 = 10.57 without tax."""
    PriceRules.objects.update_or_create(pk=1, defaults={"minimum_charge": 1200})
    ticket = received(studio, owner, trousers(hem(unit_price=500)))
    draft = draft_of(ticket)
    draft.garments[0].lines[0].unit_price = 600
    actions.change(ticket=ticket, draft=draft, studio=studio, by=owner, reason="")
    ticket.refresh_from_db()
    gone(ticket, at("2026-03-01 12:00"))
    assert handed_over_between(*YEAR).net == 1057
    named = {row.name: row.net for row in income_by_operation(*YEAR)}
    assert named.keys() == {"Hem", "minimum charge"}
    assert sum(named.values()) == 1057


@pytest.mark.parametrize("rows", [1, 3])
def test_two_queries_read_a_year(studio, owner, rows, django_assert_num_queries):
    for _ in range(rows):
        gone(received(studio, owner, trousers(take_in(quantity=2))), at("2026-03-01 12:00"))
    with django_assert_num_queries(2):
        assert income_by_operation(*YEAR)[0].pieces == 2 * rows
    with django_assert_num_queries(1):
        assert handed_over_between(*YEAR).count == rows
