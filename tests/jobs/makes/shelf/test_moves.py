"""What is left of a cloth is the sum of its moves, and never below zero."""

from datetime import date
from decimal import Decimal
from uuid import uuid4

import pytest

from jobs.makes.lengths import parse_cloth
from jobs.makes.models import Cloth, ClothMove
from jobs.makes.shelf import actions
from jobs.makes.shelf.actions import ShelfError, Washing
from studio.shop import history
from studio.shop.history import HistoryError
from studio.shop.pictures import FreshPicture
from tests import factories as f

pytestmark = pytest.mark.usefixtures("studio")


def long(typed: str):
    return parse_cloth(typed, "m")


@pytest.fixture
def linen(owner) -> Cloth:
    """Three metres."""
    facts = {"name": "Linen", "width_mm": Decimal(1400), "width_typed": "140 cm"}
    cloth, _ = actions.add_cloth(facts=facts, length=long("3"), by=owner, form_key=uuid4())
    return cloth


@pytest.fixture
def hand(linen, owner) -> dict:
    return {"cloth": linen, "by": owner}


def left(cloth: Cloth) -> Decimal:
    """What is left, which is always the sum of the moves."""
    cloth.refresh_from_db()
    assert cloth.left_mm == sum(move.mm for move in cloth.moves.all())
    return cloth.left_mm


def test_new_cloth_came_in_on_the_day_it_was_bought(owner):
    facts = {"name": "Wool", "width_mm": Decimal(1500), "width_typed": "150 cm"}
    bought = facts | {"bought_on": date(2025, 2, 3)}
    key = uuid4()
    for _ in range(2):
        wool, _ = actions.add_cloth(facts=bought, length=long("2 1/2 yd"), by=owner, form_key=key)
    assert Cloth.objects.count() == 1
    assert (left(wool), wool.unit) == (Decimal(2286), "yd")
    assert wool.moves.get().day == date(2025, 2, 3)


def test_cut_for_a_make_is_linked_and_counts_once(linen, hand):
    make, key = f.MakeFactory(), uuid4()
    for _ in range(2):
        actions.cut(**hand, length=long("1.2"), form_key=key, make=make)
    assert left(linen) == 1800
    assert [plan.make for plan in linen.plans.all()] == [make]
    assert make.cloth_moves.get().typed == "1.2 m"


def test_no_more_is_cut_than_there_is(linen, hand):
    with pytest.raises(ShelfError, match=r"There is 3 m left\.") as wrong:
        actions.cut(**hand, length=long("3.001"), form_key=uuid4())
    assert wrong.value.field == "length"
    assert left(linen) == 3000


def test_all_of_it_leaves_the_shelf_and_comes_back(linen, hand):
    actions.cut(**hand, length=long("3"), form_key=uuid4())
    assert left(linen) == 0
    assert linen.gone_at
    actions.put_back(**hand, length=long("40 cm"), form_key=uuid4())
    assert left(linen) == 400
    assert linen.gone_at is None


def test_what_the_page_shows_as_all_of_it_can_be_cut(owner):
    """2 m are 2 yd 6.74 in; a sixteenth of an inch is the finest the page shows."""
    cloth = f.ClothFactory(left_mm=Decimal(2000), unit="yd")
    actions.cut(cloth=cloth, by=owner, length=parse_cloth("2 yd 6 3/4 in", "yd"), form_key=uuid4())
    assert left(cloth) == 0


def test_washed_shortens_it_and_keeps_what_it_lost(linen, hand):
    washed = Washing(long("3"), long("2.85"), long("140 cm"), long("136.5 cm"))
    key = uuid4()
    for _ in range(2):
        actions.wash(**hand, washed=washed, form_key=key)
    assert left(linen) == 2850
    assert (linen.shrink_along, linen.shrink_across) == (Decimal("5.0"), Decimal("2.5"))
    assert (linen.washed, linen.width_mm) == (True, 1365)
    actions.wash(**hand, washed=Washing(long("2.85"), long("2.80")), form_key=uuid4())
    assert (left(linen), linen.shrink_along) == (2800, Decimal("5.0"))


def test_a_trial_tells_what_it_will_lose_and_takes_nothing(linen, hand):
    trial = Washing(long("20 cm"), long("19 cm"), whole=False)
    actions.wash(**hand, washed=trial, form_key=uuid4())
    assert (left(linen), linen.washed, linen.shrink_along) == (3000, False, Decimal("5.0"))


def test_half_of_it_gone_is_no_shrinkage(linen, hand):
    with pytest.raises(ShelfError, match="Half of it") as wrong:
        actions.wash(**hand, washed=Washing(long("3"), long("1.5")), form_key=uuid4())
    assert wrong.value.field == "after"
    assert (left(linen), linen.washed) == (3000, False)


def test_measured_again_puts_it_right_both_ways(linen, hand):
    for really in ("2.9", "3.1", "3.1"):
        actions.measure_again(**hand, length=long(really), form_key=uuid4())
    assert left(linen) == 3100
    measured = linen.moves.filter(why=ClothMove.Why.MEASURED).order_by("pk")
    assert [move.mm for move in measured] == [-100, 200]


def test_given_away_in_part_or_whole(linen, hand):
    actions.give_away(**hand, length=long("1"), form_key=uuid4())
    assert left(linen) == 2000
    actions.give_away(**hand, length=None, form_key=uuid4())
    assert left(linen) == 0
    with pytest.raises(ShelfError, match="nothing left"):
        actions.give_away(**hand, length=None, form_key=uuid4())


def test_a_cut_is_undone_once(linen, hand, owner):
    make = f.MakeFactory()
    entry = actions.cut(**hand, length=long("1"), form_key=uuid4(), make=make)
    for _ in range(2):
        history.undo(entry=entry, by=owner)
    assert left(linen) == 3000
    assert not linen.moves.filter(why=ClothMove.Why.CUT).exists()
    assert not linen.plans.exists()


def test_a_wash_is_undone_with_all_it_said(linen, hand, owner):
    washed = Washing(long("3"), long("2.85"), long("140 cm"), long("136.5 cm"))
    entry = actions.wash(**hand, washed=washed, form_key=uuid4())
    history.undo(entry=entry, by=owner)
    assert left(linen) == 3000
    assert (linen.washed, linen.shrink_along, linen.width_mm) == (False, None, 1400)


def test_what_was_cut_before_another_cut_is_not_undone(linen, hand, owner):
    first = actions.cut(**hand, length=long("1"), form_key=uuid4())
    actions.cut(**hand, length=long("0.5"), form_key=uuid4())
    with pytest.raises(HistoryError, match="length left of this cloth was changed since"):
        history.undo(entry=first, by=owner)
    assert left(linen) == 1500


def test_a_later_day_of_buying_moves_the_day_it_came_in(linen, owner):
    actions.change_cloth(
        cloth=linen, facts={"bought_on": date(2024, 5, 6), "place": "Box 3"}, by=owner
    )
    linen.refresh_from_db()
    assert linen.place == "Box 3"
    assert linen.moves.get().day == date(2024, 5, 6)


def test_a_form_sent_again_with_another_length_is_not_called_saved(linen, hand):
    key = uuid4()
    actions.cut(**hand, length=long("1"), form_key=key)
    assert actions.cut(**hand, length=long("1"), form_key=key) is None
    with pytest.raises(ShelfError, match="What you changed since is not saved"):
        actions.cut(**hand, length=long("2"), form_key=key)
    assert left(linen) == 2000


@pytest.mark.postgres
def test_cloth_sent_again_with_other_facts_is_not_called_saved(owner):
    key = uuid4()
    facts = {"name": "Wool", "width_mm": Decimal(1400), "width_typed": "140 cm"}
    sent = {"length": long("3"), "by": owner, "form_key": key}
    first, _ = actions.add_cloth(facts=facts, **sent)
    assert actions.add_cloth(facts=facts, **sent) == (first, None)
    with pytest.raises(ShelfError, match="What you changed since is not saved"):
        actions.add_cloth(facts=facts | {"name": "Silk"}, **sent)
    with pytest.raises(ShelfError, match="What you changed since is not saved"):
        actions.add_cloth(facts=facts, swatch=FreshPicture(b"another", 1, 1, b"small"), **sent)
    assert Cloth.objects.get().name == "Wool"
