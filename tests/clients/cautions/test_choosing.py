"""Which cautions a garment calls for, and that each says where it comes from."""

import pytest

from clients.cautions.garments import (
    BY_CONCERN,
    LOCAL,
    QUOTED,
    READ,
    SAFETY,
    TaxPlace,
    cautions_for,
)
from jobs.pricing.models import Concern
from jobs.tickets.models import CautionRead


def keys(**facts):
    return [caution.key for caution in cautions_for(**{"concern": ""} | facts)]


@pytest.mark.parametrize(
    ("concern", "expected"),
    [
        ("", []),
        ("child_night", ["night", "cords"]),
        ("child", ["cords"]),
        ("protective", ["protective"]),
        ("flame", ["flame"]),
        ("life", ["life"]),
    ],
)
def test_a_kind_of_garment_brings_its_cautions(concern, expected):
    assert keys(concern=concern) == expected


def test_every_concern_of_the_price_list_has_a_caution():
    assert BY_CONCERN.keys() == set(Concern.values)


def test_every_caution_defers_names_its_source_and_fits_where_it_is_kept():
    longest = CautionRead._meta.get_field("key").max_length
    for key, caution in SAFETY.items():
        assert key == caution.key
        assert len(key) <= longest
        assert caution.advice.endswith(LOCAL)
        assert caution.source
        assert caution.label in {READ, QUOTED, "worked out from the source", "common practice"}
        assert caution.safety


@pytest.mark.parametrize(
    ("work", "hinted"),
    [
        ("Replace cord at the hood", True),
        ("New drawstring", True),
        ("New draw-string", True),
        ("Take in corduroy trousers", False),
        ("Hem", False),
    ],
)
def test_a_cord_in_the_work_gives_a_hint_and_no_more(work, hinted):
    cautions = cautions_for(concern="", works=["Hem", work])
    assert [caution.key for caution in cautions] == ["cord_hint"] * hinted
    assert not any(caution.safety for caution in cautions)


def test_on_a_childs_garment_the_caution_itself_stands_for_the_hint():
    assert keys(concern="child", works=["New drawstring"]) == ["cords"]


def test_a_new_garment_notes_the_tax_only_where_there_is_one():
    here = TaxPlace("IE")
    assert keys(new=True, taxed_at=here) == ["new_tax"]
    assert keys(new=False, taxed_at=here) == []
    assert keys(new=True, taxed_at=None) == []
