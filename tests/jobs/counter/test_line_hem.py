"""Where to cut, within the line of the drop-off. Sums by hand; depths as published.

A hem of women's trousers is 5/8 to 1 1/4 in deep (American Sewing Guild): in the middle 15/16 in,
2.38 cm. That of a dress is 1 1/2 to 2 in: 1 3/4 in, 4.445 cm.
"""

import re
from decimal import Decimal

import pytest

from jobs.tickets.models import Garment, Line
from tests import factories
from tests.jobs.counter.html_form import Counter
from tests.jobs.tickets.fit_pages import inches, words


def work(kind="Trousers", name="Hem", **facts):
    made = factories.GarmentKindFactory(name=kind)
    return factories.OperationFactory(
        garment_kind=made, name=name, takes_amount=True, work_order=40, **facts
    )


@pytest.fixture
def hem(studio):
    return work(usual_basis="leg", usual_measure="take_off")


def opened(owner_client, hem, client=None):
    client = client or factories.ClientFactory()
    page = Counter(owner_client, f"/drop-off/?client={client.pk}")
    return page.press(f"add-garment:{hem.garment_kind_id}").press(f"add-line:0:{hem.pk}")


def asked(owner_client, hem, **typed):
    sent = {"row": "g0-l0", "g0-l0-operation": hem.pk, "g0-l0-measure": "take_off"}
    sent["client"] = typed.pop("client", "")
    sent |= {f"g0-l0-{name}": value for name, value in typed.items()}
    return owner_client.get("/drop-off/hem/", sent)


def test_the_line_says_where_to_cut_and_the_garment_remembers_its_edge(owner_client, hem):
    page = opened(owner_client, hem).type(g0_l0_amount="4", g0_l0_now="82", g0_l0_turned_up="5")
    page.press("enter")
    assert "Finish at 78 cm, cut at 80.4 cm." in page.text
    assert "cloth ends 87 cm" in page.text
    page.press("save")
    assert Line.objects.get().pinned == "take off 4 cm, each leg"
    garment = Garment.objects.get()
    assert garment.cloth_ends == {"womens_trousers": {"now": "82 cm", "turned_up": "5 cm"}}
    # A change that says nothing of it leaves it, and its picture starts from it.
    change = Counter(owner_client, f"/t/{garment.ticket.number}/change/")
    assert "Finish at 78 cm, cut at 80.4 cm." in change.text
    change.type(g0_l0_note="blue").press("save")
    garment.refresh_from_db()
    assert garment.cloth_ends["womens_trousers"]["now"] == "82 cm"


def test_numbers_that_are_being_typed_are_drawn_and_nothing_is_kept(owner_client, hem):
    assert "Finish at 78 cm, cut at 80.4 cm." in asked(owner_client, hem, amount="4", now="82").text
    assert (
        "No: "
        in asked(owner_client, hem, amount="4", now="82", turned_up="0", measure="let_out").text
    )
    for half_typed in ({}, {"amount": "4 c"}, {"amount": "-"}):
        assert "Write how far" in asked(owner_client, hem, **half_typed).text
    too_much = asked(owner_client, hem, amount="99", now="82").text
    assert "It is not as long as that." in too_much
    assert not Garment.objects.exists()


def test_without_the_length_now_it_is_told_from_the_edge(owner_client, hem):
    """4 taken off, 2.38 turned up: the cut lies 1.62 above the edge of now; with 1, 1.38 below."""
    assert "Cut 1.6 cm above the edge of now." in asked(owner_client, hem, amount="4").text
    assert "Cut 1.4 cm below the edge of now." in asked(owner_client, hem, amount="1").text


def test_in_inches(owner_client, studio, hem):
    inches(studio)
    # 32 1/4 - 1 1/2 = 30 3/4, and 15/16 more.
    said = asked(owner_client, hem, amount="1 1/2", now="32 1/4").text
    assert "Finish at 30 3/4 in, cut at 31 11/16 in." in said
    # 1/2 in more in 4 is 3/16 more in 1 1/2, 3/8 round: as much as is eased in; a sixteenth is not.
    chinos = work("Chinos", "Hem, original edge kept")
    kept = {"amount": "1 1/2", "now": "32 1/4", "edge_flat": "7"}
    for above, says in (
        ("7 1/2", "There the leg is 3/8 in wider round than its own edge: ease it in."),
        ("7 9/16", "Take the leg in 1/8 in at each seam, tapering up: there the leg is 7/16 in"),
    ):
        said = asked(owner_client, chinos, **kept, above_flat=above)
        assert "Cut at 30 1/2 in and at 31 1/4 in: 3/4 in comes out." in said.text
        assert says in said.text


@pytest.mark.parametrize(
    ("kind", "name", "now", "says"),
    [
        ("Jeans", "Hem", "82", "Finish at 78 cm, cut at 80.2 cm."),  # 3/4 to 1 in: 7/8 in
        ("Dress", "Hem", "110", "Finish at 106 cm, cut at 110.4 cm."),
        ("Wedding or evening dress", "Hem", "150", "Finish at 146 cm, cut at 147 cm."),  # 3/8 in
        ("Curtains", "Hem, one width", "220", "Finish at 216 cm, cut at 233.8 cm."),  # 7 in
        ("Jacket", "Shorten sleeves from the cuff", "62", "Finish at 58 cm, cut at 62.4 cm."),
    ],
)
def test_the_kind_of_garment_decides_the_sum_and_the_outline(
    owner_client, studio, kind, name, now, says
):
    said = asked(owner_client, work(kind, name), amount="4", now=now)
    assert says in said.text
    # Once on each leg or curtain, and once where the lower end is drawn larger.
    assert len(re.findall('class="new"', said.text)) == (3 if kind in {"Jeans", "Curtains"} else 2)


# By hand. A turn-up takes twice its height and 3/4 in (1.905 cm); a lining ends 2 cm shorter and
# turns 1 in; an original hem, 1.5 cm high, takes a seam of 3/8 in (0.9525 cm) on either side:
# common practice.
PARTS = [
    ("Hem with turn-up", {"now": "82"}, "Finish at 78 cm, cut at 87.9 cm."),  # 78 + 8 + 1.905
    ("Hem with turn-up", {"now": "82", "turn_up": "3"}, "twice 3 cm and 1.9 cm inside"),
    (
        "Hem with turn-up",
        {"now": "82", "turned_up": "5"},
        "takes 9.3 cm below the finished edge, 9 cm",
    ),
    ("Hem, lined", {"now": "82"}, "Lining: finish at 76 cm, cut at 78.5 cm."),
    ("Hem, lined", {"now": "82", "shorter": "3"}, "Lining: finish at 75 cm, cut at 77.5 cm."),
    ("Hem, lined", {"now": "82", "shorter": "78"}, "between the top and the finished edge"),
    ("Hem, original edge kept", {"now": "82"}, "Cut at 77.5 cm and at 79.5 cm: 2 cm comes out."),
    ("Hem, original edge kept", {"now": "82", "band": "2"}, "The seam lies at 76 cm"),
    ("Hem, original edge kept", {}, "Cut 4.5 cm and 2.5 cm above the edge of now: 2 cm comes out."),
    ("Hem, original edge kept", {"now": "82", "amount": "1.5"}, "Fold a tuck, sewn at 79 cm."),
    ("Hem, original edge kept", {"now": "82", "measure": "let_out"}, "where it gets shorter"),
    ("Hem, original edge kept", {"measure": "finished"}, "Write how long it is now"),
]


# By similar triangles: 1 cm more in 10 is 0.4 more in the 4 taken off, 0.8 round. Up to 3/8 in is
# eased (common practice), over 3 cm is not taken in below the knee alone (trade page).
PARTS += [
    ("Hem, original edge kept", {"now": "82", "edge_flat": edge, "above_flat": above}, says)
    for edge, above, says in (
        ("18", "18", "1 cm of each side goes into it."),
        ("18", "19", "There the leg is 0.8 cm wider round than its own edge: ease it in."),
        ("18", "20", "Take the leg in 0.4 cm at each seam, tapering up: there the leg is 1.6 cm"),
        ("20", "18", "Take its own edge in 0.4 cm at each seam: its own edge is 1.6 cm wider"),
        ("18", "22", "No: there the leg is 3.2 cm wider round than its own edge."),
        ("22", "18", "No: its own edge is 3.2 cm wider round than the leg there."),
        ("18", "", "Where they meet both have to be as wide."),
    )
]


@pytest.mark.parametrize(("name", "typed", "says"), PARTS)
def test_a_turn_up_a_lining_and_an_original_edge_are_in_the_line(
    owner_client, studio, name, typed, says
):
    assert says in asked(owner_client, work(name=name), **{"amount": "4"} | typed).text


def test_an_edge_that_is_taken_in_has_to_let_the_foot_pass(owner_client, studio):
    """Of 20 cm flat 1.6 goes, 38.4 stays round; the foot needs its instep (New Mexico C-209)."""
    work_, typed = work(name="Hem, original edge kept"), {"amount": "4", "now": "82"}
    for instep, passes in (("38.4", True), ("38.5", False)):
        sheet = factories.SheetFactory()
        facts = {"key": "instep", "mm": Decimal(instep) * 10, "typed": instep}
        factories.MeasuredFactory(sheet=sheet, **facts)
        widths = {"client": sheet.client.pk, "edge_flat": "20", "above_flat": "18"}
        said = asked(owner_client, work_, **typed | widths).text
        assert (
            "No: the foot does not pass: 38.4 cm round, the heel and instep 38.5 cm." in said
        ) is not passes


def test_what_was_said_of_a_turn_up_stays_with_the_garment(owner_client, studio):
    page = opened(owner_client, work(name="Hem with turn-up", usual_basis="leg"))
    assert 'placeholder="4"' in page.text
    page.type(g0_l0_amount="4", g0_l0_measure="take_off", g0_l0_now="82", g0_l0_turn_up="3")
    page.press("save")
    ends = Garment.objects.get().cloth_ends["womens_trousers"]
    assert ends == {"now": "82 cm", "turn_up": "3 cm"}


def test_the_outline_is_to_scale(owner_client, hem):
    """Of 82 cm below the crotch 26 are above it: lines lie as their lengths do, to half a unit."""
    said = asked(owner_client, hem, amount="20", now="82").text
    height = int(re.search(r'viewBox="0 0 \d+ (\d+)"', said)[1]) - 48
    at = {
        kind: int(re.search(rf'class="{kind}" points="\d+,(\d+)', said)[1]) - 24
        for kind in ("new", "cut", "now")
    }
    assert at["now"] == height
    assert at["new"] == pytest.approx(height * (62 + 26) / (82 + 26), abs=0.6)
    assert at["cut"] == pytest.approx(height * (64.38 + 26) / (82 + 26), abs=0.6)


def test_the_lower_end_is_drawn_larger_to_one_scale(owner_client, studio):
    """A sleeve as an outline has 22 cm above and 14 below on 62; 4 are taken off, 4.4 turned up."""
    said = asked(
        owner_client, work("Jacket", "Shorten sleeves from the cuff"), amount="4", now="62"
    )
    lines = {kind: [
        [tuple(map(int, point.split(","))) for point in points.split()]
        for points in re.findall(rf'class="{kind}" points="([^"]+)"', said.text)
    ] for kind in ("new", "now", "cut")}  # fmt: skip
    (new, large), (now, large_now), (_, large_cut) = lines["new"], lines["now"], lines["cut"]
    times = (large_now[0][1] - large[0][1]) / (now[0][1] - new[0][1])
    assert times > 4
    # 4 to the edge of now, 4.445 to the cut; what the edge narrows over 4 is 8 of 62, half a side.
    down = large_now[0][1] - large[0][1]
    assert large_cut[0][1] - large[0][1] == pytest.approx(down * 4.445 / 4, abs=1)
    assert large[1][0] - large_now[1][0] == pytest.approx(down / 4 * (4 * 4 / 62), abs=1)
    # Nothing of it lies on the outline.
    assert large[0][0] > new[1][0]


def test_the_picture_is_as_long_as_the_sheet_says(owner_client, hem):
    sheet = factories.SheetFactory()
    factories.MeasuredFactory(sheet=sheet, key="inseam", mm=Decimal(600), typed="60")
    page = opened(owner_client, hem, sheet.client).type(g0_l0_amount="20").press("enter")
    height = int(re.search(r'class="sketch"[^>]*viewBox="0 0 \d+ (\d+)"', page.text)[1]) - 48
    new = int(re.search(r'class="new" points="\d+,(\d+)', page.text)[1]) - 24
    assert new == pytest.approx(height * (40 + 26) / (60 + 26), abs=0.6)


def test_work_that_is_no_hem_has_no_such_part(owner_client, studio):
    page = opened(owner_client, work("Trousers", "Take in waist"))
    assert "Where to cut" not in page.text
    assert "Write how far" not in words(page.response)


def test_what_cannot_be_read_is_said_beside_it(owner_client, hem):
    page = opened(owner_client, hem).type(g0_l0_now="long").press("save")
    assert 'href="#id_g0-l0-now"' in page.text
    assert not Garment.objects.exists()


@pytest.mark.parametrize(
    ("kind", "offered"),
    [
        ("Curtains", {"total", "each"}),
        ("Trousers", {"total", "each", "leg"}),
        ("Jacket", {"total", "each", "arm"}),
        ("Wedding or evening dress", {"total", "each", "arm"}),
        ("Jumpsuit", {"total", "each", "leg", "arm"}),
        ("Something of nobody's list", {"total", "each", "leg", "arm"}),
    ],
)
def test_only_what_such_a_garment_has_is_offered(owner_client, studio, kind, offered):
    page = opened(owner_client, work(kind))
    assert page.form.chips["g0-l0-basis"] - {""} == offered
    page.type(g0_l0_amount="", g0_l0_measure_later="on").press("save")
    later = owner_client.get(f"/lines/{Line.objects.get().pk}/measure/").text
    assert set(re.findall(r'name="basis" value="(\w+)"', later)) == offered
