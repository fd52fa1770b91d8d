"""New or worn: the published rules. The note is no legal advice, and says so."""

import pytest

from clients.cautions.garments import TaxPlace, new_garment, rule_of


@pytest.mark.parametrize(
    ("state", "new", "worn"),
    [
        ("California", True, False),  # Regulation 1524 (read)
        ("New Jersey", False, False),  # N.J.A.C. 18:24-6.8 (read)
        ("Texas", True, True),  # 34 TAC 3.310 (read)
        ("Minnesota", True, True),  # Sales Tax Fact Sheet 120 (read)
    ],
)
def test_the_sales_tax_on_a_hem_by_state(state, new, worn):
    rule = rule_of(state)
    assert (rule.new, rule.worn) == (new, worn)


@pytest.mark.parametrize("written", ["California", " california", "CA", "ca "])
def test_a_state_is_known_by_name_and_letters(written):
    assert rule_of(written).state == "California"


@pytest.mark.parametrize(
    ("place", "words", "source"),
    [
        (TaxPlace("US", "CA"), "altering new clothing is taxed, altering worn", "1524"),
        (TaxPlace("US", "Texas"), "is taxed, new or worn", "34 TAC 3.310"),
        (TaxPlace("US", "NJ"), "is not taxed, new or worn", "N.J.A.C. 18:24-6.8"),
        # Revenue's page on making up and modifying clothes: used clothing has the reduced rate.
        (TaxPlace("IE", "Cork"), "modifying used clothing carries the reduced rate", "VATCA 2010"),
        (TaxPlace("US", "Ohio"), "In some places", ""),
        (TaxPlace("FR", "CA"), "In some places", ""),
    ],
)  # fmt: skip
def test_the_note_says_what_is_published_of_the_place(place, words, source):
    note = new_garment(place)
    assert words in note.sentences[0]
    assert source in note.source
    assert "no legal advice" in note.advice
    assert not note.safety
