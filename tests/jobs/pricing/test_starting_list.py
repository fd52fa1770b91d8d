"""The list a studio may start from: common practice, inside the ranges the trade works in."""

import re
from fractions import Fraction

import pytest
from django.urls import reverse

from jobs.pricing.actions import (
    load_starting_list,
    price_for,
    recalculate_prices,
    rounding_step_for,
)
from jobs.pricing.files import place_of_work
from jobs.pricing.models import GarmentKind, Operation, PriceRules, Surcharge
from jobs.pricing.quote import named_already
from tests.drafts import hem, received, trousers

pytestmark = pytest.mark.django_db

# Bench minutes of one skilled person, without the fitting. Common practice, from memory; letting
# out takes a tenth to a fifth longer than taking in.
RANGES = [
    (r"Trousers: Hem$", 15, 30),
    (r"Trousers: Hem with turn-up", 30, 45),
    (r"Trousers: Take in waist", 30, 50),
    (r"Trousers: Let out waist", 33, 60),
    (r"Jeans: Hem$", 15, 25),
    (r"Jeans: Hem, original", 25, 45),
    (r"Jeans: Take in waist", 45, 75),
    (r"(Trousers|Jeans): Taper legs", 40, 70),
    (r"(Skirt|Shirt or top|Children's (wear|night clothes)|Knitwear): Hem$", 20, 40),
    (r"Curtains: Hem, one width", 20, 40),
    (r"(Skirt: Hem, lined|Coat: Hem, lined|Curtains: Hem, lined, one width)", 35, 60),
    (r"Dress: Hem$", 30, 50),
    (r"(Skirt|Dress): Hem, cut on the circle", 45, 100),
    (r"Wedding or evening dress: Hem, (one|further) layer", 60, 120),
    (r"Wedding or evening dress: Hem, lace edge", 180, 360),
    (r"Wedding or evening dress: Bustle$", 45, 120),
    (r"Wedding or evening dress: Bustle, further point", 10, 20),
    (r".*: Take in side seams$", 40, 70),
    (r".*: Take in side seams, lined", 60, 120),
    (r".*: Let out side seams$", 44, 84),
    (r".*: Let out side seams, lined", 66, 144),
    (r".*: Take in sides or centre back", 60, 120),
    (r".*: Let out sides or centre back", 66, 144),
    (r"(Trousers|Jeans|Children's wear): Replace zip$", 35, 60),
    (r"(Skirt|Dress|Wedding or evening dress|Other): Replace zip$", 45, 75),
    (r"(Jacket|Coat): Replace zip$", 60, 120),
    (r".*: Shorten sleeves from the cuff|Dress: Shorten sleeves", 30, 45),
    (r".*: Shorten sleeves, vent and buttons", 60, 90),
    (r".*: Shorten sleeves from the shoulder", 120, 180),
    (r"Jacket: Narrow shoulders", 150, 240),
    (r".*: Replace lining", 300, 600),
    (r".*: Shorten straps", 15, 25),
    (r".*: Small patch", 15, 30),
    (r".*: Patch knee", 25, 45),
    (r".*: Button$", 4, 8),
    (r".*: Buttonhole", 10, 15),
    # Not in the trade's tables of minutes: common practice.
    (r".*: Seam repair", 10, 30),
    (r"(Skirt|Dress|Trousers|Children's (wear|night clothes)): Let down hem", 20, 50),
    (r".*: Replace elastic", 20, 40),
    (r".*: Replace zip slider", 10, 25),
    (r".*: Take in darts", 25, 50),
    (r"Dress: Take in bodice", 60, 90),
    (r"Wedding or evening dress: Take in bodice", 90, 180),
    (r"(Skirt|Dress|Coat): Hem of lining", 20, 40),
    (r"Wedding or evening dress: Hem of lining", 60, 120),
    (r".*: Look over and send to the maker", 10, 20),
    (r"Other: Work by the hour", 60, 60),
]


@pytest.fixture
def loaded(owner):
    load_starting_list(by=owner)
    return list(Operation.objects.select_related("garment_kind"))


def test_every_operation_takes_as_long_as_it_takes(loaded):
    beyond = []
    for operation in loaded:
        limits = [row[1:] for row in RANGES if re.match(row[0], str(operation))]
        if not limits or not limits[0][0] <= operation.minutes <= limits[0][1]:
            beyond.append((str(operation), operation.minutes, limits))
    assert beyond == []


def test_the_fifteen_kinds_of_garment_in_their_order(owner):
    load_starting_list(by=owner)
    assert [kind.name for kind in GarmentKind.objects.all()] == [
        "Trousers", "Jeans", "Skirt", "Dress", "Jacket", "Coat", "Shirt or top",
        "Wedding or evening dress", "Children's wear", "Children's night clothes", "Knitwear",
        "Curtains", "Protective clothing", "Life jacket, harness", "Other",
    ]  # fmt: skip


def test_what_can_hurt_whoever_wears_it_comes_with_its_caution(owner):
    load_starting_list(by=owner)
    marked = GarmentKind.objects.exclude(concern="")
    assert {kind.name: kind.concern for kind in marked} == {
        "Children's wear": "child",
        "Children's night clothes": "child_night",
        "Protective clothing": "protective",
        "Life jacket, harness": "life",
    }


def test_a_hem_says_what_its_one_amount_means_and_a_take_in_leaves_it_to_the_owner(loaded):
    for operation in loaded:
        if operation.name.startswith("Hem"):
            assert operation.takes_amount, operation
            legs = operation.garment_kind.name in {"Trousers", "Jeans"}
            assert operation.usual_basis == ("leg" if legs else "total"), operation
            assert operation.usual_measure in {"take_off", "finished"}, operation
        if operation.name.startswith(("Take in", "Let out", "Taper", "Narrow")):
            assert operation.takes_amount, operation
            assert operation.usual_basis == "", operation
            letting_out = operation.name.startswith("Let out")
            assert operation.usual_measure == ("let_out" if letting_out else "take_off")


def test_it_says_each_leg_and_each_sleeve_where_the_trade_says_so(loaded):
    words = {str(operation): operation.get_usual_basis_display() for operation in loaded}
    assert words["Trousers: Hem"] == words["Trousers: Let down hem"] == "Each leg"
    sleeves = [name for name in words if "sleeve" in name]
    assert len(sleeves) >= 8
    assert {words[name] for name in sleeves} == {"Each sleeve"}
    assert words["Dress: Shorten straps"] == "Each side"


def test_the_everyday_work_is_on_it(loaded):
    """What a counter is asked for every week (common practice)."""
    names = {operation.name for operation in loaded}
    assert {
        "Seam repair", "Let down hem", "Replace elastic", "Replace zip slider", "Take in darts",
        "Take in bodice", "Hem of lining",
    } <= names  # fmt: skip
    order = {operation.name: operation.work_order for operation in loaded}
    assert order["Take in bodice"] < order["Hem"] < order["Hem of lining"]
    letting_down = [entry for entry in loaded if entry.name == "Let down hem"]
    assert {entry.usual_measure for entry in letting_down} == {"let_out"}


def test_the_order_of_work_is_body_before_hem_and_lining_last(loaded):
    order = {operation.name: operation.work_order for operation in loaded}
    assert order["Take in side seams"] < order["Shorten sleeves"] < order["Replace zip"]
    assert order["Replace zip"] < order["Hem"] < order["Replace lining"]
    # Common practice: what sits on a finished edge comes last; trade page (seen, 2nd): bodice, hem,
    # bustle.
    assert order["Take in bodice"] < order["Hem, one layer"] < order["Bustle"]
    for name in ("Button", "Buttonhole", "Bustle, further point"):
        assert order[name] > order["Replace lining"]


@pytest.mark.postgres
def test_the_order_of_work_is_a_table_that_the_owner_changes(loaded, owner_client):
    page = owner_client.get(reverse("price-order"))
    form = page.context["form"]
    values = {name: form[name].value() for name in form.fields}
    button = next(name for name in values if form.fields[name].label == "Button")
    assert values[button] == 60
    count = Operation.objects.filter(name="Button").count()
    after = owner_client.post(reverse("price-order"), values | {button: 30}, follow=True)
    assert f"Order of work: {count} operations moved." in after.text
    assert set(Operation.objects.filter(name="Button").values_list("work_order")) == {(30,)}
    again = owner_client.post(reverse("price-order"), values | {button: 30}, follow=True)
    assert "Order of work: 0 operations moved." in again.text
    others = Operation.objects.exclude(name="Button").values_list("pk", "work_order")
    assert dict(others) == {
        entry.pk: entry.work_order for entry in loaded if entry.name != "Button"
    }


@pytest.mark.postgres
def test_a_ticket_stands_in_the_order_of_work(loaded, studio, owner):
    """By hand: a dress taken in, its zip, its hem, and the bustle on the hem."""
    names = ["Bustle", "Hem, one layer", "Replace zip", "Take in bodice"]
    listed = [Operation.objects.get(garment_kind__name__startswith="Wedding", name=name)
              for name in names]  # fmt: skip
    bare = {"amount_mm": None, "amount_typed": "", "basis": "", "measure": "",
            "measure_later": True}  # fmt: skip
    lines = [hem(name=work.name, operation_id=work.pk, work_order=work.work_order, **bare)
             for work in listed]  # fmt: skip
    garment = received(studio, owner, trousers(*lines)).garments.get()
    assert [line.name for line in garment.lines.all()] == names[::-1]


@pytest.mark.parametrize("cell", ["Zips, buttons, pockets", "zips, pockets, patches"])
def test_a_file_of_an_older_list_is_understood(cell):
    assert place_of_work(cell) == 30


def test_stitches_are_those_of_iso_4915(loaded):
    """Numbers and what they are for: ISO 4915:1991 as trade courses quote it."""
    known = {
        "101": "chain", "103": "blind", "301": "lockstitch", "304": "zigzag", "401": "two chains",
        "406": "cover", "504": "overedge",
    }  # fmt: skip
    used = {operation.stitch for operation in loaded if operation.stitch}
    assert used <= known.keys()
    by_name = {str(operation): operation.stitch for operation in loaded}
    assert by_name["Trousers: Hem"] == "103"
    assert by_name["Jeans: Hem"] == "301"
    assert by_name["Knitwear: Hem"] == "406"
    assert by_name["Jacket: Buttonhole"] == "304"


def test_what_needs_a_fitting_says_so(loaded):
    fitted = {str(operation) for operation in loaded if operation.fitting_first}
    assert "Wedding or evening dress: Take in side seams, lined" in fitted
    assert "Jacket: Shorten sleeves from the shoulder" in fitted
    assert "Trousers: Hem" not in fitted


def test_the_fit_is_asked_and_repairs_come_before_a_fitting(loaded):
    """Common practice: what is torn is mended so that it can be tried on; then it is pinned."""
    places = {str(operation): operation.fitting_place for operation in loaded}
    for name, place in places.items():
        if re.search(r": (Take in|Let out|Taper)", name) and "edding" not in name:
            assert place == "ask" or "bodice" in name, name
    assert {places[name] for name in places if "Replace zip" in name} == {"before"}
    assert {places[name] for name in places if "Seam repair" in name} == {"before"}
    assert {places[name] for name in places if ": Hem" in name} == {"after"}


def test_a_hem_on_the_circle_hangs_for_a_day(loaded):
    """Common practice: cloth on the bias drops before it is levelled."""
    hanging = {str(operation): operation.hang_days for operation in loaded if operation.hang_days}
    circle = "Hem, cut on the circle or bias"
    assert hanging == {f"Skirt: {circle}": 1, f"Dress: {circle}": 1}


def test_everything_loaded_passes_the_models_own_checks(loaded):
    for entry in [*loaded, *GarmentKind.objects.all(), *Surcharge.objects.all()]:
        entry.full_clean()
    PriceRules.load().full_clean()


def test_surcharges_raise_the_price_by_a_tenth_to_a_half(owner):
    """Typical steps for each thing that makes work harder: common practice."""
    load_starting_list(by=owner)
    row = {surcharge.name: surcharge.percent for surcharge in Surcharge.objects.all()}
    assert {"Lined", "Beads or sequins", "Extra layer", "Leather or suede"} <= row.keys()
    assert all(10 <= percent <= 50 for percent in row.values())


def test_a_surcharge_never_pays_less_an_hour_than_the_plain_work(loaded):
    """Reckoned here in fractions: price over minutes of every operation, with and without it."""
    for surcharge in Surcharge.objects.all():
        assert (surcharge.amount, surcharge.minutes) == (0, 0)
        for operation in loaded:
            price = operation.price * (100 + Fraction(surcharge.percent))
            minutes = operation.minutes * (100 + Fraction(surcharge.minutes_percent))
            plain = Fraction(operation.price, operation.minutes)
            assert price / minutes == plain, (surcharge, operation)


@pytest.mark.parametrize(
    ("surcharge", "operation", "named"),
    [
        ("Lined", "Take in side seams, lined", True),
        ("lined", "Hem, lined, one width", True),
        ("Lined", "Hem of lining", False),
        ("Lined", "Hem, unlined", False),
        ("Beads or sequins", "Hem, sequins", True),
        ("Beads or sequins", "Hem, one layer", False),
        ("Extra layer", "Hem, extra layer", True),
    ],
)
def test_a_surcharge_that_the_operation_names_already(surcharge, operation, named):
    assert named_already(surcharge, operation) is named


@pytest.mark.parametrize(
    ("hour", "step"),
    [
        (1, 1),
        (59, 1),
        (60, 1),
        (119, 1),
        (120, 2),
        (300, 5),
        (3600, 50),
        (6000, 100),
        (600_000, 10_000),
    ],
)
def test_the_handy_step_is_no_finer_than_a_minute_needs(hour, step):
    assert rounding_step_for(hour) == step


@pytest.mark.parametrize(
    ("minutes", "hour", "price"),
    [
        (60, 3600, 3600),
        (20, 3600, 1200),
        (12, 3600, 700),  # 7.20 to the nearest half
        (15, 4500, 1150),  # 11.25 half up to the step
        (5, 600_000, 50_000),
        (0, 3600, 50),
        (1, 10, 1),
    ],
)
def test_a_price_is_minutes_times_the_hour_to_the_handy_step(minutes, hour, price):
    assert price_for(minutes, hour) == price


def test_loaded_twice_it_is_there_once_and_what_was_edited_stays(loaded, owner):
    edited = loaded[0]
    edited.price = 4321
    edited.save()
    assert load_starting_list(by=owner) == 0
    assert Operation.objects.count() == len(loaded)
    edited.refresh_from_db()
    assert edited.price == 4321


def test_prices_reckoned_anew_follow_the_hour(loaded, owner):
    assert recalculate_prices(hour=6000, currency="EUR", by=owner) == len(loaded)
    hem = Operation.objects.get(garment_kind__name="Trousers", name="Hem")
    assert hem.price == 2000
