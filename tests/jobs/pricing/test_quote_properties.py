"""What holds for any quote at all: searched by hypothesis, not by example."""

from dataclasses import replace
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from jobs.pricing.quote import Item, ItemSurcharge, Tax, TaxMode, Terms, quote, share_out
from studio.shop.money import round_half_up
from tests.jobs.pricing.reckoning import reckon
from tests.jobs.pricing.test_quote_cases import add_up, figures

TAXES = [
    Tax("reduced", Decimal("13.5")),
    Tax("standard", Decimal(23)),
    Tax("local", Decimal("8.875")),
    Tax("zero", Decimal(0)),
    Tax("exempt", Decimal(0), exempt=True, sentence="Exempt: worn clothing."),
]


def percents(most: int) -> st.SearchStrategy[Decimal]:
    return st.decimals(0, most, places=3)


surcharges = st.builds(
    ItemSurcharge,
    name=st.sampled_from(["lined", "beaded", "silk"]),
    percent=percents(200),
    amount=st.integers(0, 5000),
    minutes_percent=percents(200),
    minutes=st.integers(0, 60),
)
an_item = st.builds(
    Item,
    key=st.uuids().map(str),
    name=st.sampled_from(["hem", "taper", "zip"]),
    unit_price=st.integers(0, 50_000),
    quantity=st.integers(1, 12),
    minutes=st.integers(0, 600),
    surcharges=st.lists(surcharges, max_size=3).map(tuple),
    tax=st.sampled_from(TAXES),
)
items = st.lists(an_item, max_size=6, unique_by=lambda item: item.key)
terms = st.builds(
    Terms,
    currency=st.sampled_from(["EUR", "JPY", "KWD"]),
    tax_mode=st.sampled_from(TaxMode),
    rounding_step=st.sampled_from([1, 5, 10, 50, 100]),
    minimum_charge=st.integers(0, 5000),
    rush_percent=percents(100),
    discount_percent=percents(100),
    deposit_percent=percents(150),
    deposit_amount=st.none() | st.integers(0, 20_000),
)


def with_money_off(lines: list[Item], rules: Terms, part: int) -> Terms:
    """The same terms with ``part`` hundredths of the price taken off as an amount."""
    priced = quote(lines, rules)
    total = sum(line.price for line in (*priced.lines, *priced.adjustments))
    return replace(rules, discount_amount=total * part // 100)


@given(items, terms, st.integers(0, 100))
def test_any_quote_adds_up_and_agrees_with_the_second_reckoning(lines, rules, part):
    rules = with_money_off(lines, rules, part)
    result = quote(lines, rules)
    add_up(result)
    assert figures(result) == reckon(lines, rules)


@given(items, terms, st.integers(0, 100), st.randoms(use_true_random=False))
def test_the_order_of_the_lines_does_not_matter(lines, rules, part, random):
    rules = with_money_off(lines, rules, part)
    shuffled = random.sample(lines, len(lines))
    straight, other = quote(lines, rules), quote(shuffled, rules)
    assert set(straight.lines) == set(other.lines)
    assert replace(straight, lines=()) == replace(other, lines=())


@given(an_item, terms, st.integers(1, 8))
def test_copies_of_one_line_cost_the_same_and_share_the_tax_to_a_cent(item, rules, copies):
    rules = replace(rules, minimum_charge=0)
    single = quote([item], rules).lines[0]
    many = quote([replace(item, key=str(number)) for number in range(copies)], rules)
    assert {line.price for line in many.lines} == {single.price}
    assert {line.minutes for line in many.lines} == {single.minutes}
    taxes = [line.tax for line in many.lines]
    assert max(taxes) - min(taxes) <= 1
    # One document rounds its tax once: at most half a minor unit for each copy lies between.
    assert abs(sum(taxes) - copies * single.tax) * 2 <= copies + 1


@given(an_item, terms, st.integers(1, 8))
def test_pieces_on_one_line_cost_what_lines_of_one_piece_cost_before_rounding(item, rules, pieces):
    rules = replace(rules, minimum_charge=0)
    straight = quote([replace(item, quantity=1)], rules).lines[0].price
    many = quote([replace(item, quantity=pieces)], rules).lines[0].price
    assert abs(many - pieces * straight) * 2 <= rules.rounding_step * (pieces + 1)


@given(items, terms)
def test_a_credit_mirrors_its_invoice(lines, rules):
    """Every rate's tax, taken again from the negative sum, is the negative tax."""
    for rate in quote(lines, rules).rates:
        percent = rate.tax.percent if not rate.tax.exempt else Decimal(0)
        if rules.tax_mode == TaxMode.ADDED:
            assert round_half_up(-rate.net * percent / 100) == -rate.tax_amount
        assert -rate.net - rate.tax_amount == -rate.gross


@given(items, terms, st.integers(0, 5000))
def test_a_rush_never_makes_it_cheaper_nor_a_discount_dearer(lines, rules, thousandths):
    def gross(**changes) -> int:
        result = quote(lines, replace(rules, minimum_charge=0, **changes))
        return sum(line.price for line in result.lines)

    more = Decimal(thousandths) / 1000
    assert gross(rush_percent=rules.rush_percent + more) >= gross()
    assert gross(discount_percent=min(rules.discount_percent + more, Decimal(100))) <= gross()


@given(st.lists(st.integers(0, 10_000), min_size=1, max_size=12), st.data())
def test_shares_add_up_and_stay_within_a_unit_of_exact(weights, data):
    total = data.draw(st.integers(0, sum(weights)))
    parts = share_out(total, weights, list(range(len(weights))))
    if sum(weights):
        assert sum(parts) == total
        for part, weight in zip(parts, weights, strict=True):
            assert abs(part * sum(weights) - total * weight) < sum(weights)
            assert part <= weight
    else:
        assert parts == [0] * len(weights)
