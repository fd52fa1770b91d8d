"""Hems on their page: cut where cloth is left, never below the floor, a break from the shoe."""

import html
import re
from decimal import Decimal

import pytest
from django.urls import reverse

from jobs.tickets.fit.cloth_ends import line_too_long
from tests.drafts import hem, received, take_in, trousers
from tests.factories import GarmentFactory
from tests.jobs.tickets.fit_pages import ASKED, address, words


@pytest.fixture
def garment(studio, owner):
    return received(studio, owner, trousers(take_in(), hem())).garments.get()


# By hand: the cloth ends at what it is long now and what is turned up; 2 in (5.1 cm) is published.
ENDS = [
    ({"now": "77", "turned_up": "5", "finished": "80"}, "Finish at 80 cm, cut at 82 cm."),
    ({"now": "77", "turned_up": "5", "finished": "77"}, "Finish at 77 cm, cut at 82 cm."),
    ({"now": "77", "turned_up": "5", "finished": "75"}, "Finish at 75 cm, cut at 80.1 cm."),
    ({"now": "77", "turned_up": "5", "finished": "80", "depth": "1.5"}, "cut at 81.5 cm."),
    ({"now": "77", "turned_up": "5", "finished": "80", "faced": "on"}, "cut at 80.6 cm."),
    ({"now": "77", "turned_up": "0", "finished": "75"}, "Finish at 75 cm, cut at 77 cm."),
    ({"now": "77", "turned_up": "9.5", "finished": "77", "turn_up": "4"}, "cut at 86.5 cm."),
    ({"now": "77", "turned_up": "5", "finished": "80", "slope": "1"}, "cut at 81.5 cm."),
    (
        {"now": "77", "turned_up": "9", "finished": "77", "turn_up": "4"},
        "No: this turn-up takes 9.3 cm below the finished edge, 9 cm is there.",
    ),
    (
        {"now": "77", "turned_up": "5", "finished": "80", "turn_up": "4"},
        "No: this turn-up takes 9.3 cm below the finished edge, 2 cm is there.",
    ),
    ({"now": "77", "turned_up": "0", "finished": "76.5"}, "No: 0.5 cm of cloth is left below"),
]


# By hand: 104 cm to the floor + 2 heel, less 3 in to the shoe top (7.62), and the break: 0, the
# middles of 1/2-1 in and 1-2 in, over 2 in (trade page, seen 2nd).
BREAKS = [("touch", "98.4"), ("quarter", "100.3"), ("half", "102.2"), ("full", "103.5")]


@pytest.mark.parametrize(("shoe_break", "finished"), BREAKS)
def test_a_break_begins_at_the_top_of_the_shoe(owner_client, garment, shoe_break, finished):
    asked = {"garment": "trousers", "floor": "104", "heel": "2", "shoe_break": shoe_break,
             "layers": "1"}  # fmt: skip
    shown = words(owner_client.get(address(garment, "hem"), asked))
    assert f"Finish at {finished} cm, cut at" in shown
    assert "\N{MINUS SIGN} 7.6 cm to the shoe top" in shown


def test_a_shoe_top_that_was_measured_counts(owner_client, garment):
    """By hand: 104 + 2 - 9 + 5.08 = 102.1."""
    asked = {"garment": "womens_trousers", "floor": "104", "heel": "2", "shoe_break": "full",
             "shoe_top": "9", "layers": "1"}  # fmt: skip
    assert "Finish at 102.1 cm" in words(owner_client.get(address(garment, "hem"), asked))


@pytest.mark.parametrize(
    ("typed", "answer"),
    [
        ({"finished": "110.1"}, "No: this ends 4.1 cm below the floor."),
        ({"finished": "106"}, "Finish at 106 cm"),
        ({"finished": "106", "slope": "1"}, "No: this ends 0.5 cm below the floor."),
        ({"finished": "110.1", "garment": "dress"}, "This ends below the floor: only a train"),
        ({"shoe_break": "full", "shoe_top": "3"}, "No: this ends 2.1 cm below the floor."),
    ],
)
def test_what_ends_below_the_floor_is_refused_or_warned(owner_client, garment, typed, answer):
    asked = {"garment": "trousers", "floor": "104", "heel": "2", "layers": "1"} | typed
    assert answer in words(owner_client.get(address(garment, "hem"), asked))


def lowest(drawing, kind):
    shapes = [stroke.points for stroke in drawing.strokes if stroke.kind == kind]
    return max(int(point.split(",")[1]) for points in shapes for point in points.split())


@pytest.mark.parametrize(("typed", "says"), ENDS)
def test_a_hem_is_cut_where_there_is_cloth(owner_client, garment, typed, says):
    asked = {"garment": "trousers", "layers": "1"} | typed
    shown = owner_client.get(address(garment, "hem"), asked)
    assert says in words(shown)
    answer = shown.context["answer"]
    if answer.good:
        assert lowest(answer.drawing, "cut") <= lowest(answer.drawing, "cloth")
    else:
        assert "Save as the amount of" not in words(shown)


def test_more_depth_than_there_is_offers_a_facing(owner_client, garment):
    """By hand: 2 cm is left of 5; the facing is 5.1 cm and two seams of 1/4 in high: 6.4 cm."""
    asked = {"garment": "trousers", "layers": "1", "edge": "40"} | ENDS[0][0]
    shown = owner_client.get(address(garment, "hem"), asked)
    assert "All 2 cm that is there is turned up." in words(shown)
    instead = re.search(r'href="([^"]+)">With a facing, 5.1 cm deep', shown.text)
    faced = words(owner_client.get(html.unescape(instead[1])))
    assert "Facing, cut 6.4 cm high, 41.3 cm long" in faced


# By hand, as in the line of the drop-off: 80 less 4 is 76; the lining 2 shorter, cut 1 in lower.
# 1.5 high at 76 the seam lies at 74.5, and 3/8 in (0.95) goes into it on either side.
LINED = {"now": "80", "by": "4", "shorter": "2", "depth": "5", "turned_up": "5"}
KEPT = {"now": "80", "by": "4", "band": "1.5"}
AGREED = [
    (LINED, "Finish at 76 cm, cut at 81 cm. Lining: finish at 74 cm, cut at 76.5 cm."),
    (LINED | {"slope": "1"}, "Lining: finish at 74 cm, cut at 76.5 cm."),
    (KEPT, "Cut at 75.5 cm and at 77.5 cm: 2 cm comes out. The seam lies at 74.5 cm"),
    (KEPT | {"edge_flat": "18", "above_flat": "19"}, "0.8 cm wider round than its own edge: ease"),
    (KEPT | {"by": "1.5"}, "Fold a tuck, sewn at 77 cm."),
]
NOT_AGREED = [
    (LINED | {"shorter": "77"}, "between the top and the finished edge"),
    (KEPT | {"edge_flat": "18", "above_flat": "22"}, "No: there the leg is 3.2 cm wider round"),
    (KEPT | {"turn_up": "4"}, "nothing is turned up or lined anew"),
    (KEPT | {"by": "", "finished": "80"}, "only kept where it gets shorter"),
    ({"band": "1.5", "finished": "76"}, "Write how long it is now: its own edge is sewn back."),
]


@pytest.mark.parametrize(("typed", "says"), AGREED + NOT_AGREED)
def test_the_large_sum_has_what_the_line_of_the_drop_off_has(owner_client, garment, typed, says):
    asked = {"garment": "trousers", "layers": "1"} | typed
    shown = words(owner_client.get(address(garment, "hem"), asked))
    assert says in shown
    assert ("Save as the amount of: Hem" in shown) is ((typed, says) in AGREED)


def test_no_shoe_is_asked_for_a_curtain_or_a_sleeve(owner_client, garment):
    for place, asks in (("jeans", 2), ("dress", 1), ("curtains", 0), ("sleeve", 0)):
        page = owner_client.get(address(garment, "hem"), {"garment": place, "now": "80"}).text
        assert ('name="heel"' in page) + ('name="shoe_break"' in page) == asks, place
        # What somebody typed stays in sight.
        sent = {"garment": place, "now": "80", "heel": "5"}
        assert 'name="heel"' in owner_client.get(address(garment, "hem"), sent).text


def test_what_a_hem_has_is_known_by_its_work_and_kept_with_the_garment(owner_client, studio, owner):
    work = hem(name="Hem, lined, with turn-up")
    garment = received(studio, owner, trousers(work, kind_name="Jeans")).garments.get()
    shown = owner_client.get(address(garment, "hem")).text
    assert "<details open><summary>Turn-up, lining, original edge, facing, layers" in shown
    assert re.search(r'name="turn_up" value="4"', shown)
    assert re.search(r'name="shorter" value="2"', shown)
    assert not re.search(r'name="band" value', shown)
    sent = {"garment": "jeans", "layers": "1", "now": "80", "by": "4", "shorter": "3"}
    owner_client.post(address(garment, "hem"), sent)
    garment.refresh_from_db()
    assert garment.cloth_ends["jeans"]["shorter"] == "3 cm"
    assert 'name="shorter" value="3 cm"' in owner_client.get(address(garment, "hem")).text


def test_a_let_down_takes_what_its_turn_up_takes(studio):
    """Twice 4 and 1/2 in (1.27) at the least below the new edge; the cloth ends at 77 + 9.5."""
    ends = {"trousers": {"now": "77 cm", "turned_up": "9.5 cm", "turn_up": "4 cm"}}
    let_down = {"measure": "let_out", "basis": "leg", "amount_typed": "0.3 cm"}
    for name, mm, says in (
        ("Let down hem with turn-up", "2.3", ""),
        ("Let down hem with turn-up", "2.4", "No: this turn-up takes 9.3 cm below the finished"),
        ("Let down hem", "2.4", ""),
        ("Let down hem", "90", "9 cm longer is wanted, at most 8.8 cm can be let down."),
    ):
        line = hem(name=name, amount_mm=Decimal(mm), **let_down)
        assert line_too_long(line, ends, "cm").startswith(says), (name, mm)
        assert bool(line_too_long(line, ends, "cm")) is bool(says), (name, mm)


def test_a_garment_remembers_where_its_cloth_ends(owner_client, garment):
    asked = {"garment": "trousers", "layers": "1"} | ENDS[0][0]
    owner_client.post(address(garment, "hem"), asked)
    garment.refresh_from_db()
    assert garment.cloth_ends == {"trousers": {"now": "77 cm", "turned_up": "5 cm"}}
    page = words(owner_client.get(reverse("garment-fit", args=[garment.pk])))
    assert "Where the cloth ends Men's trousers 77 cm long, 5 cm turned up" in page
    empty = owner_client.get(address(garment, "hem")).text
    assert 'value="77 cm"' in empty
    assert 'value="5 cm"' in empty
    hem = {"garment": "trousers", "layers": "1", "finished": "81"}
    assert "Finish at 81 cm, cut at 82 cm." in words(owner_client.get(address(garment, "hem"), hem))
    hem["garment"] = "sleeve"
    assert "cut at 85.4 cm" in words(owner_client.get(address(garment, "hem"), hem))


def test_a_cut_below_the_edge_of_now_is_measured_first(owner_client, garment):
    asked = {"garment": "trousers", "layers": "1", "finished": "75", "now": "77"}
    warned = "measure what is turned up before cutting"
    assert warned in words(owner_client.get(address(garment, "hem"), asked))
    enough = asked | {"depth": "2"}
    assert warned not in words(owner_client.get(address(garment, "hem"), enough))


@pytest.mark.parametrize(
    ("kind", "typed", "says"),
    [
        ("circle", {"turned_up": "1", "depth": "2"}, "1 cm of cloth is there below the hem"),
        ("circle", {"turned_up": "1", "depth": "2.1", "shorten": "1"}, "2 cm of cloth is there"),
        ("flare", {"there": "4"}, "4 cm of cloth is there below it, no more"),
    ],
)
def test_a_shaped_hem_is_no_deeper_than_the_cloth(owner_client, garment, kind, typed, says):
    asked = ASKED[kind][0] | typed
    assert says in words(owner_client.get(address(garment, kind), asked))


def test_curtains_are_asked_as_curtains_and_nothing_else_is(owner_client, studio, owner):
    """What was measured at the window is filled in, and the drop goes on the line of the hem."""
    garment = received(studio, owner, trousers(hem(), kind_name="Curtains")).garments.get()
    garment.measures = {
        "piece": {"rail_width": "200 cm", "drop": "225 cm"},
        "fits": {"drop": "230"},
    }
    garment.save()
    page = owner_client.get(reverse("garment-fit", args=[garment.pk]))
    kinds = [form.kind for form in page.context["sums"]]
    assert kinds == ["curtain", "hem", "pleats", "gathers", "cloth", "patch"]
    empty = owner_client.get(address(garment, "curtain")).text
    assert 'value="200 cm"' in empty
    assert 'value="230"' in empty
    asked = ASKED["curtain"][0] | {"repeat": "64"}  # 250.54 is four of them: 256
    shown = words(owner_client.get(address(garment, "curtain"), asked))
    assert "3 widths, each cut 256 cm long." in shown
    assert "Save as the amount of: Hem" in shown
    trouser_page = owner_client.get(reverse("garment-fit", args=[GarmentFactory().pk]))
    assert "curtain" not in [form.kind for form in trouser_page.context["sums"]]


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"by": "1"}, "Finish at 61 cm: 9 cm of the vent stays."),
        ({"holes": "on"}, "From the shoulder"),  # 4 cm less 3/4 in: 2.095, and 3 is wanted
        ({"move": "on"}, "Open the vent 3 cm further up, to 10 cm above the new edge."),
        ({"opening": "placket", "high": "12"}, "Finish at 59 cm: 9 cm of the placket stays."),
        ({"opening": "placket", "high": "11"}, "No: at most 2.1 cm before the placket is lost."),
        # 20 to 12 in 40, twice: 3 of 40 of 16 cm is 1.2.
        ({"way": "shoulder", "upper": "20", "lower": "12", "under": "40"}, "1.2 cm narrower there"),
        ({"opening": ""}, "Finish at 59 cm."),
    ],
)
def test_a_sleeve_keeps_its_opening_or_says_what_else_can_be_done(
    owner_client, studio, owner, typed, says
):
    work = [hem(name=f"Shorten sleeves from the {end}") for end in ("cuff", "shoulder")]
    garment = received(studio, owner, trousers(*work, kind_name="Jacket")).garments.get()
    asked = ASKED["sleeve"][0] | {"by": "3"} | typed
    shown = words(owner_client.get(address(garment, "sleeve"), asked))
    assert says in shown
    end = "shoulder" if typed.get("way") else "cuff"
    good = "No: " not in shown
    assert (f"Save as the amount of: Shorten sleeves from the {end}" in shown) is good
