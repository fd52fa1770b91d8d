"""Break-even to the copy: by hand, step by step, and against counting copies one by one."""

from decimal import ROUND_HALF_UP, Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.makes.break_even import (
    HOURS,
    RATE,
    Facts,
    MissingFactsError,
    break_even,
    copies_for,
    curve,
    net_per_copy,
    worth_of,
)


def facts(**known) -> Facts:
    nothing = {
        "price": 1200, "fee_percent": Decimal(0), "fee_amount": 0, "rate": 4000,
        "minutes_spent": 60, "minutes_to_go": 0, "costs": 0, "earned": 0,
    }  # fmt: skip
    return Facts(**nothing | known)


def test_61_hours_in_and_34_to_go_at_9_net_and_40_an_hour():
    """61 + 34 = 95 hours; 95 x 40.00 = 3800.00; 3800.00 / 9.00 = 422.2, so the 423rd copy does it.

    To check: 422 x 9.00 = 3798.00, which is 2.00 short; 423 x 9.00 = 3807.00.
    """
    sums = break_even(facts(price=900, minutes_spent=61 * 60, minutes_to_go=34 * 60))
    assert (sums.net, sums.worth, sums.outlay) == (900, 380_000, 380_000)
    assert (sums.copies, sums.copies_to_go) == (423, 423)
    assert 422 * 900 < sums.outlay <= 423 * 900


def test_with_fees_costs_and_sales():
    """By hand, in euro.

    A copy: 12.50, of which 6.5 % = 0.8125, rounded 0.81, and 0.30 are kept: 12.50 - 0.81 - 0.30 =
    11.39. Hours: 20 h 25 + 4 h = 24 h 25 = 1465 min; 1465 x 32.00 / 60 = 781.333, rounded 781.33.
    Outlay: 781.33 + 145.60 costs = 926.93. Copies: 926.93 / 11.39 = 81.38, so 82.
    Sold so far for 250.58: 926.93 - 250.58 = 676.35; 676.35 / 11.39 = 59.38, so 60 to go.
    An hour so far: (250.58 - 145.60) / (1225 / 60) = 104.98 x 60 / 1225 = 5.1419, so 5.14.
    """
    sums = break_even(
        facts(
            price=1250, fee_percent=Decimal("6.5"), fee_amount=30, rate=3200,
            minutes_spent=20 * 60 + 25, minutes_to_go=4 * 60, costs=14_560, earned=25_058,
        )
    )  # fmt: skip
    assert (sums.net, sums.worth, sums.outlay) == (1139, 78_133, 92_693)
    assert (sums.copies, sums.copies_to_go) == (82, 60)
    assert (sums.still_to_earn, sums.hour) == (67_635, 514)


def test_to_the_copy_where_it_comes_out_even():
    """1 h x 36.00 = 36.00; at 9.00 net 4 copies are 36.00, and one cent more needs a fifth."""
    assert break_even(facts(price=900, rate=3600)).copies == 4
    assert break_even(facts(price=900, rate=3600, costs=1)).copies == 5


def test_yen_have_no_decimals():
    """1000 yen less 5.6 % = 56 and 40 fixed: 904. 10 h x 3000 = 30000; 30000 / 904 = 33.2: 34."""
    known = {"price": 1000, "fee_percent": Decimal("5.6"), "fee_amount": 40, "rate": 3000}
    sums = break_even(facts(**known, minutes_spent=600))
    assert (sums.net, sums.copies) == (904, 34)


@pytest.mark.parametrize(
    "known",
    [
        {"price": None},
        {"price": 0},
        {"price": 30, "fee_amount": 30},
        {"price": 100, "fee_percent": Decimal(80), "fee_amount": 30},
    ],
    ids=["no price", "given away", "the fee is the price", "the fees are more"],
)
def test_what_brings_nothing_never_breaks_even(known):
    sums = break_even(facts(**known))
    assert sums.net <= 0
    assert (sums.copies, sums.copies_to_go) == (None, None)


def test_once_it_has_earned_enough_nothing_is_to_go():
    """1 h x 40.00 against 41.00 earned; given away from now on, it stays paid for."""
    assert break_even(facts(earned=4100)).copies_to_go == 0
    given_away = break_even(facts(price=0, earned=4000))
    assert (given_away.copies, given_away.copies_to_go, given_away.still_to_earn) == (None, 0, 0)


def test_an_hour_may_have_earned_less_than_nothing_and_none_before_the_first():
    """(5.00 - 20.00) / 2 h = -7.50 an hour."""
    assert break_even(facts(minutes_spent=120, costs=2000, earned=500)).hour == -750
    assert break_even(facts(minutes_spent=0, minutes_to_go=60)).hour is None


@pytest.mark.parametrize(
    ("known", "missing"),
    [
        ({"rate": None}, [RATE]),
        ({"minutes_spent": 0}, [HOURS]),
        ({"rate": None, "minutes_spent": 0}, [RATE, HOURS]),
    ],
)
def test_too_few_facts_are_named(known, missing):
    with pytest.raises(MissingFactsError, match="Still missing: ") as refused:
        break_even(facts(**known))
    assert refused.value.missing == missing


def test_floats_are_refused():
    with pytest.raises(TypeError):
        net_per_copy(1200, 6.5, 30)  # type: ignore[arg-type]
    with pytest.raises(TypeError):
        worth_of(1.5, 4000)  # type: ignore[arg-type]


@given(amount=st.integers(-50, 5000), net=st.integers(1, 400))
def test_the_same_as_selling_copy_by_copy(amount, net):
    sold = 0
    while sold * net < amount:
        sold += 1
    assert copies_for(amount, net) == sold


PERCENT = st.decimals(0, 100, places=2)


@given(price=st.integers(0, 100_000), percent=PERCENT, fee=st.integers(0, 500))
def test_the_net_is_what_decimal_arithmetic_says(price, percent, fee):
    """Python's decimal module, which follows the General Decimal Arithmetic Specification."""
    kept = (price * percent / 100).quantize(Decimal(1), rounding=ROUND_HALF_UP)
    assert net_per_copy(price, percent, fee) == price - kept - fee


@given(minutes=st.integers(0, 60_000), rate=st.integers(0, 20_000))
def test_the_worth_is_what_decimal_arithmetic_says(minutes, rate):
    """60 divides no power of ten, but a half is never hidden: ties come out exact in decimals."""
    exactly = Decimal(minutes) * rate / 60
    assert worth_of(minutes, rate) == exactly.quantize(Decimal(1), rounding=ROUND_HALF_UP)


def test_the_curve_is_break_even_at_each_of_its_prices():
    """12.00 in steps of 1.00 from 6.00 on, and one price more that is tried."""
    known = facts(costs=100_000, fee_percent=Decimal("6.5"))
    prices = curve(known, tried=777)
    assert [price for price, _ in prices][:4] == [600, 700, 777, 800]
    assert [price for price, _ in prices][-1] == 2100
    for price, copies in prices:
        at = facts(costs=100_000, fee_percent=Decimal("6.5"), price=price)
        assert copies == break_even(at).copies
    assert curve(facts(price=None)) == []
    # A fixed fee of 8.00 leaves nothing of 8.00 and less.
    assert curve(facts(fee_amount=800))[0][0] == 900
