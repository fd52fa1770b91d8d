"""What each operation brought in, without tax."""

from datetime import date

import pytest

from jobs.billing.queries import income_by_operation, income_rows, invoiced_between
from tests import factories as f

YEAR = (date(2026, 1, 1), date(2026, 12, 31))


def line(name: str, net: int, quantity: int = 1) -> dict:
    return {"name": name, "garment": "A Coat", "quantity": quantity, "net": net}


@pytest.fixture
def invoices(studio):
    """Net sums worked out by hand: hems 2115 + 4230 - 2115, a discount of 500."""
    for day, kind, lines, adjustments in [
        (date(2026, 1, 1), "invoice", [line("Hem", 2115), line("Zip", 3000)], []),
        (date(2026, 12, 31), "invoice", [line("Hem", 4230, 2)], [line("Discount", -500)]),
        (date(2026, 6, 1), "credit", [line("Hem", -2115), line("Zip", -3000)], []),
        (date(2025, 12, 31), "invoice", [line("Hem", 9999)], []),
        (date(2027, 1, 1), "invoice", [line("Hem", 8888)], []),
    ]:
        net = sum(row["net"] for row in [*lines, *adjustments])
        f.InvoiceFactory(
            issued_on=day, kind=kind, net=net, data={"lines": lines, "adjustments": adjustments}
        )


def test_invoiced_less_credited_the_largest_first(invoices):
    operations = [(row.name, row.pieces, row.net) for row in income_by_operation(*YEAR)]
    assert operations == [("Hem", 2, 4230), ("Zip", 0, 0), ("Discount", 1, -500)]


def test_all_operations_are_all_that_was_invoiced(invoices):
    assert sum(row.net for row in income_by_operation(*YEAR)) == invoiced_between(*YEAR).net == 3730


def test_the_rows_of_one_operation_the_latest_first(invoices):
    assert [(row.day.month, row.quantity, row.net) for row in income_rows(*YEAR, "Hem")] == [
        (12, 2, 4230), (6, -1, -2115), (1, 1, 2115),
    ]  # fmt: skip


@pytest.mark.parametrize("rows", [1, 3])
def test_one_query_reads_a_year(studio, rows, django_assert_num_queries):
    for _ in range(rows):
        f.InvoiceFactory(issued_on=YEAR[0], data={"lines": [line("Hem", 1)], "adjustments": []})
    with django_assert_num_queries(1):
        assert income_by_operation(*YEAR)[0].pieces == rows
