"""The rows of an invoice against the VAT fraction and sums made here, with exact fractions.

The VAT fraction takes the tax out of a price that has it inside: rate / (100 + rate) of it, as HMRC
writes it in VAT guide (Notice 700), 7.3 (from memory); the rest is Article 226, point 8.
"""

from datetime import date
from decimal import Decimal
from fractions import Fraction
from math import floor
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from jobs.billing.documents import charge_rows, charges, credit_data
from jobs.billing.models import Invoice
from tests.papers_data import LINED, REPAIRS, STANDARD, a_client, a_line, a_piece, a_studio, agreed

EXEMPT = {"name": "Training", "percent": "0", "exempt": True, "sentence": "Exempt."}
BUSINESS = "IE1111111X"
TODAY = date(2026, 11, 28)


def billed(
    *lines: Any, tax_number: str = "", tax_mode: str = "included", **facts: Any
) -> dict[str, Any]:
    studio, client = a_studio(tax_mode=tax_mode), a_client(tax_number=tax_number)
    data = agreed(a_piece(*lines), studio=studio, client=client, **facts)
    return {
        **{key: data[key] for key in ("studio", "client")},
        **charges(data),
        "kind": "invoice",
        "issued_on": "2026-11-27",
    }


def plain(price: int, quantity: int = 1, **facts: Any) -> Any:
    return a_line(
        name="Button", unit_price=price, quantity=quantity, amount_typed="", basis="", measure="",
        **facts,
    )  # fmt: skip


def figures(data: dict[str, Any]) -> list[tuple[int | None, int | None, int]]:
    return [(row.pieces, row.unit, row.amount) for row in charge_rows(data)]


def test_four_pieces_at_2_50_are_10_00_as_on_the_claim():
    assert figures(billed(plain(250, 4))) == [(4, 250, 1000)]


def test_a_business_reads_four_pieces_at_2_20_and_the_odd_cent_apart():
    """2.50 / 1.135 = 2.2026; four of 2.20 are 8.80, the rate comes to 10.00 / 1.135 = 8.81."""
    data = billed(plain(250, 4), tax_number=BUSINESS)
    assert figures(data) == [(4, 220, 880), (None, None, 1)]


def test_like_lines_show_like_amounts():
    """Three hems at 24.00: 24 / 1.135 = 21.15 each, 63.45; 72 / 1.135 = 63.44."""
    hems = [plain(2400) for _ in range(3)]
    assert figures(billed(*hems)) == [(1, 2400, 2400)] * 3
    business = figures(billed(*hems, tax_number=BUSINESS))
    assert business == [(1, 2115, 2115)] * 3 + [(None, None, -1)]


def test_what_a_surcharge_and_the_rush_add_are_rows_of_their_own():
    """Three at 2.51 are 7.53, a quarter of it 1.8825, a fifth of 9.4125 again 1.8825; 11.295."""
    data = billed(plain(251, 3, surcharges=[LINED]), rush_percent=Decimal(20))
    named = [(row.name, row.amount) for row in charge_rows(data)]
    assert named == [
        ("A \N{MIDDLE DOT} trousers, navy: Button", 753), ("Lined +25 %", 188), ("Rush +20 %", 188),
        ("Rounding", 1),
    ]  # fmt: skip
    assert data["gross"] == 1130


def test_a_discount_in_money_is_one_row_and_not_unlike_parts():
    """10.00 off three like lines is not 3.34, 3.33 and 3.33."""
    data = billed(*(plain(1000) for _ in range(3)), discount_amount=1000)
    assert figures(data) == [(1, 1000, 1000)] * 3 + [(None, None, -1000)]


def test_a_minimum_charge_is_one_piece_of_itself():
    terms = {
        "currency": "EUR", "tax_mode": "included", "rounding_step": 1, "minimum_charge": 1200,
        "deposit_percent": "0",
    }  # fmt: skip
    data = billed(plain(500), terms=terms, deposit=0)
    assert figures(data) == [(1, 500, 500), (1, 700, 700)]


def half_up(value: Fraction) -> int:
    return floor(abs(value) + Fraction(1, 2)) * (1 if value >= 0 else -1)


LINES = st.builds(
    plain,
    st.integers(0, 20_000),
    st.integers(1, 40),
    tax=st.sampled_from([REPAIRS, STANDARD, EXEMPT]),
    surcharges=st.sampled_from([[], [LINED]]),
)


@given(
    st.lists(LINES, min_size=1, max_size=6),
    st.sampled_from(["included", "added", "none"]),
    st.sampled_from(["", BUSINESS]),
    st.sampled_from([0, 20]),
    st.integers(0, 100),
)
def test_rows_add_up_and_pieces_times_unit_are_the_amount(lines, mode, tax_number, rush, off):
    off = min(off, sum(line.unit_price for line in lines))
    facts = {"rush_percent": Decimal(rush), "discount_amount": off}
    data = billed(*lines, tax_mode=mode, tax_number=tax_number, **facts)
    net = mode == "added" or (mode == "included" and bool(tax_number))
    for of, sign in ((data, 1), (credited(data), -1)):
        made = charge_rows(of)
        assert sum(row.amount for row in made) == of["net" if net else "gross"]
        for row in made:
            assert row.pieces is None or row.pieces * row.unit == row.amount
            assert row.unit is None or (row.unit >= 0 and row.pieces * sign > 0)
        for rate in of["rates"]:
            of_rate = [row for row in made if row.tax and row.tax["name"] == rate["name"]]
            assert sum(row.amount for row in of_rate) == rate["net" if net else "gross"]
            assert sum(row.name == "Rounding" for row in of_rate) <= 1
        if mode == "included" and net:
            for line, row in zip(lines, (row for row in made if row.pieces), strict=False):
                fraction = Fraction(100) / (100 + Fraction(line.tax["percent"]))
                assert row.unit == half_up(line.unit_price * fraction)


def credited(data: dict[str, Any]) -> dict[str, Any]:
    invoice = Invoice(number="I26-0001", data=data)
    return credit_data(invoice, a_studio(), number="I26-0002", issued_on=TODAY, reason="wrong")
