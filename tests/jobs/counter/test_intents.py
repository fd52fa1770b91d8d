"""What the buttons do to the slate, without a request or a database."""

from jobs.counter.dropoff import intents
from jobs.counter.dropoff.catalogue import Catalogue
from jobs.counter.dropoff.slate import MOST_GARMENTS, MOST_LINES, Slate
from jobs.pricing.models import GarmentKind, Operation, PriceRules

HEM = Operation(pk=7, name="Hem", takes_amount=True, usual_basis="total", usual_measure="take_off")
ZIP = Operation(pk=8, name="Zip")
LIST = Catalogue(
    kinds={"1": GarmentKind(pk=1, name="Trousers")},
    operations={"7": HEM, "8": ZIP},
    surcharges=[],
    rules=PriceRules(),
    taxes={},
)


def pressed(*presses: str, sees_money: bool = True) -> Slate:
    slate = Slate()
    for intent in presses:
        intents.apply(slate, intent, LIST, sees_money=sees_money)
    return slate


def test_a_garment_offers_its_work_next():
    slate = pressed("add-garment:1")

    assert slate.garments[0].typed == {"kind": ["1"], "worn": ["worn"]}
    assert slate.focus == "g0-first"


def test_work_that_asks_how_far_takes_the_usual_words_and_the_cursor():
    slate = pressed("add-garment:1", "add-line:0:7")

    assert slate.garments[0].lines[0].typed == {
        "operation": ["7"], "quantity": ["1"], "basis": ["total"], "measure": ["take_off"],
    }  # fmt: skip
    assert slate.focus == "id_g0-l0-amount"


def test_other_work_leads_to_more_work():
    assert pressed("add-garment:1", "add-line:0:8").focus == "g0-more"


def test_by_hand_is_the_owners():
    assert pressed("add-garment:other").focus == "id_g0-kind_name"
    assert pressed("add-garment:other", "add-line:0:other").focus == "id_g0-l0-name"
    assert pressed("add-garment:other", sees_money=False).garments == []
    slate = pressed("add-garment:1", "add-line:0:other", sees_money=False)
    assert slate.garments[0].lines == []


def test_the_count_goes_from_one_to_the_most_and_forgives_words():
    line = "add-garment:1", "add-line:0:8"
    assert _quantity(pressed(*line, "more:0:0", "more:0:0", "fewer:0:0")) == "2"
    assert _quantity(pressed(*line, "fewer:0:0")) == "1"
    assert _quantity(pressed(*line, *["more:0:0"] * 120)) == "99"

    slate = pressed(*line)
    slate.garments[0].lines[0].typed.put(quantity="many")
    intents.apply(slate, "more:0:0", LIST, sees_money=True)
    assert _quantity(slate) == "2"


def _quantity(slate: Slate) -> str:
    return slate.garments[0].lines[0].typed.text("quantity")


def test_taken_off_and_put_back():
    slate = pressed("add-garment:1", "add-line:0:7", "remove-line:0:0", "remove-garment:0")
    assert slate.garments[0].typed.text("gone") == "yes"
    assert slate.garments[0].lines[0].typed.text("gone") == "yes"

    intents.apply(slate, "put-back-garment:0", LIST, sees_money=True)
    intents.apply(slate, "put-back-line:0:0", LIST, sees_money=True)
    assert slate.garments[0].typed == {"kind": ["1"], "worn": ["worn"]}
    assert "gone" not in slate.garments[0].lines[0].typed


def test_there_is_an_end_to_garments_and_lines():
    assert len(pressed(*["add-garment:1"] * 50).garments) == MOST_GARMENTS
    slate = pressed("add-garment:1", *["add-line:0:8"] * 30)
    assert len(slate.garments[0].lines) == MOST_LINES
