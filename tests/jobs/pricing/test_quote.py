"""The quote against published figures, its words, and what it refuses."""

from dataclasses import fields, is_dataclass
from decimal import Decimal
from fractions import Fraction

import pytest

from jobs.pricing.quote import (
    Item,
    ItemSurcharge,
    PriceStep,
    QuoteError,
    Tax,
    TaxMode,
    TaxSum,
    Terms,
    explain,
    quote,
)
from tests.rows import each_row

STANDARD = Tax("standard", Decimal(20))
REDUCED = Tax("reduced", Decimal(5))
EXEMPT = Tax("exempt", Decimal(0), exempt=True, sentence="No tax on worn clothing.")
PLAIN = Terms("EUR", TaxMode.NONE)


def show(minor: int) -> str:
    return f"{Decimal(minor) / 100:.2f}"


def hem(**facts) -> Item:
    return Item(**{"key": "1", "name": "hem", "unit_price": 2400, **facts})


@pytest.mark.parametrize(
    ("net", "percent", "tax"),
    [
        # HMRC manual VATREC12030: less than 0.5 of a penny down, 0.5 or more up.
        (4690, 5, 235),  # 2.345
        (1172, 20, 234),  # 2.344
        (1999, 20, 400),  # 3.998
    ],
)
def test_tax_is_rounded_as_the_british_manual_says(net: int, percent: int, tax: int):
    item = hem(unit_price=net, tax=Tax("rate", Decimal(percent)))
    assert quote([item], Terms("GBP", TaxMode.ADDED)).tax == tax


@each_row("gross", range(1, 400, 7))
@each_row(
    ("percent", "fraction"),
    [
        # VAT fractions of the British VAT guide (Notice 700); from memory.
        ("20", Fraction(1, 6)),
        ("5", Fraction(1, 21)),
        ("17.5", Fraction(7, 47)),
    ],
)
def test_tax_inside_a_price_is_the_vat_fraction_of_it(gross: int, percent: str, fraction: Fraction):
    item = hem(unit_price=gross, tax=Tax("rate", Decimal(percent)))
    tax = quote([item], Terms("GBP", TaxMode.INCLUDED)).tax
    assert abs(tax - gross * fraction) <= Fraction(1, 2)


@pytest.mark.parametrize(
    ("currency", "limit"),
    [
        ("GBP", 25000),  # SI 1995/2518 reg. 16A: consideration not exceeding GBP 250
        ("EUR", 25000),  # section 33 UStDV: total not above EUR 250
        ("EUR", 10000),  # Directive 2006/112/EC art. 220a: not higher than EUR 100
    ],
)
@pytest.mark.parametrize("mode", [TaxMode.ADDED, TaxMode.INCLUDED])
@pytest.mark.parametrize("over", [0, 1])
def test_the_gross_meets_the_limits_of_a_simplified_invoice_to_the_cent(
    currency: str, limit: int, mode: TaxMode, over: int
):
    """The same work priced with tax inside or on top comes to one gross, on the limit or over."""
    gross = limit + over
    price = gross if mode == TaxMode.INCLUDED else int(Fraction(gross * 5, 6) + Fraction(1, 2))
    items = [
        hem(key="1", unit_price=price // 3, tax=STANDARD),
        hem(key="2", unit_price=price - price // 3, tax=STANDARD),
    ]
    result = quote(items, Terms(currency, mode))
    assert result.gross == gross
    assert (result.gross > limit) is bool(over)


def test_new_clothing_is_taxed_and_used_is_not():
    """California Code of Regulations title 18, section 1524; the rate is an example."""
    new = Tax("new clothing", Decimal("7.25"))
    items = [
        hem(key="A", name="hem new dress", unit_price=8500, tax=new),
        hem(key="B", name="hem worn skirt", tax=EXEMPT),
    ]
    result = quote(items, Terms("USD", TaxMode.ADDED))
    assert [line.tax for line in result.lines] == [616, 0]
    assert result.rates == (TaxSum(new, 8500, 616, 9116), TaxSum(EXEMPT, 2400, 0, 2400))


def test_the_steps_are_told_in_words():
    lined = ItemSurcharge("lined", percent=Decimal("25.000"))
    terms = Terms("EUR", TaxMode.NONE, rush_percent=Decimal(20))
    result = quote([hem(surcharges=(lined,))], terms)
    assert explain(result.lines[0], show) == "hem 24.00, lined +25 % 6.00, rush +20 % 6.00"


def test_every_kind_of_step_has_its_place():
    item = Item(
        "1", "button", 255, quantity=3,
        surcharges=(ItemSurcharge("leather", Decimal("12.5"), amount=40), ItemSurcharge("tiny")),
    )  # fmt: skip
    terms = Terms(
        "EUR", TaxMode.NONE, rounding_step=50, minimum_charge=1500,
        rush_percent=Decimal(20), discount_percent=Decimal("7.5"), discount_amount=300,
    )  # fmt: skip
    result = quote([item], terms)
    # By hand: 7.65 + 0.95625 + 1.20 = 9.80625; + 20 % = 11.7675; - 7.5 % = 10.8849; to 11.00.
    # The minimum adds 4.00; 3.00 off is 2.20 of the 11.00 and 0.80 of the 4.00.
    assert result.lines[0].steps == (
        PriceStep("button", 765),
        PriceStep("leather", 96, Decimal("12.5")),
        PriceStep("leather", 120),
        PriceStep("rush", 196, Decimal(20)),
        PriceStep("discount", -88, Decimal("-7.5")),
        PriceStep("rounding", 11),
        PriceStep("discount", -220),
    )
    assert result.adjustments[0].steps == (
        PriceStep("minimum charge", 400),
        PriceStep("discount", -80),
    )
    assert explain(result.lines[0], show) == (
        "button 3 \N{MULTIPLICATION SIGN} 2.55 = 7.65, leather +12.5 % 0.96, leather 1.20, "
        "rush +20 % 1.96, discount -7.5 % -0.88, rounding 0.11, discount -2.20"
    )
    assert explain(result.adjustments[0], show) == "minimum charge 4.00, discount -0.80"


def test_a_cent_lost_between_the_steps_is_shown_as_rounding():
    surcharges = (ItemSurcharge("silk", Decimal(10)), ItemSurcharge("lined", Decimal(10)))
    line = quote([hem(unit_price=3333, surcharges=surcharges)], PLAIN).lines[0]
    assert explain(line, show) == "hem 33.33, silk +10 % 3.33, lined +10 % 3.33, rounding 0.01"


def test_a_whole_round_percentage_keeps_its_noughts():
    line = quote([hem(surcharges=(ItemSurcharge("bridal", Decimal(100)),))], PLAIN).lines[0]
    assert explain(line, show) == "hem 24.00, bridal +100 % 24.00"


def test_the_minimum_charge_follows_the_dearest_tax_whichever_line_comes_first():
    items = [
        hem(key="1", unit_price=500, tax=REDUCED),
        hem(key="2", unit_price=499, tax=STANDARD),
        hem(key="3", unit_price=499, tax=STANDARD),
    ]
    terms = Terms("EUR", TaxMode.INCLUDED, minimum_charge=3000)
    for order in (items, items[::-1]):
        assert quote(order, terms).adjustments[0].item.tax == STANDARD


def test_one_rate_written_with_more_noughts_is_one_rate():
    items = [hem(tax=STANDARD), hem(key="2", tax=Tax("standard", Decimal("20.000")))]
    assert len(quote(items, Terms("EUR", TaxMode.ADDED)).rates) == 1


def test_an_exempt_tax_takes_nothing_even_with_a_percentage():
    item = hem(tax=Tax("worn", Decimal(20), exempt=True, sentence="Exempt."))
    assert quote([item], Terms("EUR", TaxMode.ADDED)).tax == 0


def test_without_tax_a_rate_on_the_line_is_ignored():
    result = quote([hem(tax=STANDARD)], PLAIN)
    assert (result.net, result.tax, result.gross, result.rates) == (2400, 0, 2400, ())


def test_nothing_in_a_quote_is_a_float():
    item = hem(surcharges=(ItemSurcharge("silk", Decimal("12.5")),), tax=STANDARD)
    terms = Terms("EUR", TaxMode.INCLUDED, rush_percent=Decimal("7.7"), minimum_charge=9000)
    assert {type(value) for value in leaves(quote([item], terms))} == {
        bool, int, str, Decimal, TaxMode, type(None),
    }  # fmt: skip


def leaves(value):
    if is_dataclass(value):
        for field in fields(value):
            yield from leaves(getattr(value, field.name))
    elif isinstance(value, tuple):
        for part in value:
            yield from leaves(part)
    else:
        yield value


@pytest.mark.parametrize(
    ("facts", "sentence"),
    [
        ({"quantity": 0}, "hem: the quantity must be at least 1."),
        ({"quantity": -1}, "hem: the quantity must be at least 1."),
        ({"quantity": 1.0}, "hem: the quantity must be a whole number, not float."),
        ({"quantity": 10_001}, "hem: the quantity must be at most 10000."),
        ({"unit_price": -1}, "hem: the price must be at least 0."),
        ({"unit_price": 24.0}, "hem: the price must be a whole number, not float."),
        ({"unit_price": Decimal(24)}, "hem: the price must be a whole number, not Decimal."),
        ({"unit_price": "24"}, "hem: the price must be a whole number, not str."),
        ({"unit_price": True}, "hem: the price must be a whole number, not bool."),
        ({"unit_price": 10**13}, "hem: the price must be at most 1000000000000."),
        ({"minutes": -5}, "hem: the minutes must be at least 0."),
        ({"minutes": 0.5}, "hem: the minutes must be a whole number, not float."),
        ({"key": "minimum charge"}, "hem: two lines share the key minimum charge."),
    ],
)
def test_an_absurd_item_is_refused(facts: dict, sentence: str):
    with pytest.raises(QuoteError) as refused:
        quote([hem(**facts)], PLAIN)
    assert str(refused.value) == sentence


@pytest.mark.parametrize(
    ("facts", "sentence"),
    [
        ({"percent": Decimal(-1)}, "hem, lined: the percentage cannot be below 0 %."),
        ({"percent": Decimal(1001)}, "hem, lined: the percentage cannot be above 1000 %."),
        ({"percent": 0.25}, "hem, lined: the percentage must be an exact decimal, not float."),
        ({"percent": Decimal("NaN")}, "hem, lined: the percentage must be a number."),
        ({"percent": Decimal("Infinity")}, "hem, lined: the percentage must be a number."),
        ({"amount": -1}, "hem, lined: the amount must be at least 0."),
        ({"amount": 1.5}, "hem, lined: the amount must be a whole number, not float."),
        (
            {"minutes_percent": Decimal(-1)},
            "hem, lined: the percentage of the minutes cannot be below 0 %.",
        ),
        ({"minutes": -1}, "hem, lined: the minutes must be at least 0."),
    ],
)
def test_an_absurd_surcharge_is_refused(facts: dict, sentence: str):
    with pytest.raises(QuoteError) as refused:
        quote([hem(surcharges=(ItemSurcharge("lined", **facts),))], PLAIN)
    assert str(refused.value) == sentence


@pytest.mark.parametrize(
    ("facts", "sentence"),
    [
        ({"currency": "XYZ"}, "XYZ is not a currency code of ISO 4217."),
        ({"tax_mode": "sometimes"}, "Tax is none, added or included."),
        ({"rounding_step": 0}, "The rounding step must be at least 1."),
        ({"rounding_step": 0.05}, "The rounding step must be a whole number, not float."),
        ({"minimum_charge": -1}, "The minimum charge must be at least 0."),
        ({"rush_percent": Decimal(-1)}, "The rush percentage cannot be below 0 %."),
        ({"rush_percent": 20.0}, "The rush percentage must be an exact decimal, not float."),
        ({"discount_percent": Decimal("100.1")}, "The discount cannot be above 100 %."),
        ({"discount_percent": Decimal(-1)}, "The discount cannot be below 0 %."),
        ({"discount_amount": -1}, "The discount must be at least 0."),
        ({"discount_amount": 2401}, "The discount is more than the work costs."),
        ({"deposit_percent": Decimal(-1)}, "The deposit percentage cannot be below 0 %."),
        ({"deposit_amount": -1}, "The deposit must be at least 0."),
        ({"deposit_amount": 5.5}, "The deposit must be a whole number, not float."),
    ],
)
def test_absurd_terms_are_refused(facts: dict, sentence: str):
    with pytest.raises(QuoteError) as refused:
        quote([hem()], Terms(**{"currency": "EUR", "tax_mode": TaxMode.NONE, **facts}))
    assert str(refused.value) == sentence


@pytest.mark.parametrize("mode", [TaxMode.ADDED, TaxMode.INCLUDED])
@pytest.mark.parametrize(
    ("tax", "sentence"),
    [
        (None, "hem: say which tax applies."),
        (Tax("odd", Decimal(-1)), "hem: the tax odd cannot be below 0 %."),
        (Tax("odd", Decimal(101)), "hem: the tax odd cannot be above 100 %."),
        (Tax("odd", 0.2), "hem: the tax odd must be an exact decimal, not float."),
    ],
)
def test_a_line_without_a_usable_tax_is_refused(mode: TaxMode, tax: Tax | None, sentence: str):
    with pytest.raises(QuoteError) as refused:
        quote([hem(tax=tax)], Terms("EUR", mode))
    assert str(refused.value) == sentence


def test_two_lines_with_one_key_are_refused():
    with pytest.raises(QuoteError, match=r"^taper: two lines share the key 1\.$"):
        quote([hem(), hem(name="taper")], PLAIN)
