"""The pressing limit: the lower of label and fibre. GINETEX care table (read): 110, 150, 200 °C."""

import pytest

from clients.cautions.pressing import press_limit, read_fibres


@pytest.mark.parametrize(("iron", "degrees"), [("1", 110), ("2", 150), ("3", 200), ("none", None)])
def test_dots_of_the_care_label(iron, degrees):
    assert press_limit(iron=iron, fibre="").degrees == degrees


def test_one_dot_is_without_steam_and_the_others_are_not():
    limits = {iron: press_limit(iron=iron, fibre="").words for iron in ("1", "2", "3")}
    assert "110 °C (1 dot, no steam)" in limits["1"]
    assert "150 °C (2 dots)" in limits["2"]
    assert "200 °C (3 dots)" in limits["3"]


@pytest.mark.parametrize(
    ("fibre", "degrees"),
    [
        # As a trade page quotes the guide: acrylic, polyamide, acetate 1; wool, silk, polyester,
        # viscose 2; cotton, linen 3; a mix goes by its lowest fibre.
        ("100 % acrylic", 110),
        ("polyamide", 110),
        ("Acetate", 110),
        ("wool", 150),
        ("100% silk", 150),
        ("65% polyester, 35% viscose", 150),
        ("cotton", 200),
        ("linen 55 cotton 45", 200),
        ("80 % wool 20 % polyamide", 110),
        ("Wool 80%, nylon 20%", 110),
        ("97 % COTTON, 3 % polyester", 150),
        ("shell: pure new wool; lining: viscose", 150),
    ],
)
def test_fibres_go_by_the_lowest_of_a_mix(fibre, degrees):
    assert press_limit(iron="", fibre=fibre).degrees == degrees


@pytest.mark.parametrize(
    ("iron", "fibre", "degrees", "because"),
    [
        ("3", "wool", 150, "wool"),
        ("1", "cotton", 110, "the iron on its label"),
        ("none", "cotton", None, "Do not iron: the iron on its label"),
        ("2", "wool 80 polyamide 20", 110, "polyamide, the least of 2 fibres"),
        ("2", "wool", 150, "the iron on its label"),
    ],
)
def test_the_lower_of_both_and_why(iron, fibre, degrees, because):
    limit = press_limit(iron=iron, fibre=fibre)
    assert limit.degrees == degrees
    assert because in limit.words


def test_nothing_known_says_nothing():
    assert press_limit(iron="", fibre="") is None
    assert press_limit(iron="", fibre="100 % moonbeam") is None


def test_an_unknown_fibre_is_named_and_does_not_hide_the_known_ones():
    limit = press_limit(iron="", fibre="70 % cotton 30 % sisal")
    assert limit.degrees == 200
    assert "try sisal on a hidden place first" in limit.words


def test_a_fibre_named_twice_is_one_fibre():
    assert read_fibres("Shell 100% WOOL, lining 100% wool") == (["wool"], [])
