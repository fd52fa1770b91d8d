"""The fit pages of a garment: sums by address, what is kept, and what is agreed on a line."""

import html
import re
from decimal import Decimal

import pytest
from django.urls import reverse

from clients.fit.lengths import parse_length
from jobs.tickets import actions
from jobs.tickets.fit.sums import SUMS
from jobs.tickets.models import FitSum, Line
from tests.drafts import hem, received, take_in, trousers
from tests.factories import GarmentFactory, MeasuredFactory, OperationFactory, SheetFactory
from tests.histories import sentences
from tests.jobs.tickets.fit_pages import (
    ANSWERED,
    ASKED,
    LET_OUT,
    REFUSED,
    address,
    inches,
    named,
    words,
)
from tests.thorough import thinned
from tests.windows import said


@pytest.fixture
def ticket(studio, owner):
    return received(studio, owner, trousers(take_in(), hem()))


@pytest.fixture
def garment(ticket):
    return ticket.garments.get()


def test_every_sum_is_asked_here():
    assert list(ASKED) == [kind for kind in ASKED if kind in SUMS]
    assert set(ASKED) == set(SUMS)


@pytest.mark.parametrize("kind", ASKED)
def test_a_sum_answers_and_draws(owner_client, garment, kind):
    asked, says = ASKED[kind]
    shown = owner_client.get(address(garment, kind), asked)
    assert says in words(shown)
    drawing = re.search(r'<svg class="sketch"[^>]*aria-label="([^"]+)"', shown.text)
    assert len(drawing[1]) > 20
    assert "<polyline" in shown.text
    for name, value in asked.items():
        assert f'name="{name}"' in shown.text
        assert f'value="{value}"' in shown.text


def test_the_drawing_of_a_let_out_is_to_scale_and_names_what_is_missing(owner_client, garment):
    """By hand: 1.6 less 1 kept is 0.6 a ply, four plies give 2.4 of 4: 6 of 16, 24 of 40."""
    asked = {"way": "out", "total": "4", "place": "other", "name1": "Left", "room1": "1.6",
             "keep1": "1", "name2": "Right", "room2": "1.6", "keep2": "1"}  # fmt: skip
    drawing = owner_client.get(address(garment), asked).context["answer"].drawing

    def wide(kind):
        widths = []
        for stroke in drawing.strokes:
            if stroke.kind == kind:
                xs = [int(point.split(",")[0]) for point in stroke.points.split()]
                widths.append(max(xs) - min(xs))
        return widths

    gain, keep, short = wide("gain"), wide("keep"), wide("short")
    assert gain[0] / (gain[0] + keep[0]) == pytest.approx(0.6 / 1.6, abs=0.02)
    assert gain[-1] / (gain[-1] + short[0]) == pytest.approx(2.4 / 4, abs=0.02)
    assert len(wide("end")) == 2
    assert [words for _, words in drawing.key] == [
        "comes free", "stays inside", "missing", "new seam or edge", "as it is now", "cloth ends",
    ]  # fmt: skip


def test_the_cut_off_part_of_a_hem_ends_where_the_cloth_ends(owner_client, garment):
    """113 long, 4 turned up: the cloth ends at 117; cut at 108.5 + 4 = 112.5, so 4.5 is cut off."""
    asked = {"garment": "dress", "floor": "104", "heel": "6", "above": "1.5", "now": "113",
             "turned_up": "4", "depth": "4", "layers": "1"}  # fmt: skip
    drawing = owner_client.get(address(garment, "hem"), asked).context["answer"].drawing

    def rows(kind):
        points = next(s.points for s in drawing.strokes if s.kind == kind).split()
        ys = [int(point.split(",")[1]) for point in points]
        return min(ys), max(ys)

    assert rows("off")[0] == rows("cut")[0]
    assert rows("off")[1] == rows("cloth")[1]
    assert abs(rows("end")[0] - rows("cloth")[1]) <= 3
    kept, off = rows("keep"), rows("off")
    assert (kept[1] - kept[0]) / (off[1] - off[0]) == pytest.approx(4 / 4.5, abs=0.05)


def test_what_the_sheet_knows_is_filled_in_and_answered_at_once(owner_client, garment):
    sheet = SheetFactory(client=garment.ticket.client)
    sheet.values.create(key="waist", mm=Decimal(700), typed="70", unit="cm")
    shown = owner_client.get(address(garment, "waist"))
    assert shown.context["form"]["waist"].value() == "70 cm"
    # 70 and 1.6 of ease.
    assert shown.context["answer"].says.startswith("Finished waist 71.6 cm")
    assert "errorlist" not in shown.text


@pytest.mark.parametrize("kind", ASKED)
def test_an_empty_sum_says_what_is_missing_and_no_more(owner_client, garment, kind):
    assert "errorlist" not in owner_client.get(address(garment, kind)).text
    shown = owner_client.get(address(garment, kind), {"step": "10 cm", "shorter": "10"})
    assert "errorlist" in shown.text
    assert 'id="answer"' not in shown.text


@pytest.mark.parametrize("kind", ASKED)
@pytest.mark.parametrize("role", thinned(["owner", "helper"], {"helper"}.__contains__))
def test_a_sum_is_kept_once_and_opens_again(request, garment, kind, role):
    client = request.getfixturevalue(f"{role}_client")
    asked, says = ASKED[kind]
    for _ in range(2):
        after = client.post(address(garment, kind), asked, follow=True)
    kept = FitSum.objects.get()
    assert kept.kind == kind
    assert says in kept.answer["says"]
    assert asked.items() <= kept.asked.items()
    assert says in words(after)
    again = re.search(rf'href="({re.escape(address(garment, kind))}\?[^"]+)"', after.text)
    assert says in words(client.get(html.unescape(again[1])))
    assert says in words(client.get(f"/t/{garment.ticket.number}/"))


def test_every_answer_works_in_inches(owner_client, studio, garment):
    inches(studio)
    for kind, (asked, _) in ASKED.items():
        shown = owner_client.get(address(garment, kind), asked)
        assert 'id="answer"' in shown.text, kind
        assert " cm" not in shown.text.partition('class="figures"')[2].partition("</dl>")[0], kind


def test_cloth_is_sold_in_eighths_of_a_yard_where_inches_are_used(owner_client, studio, garment):
    inches(studio)
    asked = {"amount": "2", "width": "60", "other": "44", "step": "1/8 yd"}
    shown = words(owner_client.get(address(garment, "cloth"), asked))
    # Fabric-width chart (seen, 2nd): 2 yd of 60 in are 2 3/4 of 44 in; a large difference adds 1/4.
    assert "Buy 2 3/4 yd." in shown
    assert "the next larger row" not in shown
    shown = words(owner_client.get(address(garment, "cloth"), asked | {"far_apart": "on"}))
    assert "Buy 3 yd." in shown
    assert "Widths far apart + 1/4 yd" in shown


@pytest.mark.parametrize(
    ("unit", "figures", "hints"),
    [
        # By hand: 70 + 1.6 + 3 + 3 = 77.6; 0.9 x 70 + 2 = 65.
        ("cm", ["71.6 cm", "77.6 cm", "65 cm"], ["Empty: 3 cm.", "Empty: 1.5 cm."]),
        # 28 + 5/8 + 1 1/4 + 2 x 5/8 = 31 1/8 in; 0.9 x 28 + 3/4 = 25.95, a sixteenth: 25 15/16.
        ("in", ["28 5/8 in", "31 1/8 in", "25 15/16 in"], ["Empty: 1 1/4 in.", "Empty: 5/8 in."]),
    ],
)
def test_what_is_usual_is_a_round_figure_of_the_studio(
    owner_client, studio, garment, unit, figures, hints
):
    if unit == "in":
        inches(studio)
    asked = {"waist": "28" if unit == "in" else "70", "shorter": "10"}
    elastic = owner_client.get(address(garment, "waist"), asked | {"way": "elastic"})
    shown = owner_client.get(address(garment, "waist"), asked)
    told = [*shown.context["answer"].figures, elastic.context["answer"].figures[0]]
    assert [value for _, value in told] == figures
    assert all(hint in words(shown) for hint in hints)
    # A circle skirt by hand: (28 + 2 x 2 x 5/8) / 2 pi - 5/8 = 4.229, so 4 1/4 in.
    skirt = {"share": "1", "waist": "28", "skirt_length": "20", "seams": "2", "width": "60"}
    if unit == "in":
        says = owner_client.get(address(garment, "skirt"), skirt).context["answer"].says
        assert says.startswith("Cut the waist at 4 1/4 in")


# By the chart in yards, row by row: 4 m are 4.37 yd; 4 1/2 of 36 in, so 3 3/8 of 45 in = 308.6 cm.
CLOTH = [
    ({"amount": "4 m", "width": "90", "other": "115"}, "Buy 3.1 m.", "the next larger row"),
    ({"amount": "4 m", "width": "150", "other": "150"}, "Buy 4 m.", "The widths are alike"),
    ({"amount": "400", "width": "150", "other": "150"}, "Buy 400 cm.", "The widths are alike"),
    ({"amount": "2 yd", "width": "60 in", "other": "45 in"}, "Buy 2 3/4 yd.", "By the"),
    ({"amount": "2 yd", "width": "60 in", "other": "83 in"}, "Buy 1 1/2 yd.", "by the area"),
    # 2 yd of 60 in: 2 3/4 at 45 in, 2 3/8 at 50 in; 120 cm are 47.24 in: 2.582 yd, so 2 5/8.
    ({"amount": "2 yd", "width": "60 in", "other": "120"}, "Buy 2 5/8 yd.", "Interpolated between"),
    ({"amount": "2 yd", "width": "60 in", "other": "54 in", "step": "10 cm"}, "Buy 2 3/8 yd.", ""),
]


@pytest.mark.parametrize(("asked", "buy", "why"), CLOTH)
def test_cloth_is_answered_in_the_unit_it_was_asked_in(owner_client, garment, asked, buy, why):
    answer = owner_client.get(address(garment, "cloth"), asked).context["answer"]
    assert answer.says == buy
    assert why in answer.why
    assert ("next larger" in answer.why) is ("next larger" in why)
    shown = [value.removeprefix("+ ") for _, value in answer.figures[:-1]]
    unit = buy.split()[-1].rstrip(".")
    amounts = [parse_length(value, "cm").mm for value in shown if value.endswith(unit)]
    assert len(amounts) == len(shown)
    assert sum(amounts[:-1]) == amounts[-1]


@pytest.mark.parametrize("now", ["106", "106.4", "107", "112", "104"])
def test_what_is_written_in_the_drawing_of_a_hem_does_not_overlap(owner_client, garment, now):
    """On one side the words stand a line of 14 units apart; those of the other side are short."""
    typed = {"garment": "dress", "finished": "104", "now": now, "depth": "2.4", "layers": "1"}
    labels = owner_client.get(address(garment, "hem"), typed).context["answer"].drawing.labels
    sides = {label.words.split()[0]: (label.anchor, label.y) for label in labels}
    assert [sides[word][0] for word in ("finished", "now", "cut")] == ["start", "end", "end"]
    assert abs(sides["now"][1] - sides["cut"][1]) >= 14


def test_a_let_out_that_is_refused_says_the_reason_and_the_most(owner_client, garment):
    """5/8 in at two seams, 3/8 in kept: (15.875 - 9.525) x 4 = 25.4 mm."""
    asked = LET_OUT | {"total": "4", "room1": "5/8 in", "keep1": ""}
    shown = owner_client.get(address(garment), asked)
    assert "No: 4 cm is wanted, at most 2.5 cm can be let out." in words(shown)
    assert "Every seam gives all it has beyond what is kept." in words(shown)
    assert "Save as the amount of" not in words(shown)
    instead = re.search(r'href="([^"]+)">Let out 2.5 cm instead', shown.text)
    assert "2.5 cm can be let out." in words(owner_client.get(html.unescape(instead[1])))


def test_parts_as_shown_add_up(owner_client, garment):
    """By hand: 9 cm over 14 plies: 2 x 0.7 + 4 x 0.7 + 8 x 0.6 = 9; 4.5 flat is 2.2 + 2.3."""
    seams = {"name1": "Back", "room1": "3", "name2": "Side", "count2": "2", "room2": "3",
             "name3": "Dart", "count3": "4", "room3": "3"}  # fmt: skip
    asked = {"way": "out", "total": "9", "place": "other"} | seams
    shown = words(owner_client.get(address(garment), asked))
    assert "Back 0.7 cm a ply; 2.3 cm stays" in shown
    assert "Side \N{MULTIPLICATION SIGN} 2 0.7 cm a ply; 2.3 cm stays" in shown
    assert "Dart \N{MULTIPLICATION SIGN} 4 0.6 cm a ply; 2.4 cm stays" in shown
    legs = ASKED["legs"][0] | {"new_hem": "15.5", "instep": ""}
    shown = words(owner_client.get(address(garment, "legs"), legs))
    assert "At the hem 2.2 cm comes off at the inner seam, 2.3 cm at the outer." in shown


@pytest.mark.parametrize("typed", [{"heel": "1 3/4 in"}, {"floor": "31 5/8 in", "depth": "1 in"}])
def test_the_way_to_a_hem_adds_up_as_shown(owner_client, garment, typed):
    """Tenths as they stand on the page: floor + heel - shoe top + break; finished + below = cut."""
    asked = {"garment": "trousers", "floor": "104", "heel": "2", "shoe_break": "quarter",
             "layers": "1"} | typed  # fmt: skip
    answer = owner_client.get(address(garment, "hem"), asked).context["answer"]
    finished, cut = (Decimal(number) for number in re.findall(r"([\d.]+) cm", answer.says))
    floor, heel, top, extra, below = (
        Decimal(number) for number in re.findall(r"([\d.]+) cm", answer.why)
    )
    assert floor + heel - top + extra == finished
    assert finished + below == cut


def test_a_button_sits_where_it_is_wanted(owner_client, garment):
    """By hand: 26 - 2 = 24 cm over two spaces of 12; 50 cm hold four of them: five buttons."""
    asked = ASKED["buttons"][0] | {"at": "26"}
    answer = owner_client.get(address(garment, "buttons"), asked).context["answer"]
    assert answer.says.startswith("Buttons 12 cm apart")
    assert "So that one sits at 26 cm there are 5." in answer.says
    assert [value for name, value in answer.figures if name.startswith("Button ")] == [
        "2 cm", "14 cm", "26 cm", "38 cm", "50 cm",
    ]  # fmt: skip
    assert ("Below the last", "10 cm") in answer.figures


def test_the_cloth_that_is_there_makes_pleats_and_gathers(owner_client, garment):
    """By hand: (144 - 72) / 24 / 2 = 1.5 cm deep; 200 / 80 = 2.5; 137 cm of each width: two."""
    pleats = ASKED["pleats"][0] | {"cloth": "144"}
    shown = words(owner_client.get(address(garment, "pleats"), pleats))
    assert "144 cm of cloth: 24 of 3 cm, folded 1.5 cm deep." in shown
    gathers = ASKED["gathers"][0] | {"cloth": "200"}
    shown = words(owner_client.get(address(garment, "gathers"), gathers))
    assert "Times as full 2.5" in shown
    assert "Widths to sew together 2" in shown
    assert "A quarter of the cloth 50 cm comes to 20 cm" in shown


def test_a_seam_without_anything_to_give_offers_nothing_instead(owner_client, garment):
    shown = owner_client.get(address(garment), LET_OUT | {"room1": "1"})
    assert "at most 0 cm can be let out" in words(shown)
    assert "instead" not in words(shown)


def test_the_cloth_is_noted_and_speaks_in_the_sums(owner_client, garment):
    page = reverse("garment-fit", args=[garment.pk])
    after = owner_client.post(reverse("garment-cloth", args=[garment.pk]), {"cloth": "sheer"})
    assert after["Location"] == page
    garment.refresh_from_db()
    assert garment.cloth == "sheer"
    assert "Cloth Sheer" in words(owner_client.get(f"/t/{garment.ticket.number}/"))
    assert sentences(garment.ticket)[0] == "Cloth of A: Sheer."
    shown = words(owner_client.get(address(garment), LET_OUT))
    assert "Sheer cloth keeps the old stitch holes in sight (trade page)." in shown
    assert "stitch holes" not in words(owner_client.get(address(garment), LET_OUT | {"way": "in"}))


def test_cautions_of_the_place_are_told_in_the_units_of_the_studio(owner_client, garment):
    asked = LET_OUT | {"way": "in", "total": "8.5", "place": "trousers_waist"}
    shown = words(owner_client.get(address(garment), asked))
    for sentence in (
        "Taken in over 7.6 cm the back", "stop at about 5.1 cm", "More than one size (4 cm)",
        "More than two sizes too big",
    ):  # fmt: skip
        assert sentence in shown
    before = words(owner_client.get(address(garment), LET_OUT | {"before1": "on"}))
    assert "let out before may be worn" in before


def line_of(garment, name="Take in sides") -> Line:
    return garment.lines.get(name=name)


def test_an_amount_is_put_on_the_line_and_agreed_anew(owner_client, studio, owner):
    both = trousers(take_in(), take_in(name="Take in waist"), hem())
    garment = received(studio, owner, both).garments.get()
    line = line_of(garment)
    typed = LET_OUT | {"line": str(line.pk)}
    after = owner_client.post(address(garment), typed, follow=True)
    assert "Agreed on Take in sides: 4 cm can be let out." in said(after)
    line.refresh_from_db()
    assert (line.amount_mm, line.amount_typed) == (Decimal(40), "4 cm")
    assert line.pinned == "let out 4 cm, total"
    ticket = garment.ticket
    ticket.refresh_from_db()
    assert ticket.version == 2
    agreed = ticket.agreements.get(version=2)
    assert agreed.reason == "4 cm can be let out"
    assert "let out 4 cm, total" in agreed.delta
    kept = FitSum.objects.get()
    assert (kept.line, kept.applied_at is not None) == (line, True)
    owner_client.post(address(garment), typed)
    ticket.refresh_from_db()
    assert (ticket.version, FitSum.objects.count()) == (2, 1)
    other = LET_OUT | {"line": str(line_of(garment, "Take in waist").pk)}
    owner_client.post(address(garment), other)
    assert FitSum.objects.count() == 2


@pytest.mark.parametrize(
    ("kind", "asked", "pinned"),
    [
        ("alter", LET_OUT | {"way": "in"}, "take off 4 cm, total"),
        ("hem", ASKED["hem"][0], "finished 81 cm, each leg"),
        ("hem", ASKED["hem"][0] | {"now": "85.5"}, "take off 4.5 cm, each leg"),
        ("hem", ASKED["hem"][0] | {"now": "79", "turned_up": "5"}, "let out 2 cm, each leg"),
        (
            "hem",
            {"garment": "sleeve", "now": "62", "finished": "60", "layers": "1"},
            "take off 2 cm, each sleeve",
        ),
        ("hem", {"garment": "dress", "finished": "95", "layers": "1"}, "finished 95 cm, total"),
        ("circle", ASKED["circle"][0] | {"shorten": "5 cm"}, "take off 5 cm, total"),
        ("legs", ASKED["legs"][0], "finished 32 cm, each leg"),
        ("waist", ASKED["waist"][0], "finished 71.5 cm, total"),
    ],
)
def test_what_each_sum_puts_on_a_line(owner_client, studio, owner, kind, asked, pinned):
    garment = received(studio, owner, trousers(*map(named, ANSWERED.values()))).garments.get()
    about = "sleeve" if asked.get("garment") == "sleeve" else kind
    line = line_of(garment, ANSWERED[about])
    owner_client.post(address(garment, kind), asked | {"line": str(line.pk)})
    line.refresh_from_db()
    assert line.pinned == pinned


def test_published_scales_of_ease_that_disagree_are_all_told(owner_client, garment):
    # 1/2 to 3/4 in (Central Washington University, ch. 16), and 1 in in an encyclopaedia.
    page = words(owner_client.get(address(garment, "waist"), ASKED["waist"][0]))
    assert "Wearing ease at the waist of trousers: 1.3 cm to 1.9 cm" in page
    assert "Wearing ease at the waist of any garment: 2.5 cm" in page


@pytest.mark.parametrize(
    "kind",
    [
        "cloth",
        "patch",
        "skirt",
        "flare",
        "buttons",
        "pleats",
        "gathers",
        "curtain",
        "zip",
        "bustle",
    ],
)
def test_some_sums_give_no_amount(owner_client, garment, kind):
    line = line_of(garment, "Hem")
    asked = ASKED[kind][0]
    assert "Save as the amount of" not in words(owner_client.get(address(garment, kind), asked))
    typed = asked | {"line": str(line.pk)}
    after = owner_client.post(address(garment, kind), typed, follow=True)
    assert "This sum gives no amount for a line." in words(after)
    line.refresh_from_db()
    assert line.pinned == "take off 4.5 cm, total"


@pytest.mark.parametrize(("asks", "offered"), [(True, True), (False, False)])
def test_only_work_that_asks_how_far_is_offered(owner_client, studio, owner, asks, offered):
    work = OperationFactory(name="Work")
    bare = {"amount_mm": None, "amount_typed": "", "basis": "", "measure": ""}
    line = hem(name="Work", operation_id=work.pk, work_order=10, **bare)
    garment = received(studio, owner, trousers(take_in(), line)).garments.get()
    work.takes_amount = asks
    work.save()
    shown = words(owner_client.get(address(garment), LET_OUT))
    assert "Save as the amount of: Take in sides" in shown
    assert ("Save as the amount of: Work" in shown) is offered


def test_done_work_is_not_agreed_anew(owner_client, studio, owner):
    both = trousers(take_in(), take_in(name="Take in waist"))
    garment = received(studio, owner, both).garments.get()
    line = line_of(garment)
    actions.tick(line=line, by=owner)
    shown = words(owner_client.get(address(garment), LET_OUT))
    assert "Save as the amount of: Take in waist" in shown
    assert "Save as the amount of: Take in sides" not in shown
    typed = LET_OUT | {"line": str(line.pk)}
    after = owner_client.post(address(garment), typed, follow=True)
    assert "This work is done or no longer on the garment." in words(after)
    assert garment.ticket.agreements.count() == 1


def test_a_hem_keeps_its_edge_and_its_layers(owner_client, garment):
    """Minutes by size are learnt from them: W + t L = 449 cm, twice 32 cm, and what was typed."""
    owner_client.post(address(garment, "circle"), ASKED["circle"][0])
    owner_client.post(address(garment, "flare"), ASKED["flare"][0])
    owner_client.post(address(garment, "hem"), ASKED["hem"][0] | {"edge": "42.5", "layers": "3"})
    kept = {fit_sum.kind: (fit_sum.edge_mm, fit_sum.layers) for fit_sum in FitSum.objects.all()}
    assert kept["flare"] == (Decimal(640), 1)
    assert kept["hem"] == (Decimal(425), 3)
    assert round(kept["circle"][0], 1) == Decimal("4489.9")
    assert kept["circle"][1] == 2


@pytest.mark.parametrize(("kind", "wrong", "field", "says"), REFUSED)
@pytest.mark.parametrize("method", ["get", "post"])
def test_bad_input_is_told_at_its_field_and_nothing_typed_is_lost(
    owner_client, garment, kind, wrong, field, says, method
):
    asked = ASKED[kind][0] | wrong
    shown = getattr(owner_client, method)(address(garment, kind), asked)
    at = shown.text.partition(f'id="id_{field}_said"')[2].partition("</div>")[0]
    assert says in html.unescape(at)
    for name, value in asked.items():
        if value:
            assert f'value="{html.escape(value)}"' in shown.text, name
    assert not FitSum.objects.exists()


def test_two_refusals_name_what_would_be_possible(owner_client, garment):
    """By hand: 5 cm turned up less 6.35 mm is 4.3 cm; an instep of 33 cm is 16.5 cm flat."""
    hem_asked = ASKED["hem"][0] | {"now": "75", "turned_up": "5"}
    shown = words(owner_client.get(address(garment, "hem"), hem_asked))
    assert "No: 6 cm longer is wanted, at most 4.3 cm can be let down." in shown
    assert "Finish at 79.3 cm instead" in shown
    legs_asked = ASKED["legs"][0] | {"instep": "33"}
    shown = words(owner_client.get(address(garment, "legs"), legs_asked))
    assert "The hem has to be 16.5 cm wide or wider" in shown
    assert "Make it 16.5 cm instead" in shown


def test_a_piece_wider_than_the_cloth_is_refused(owner_client, garment):
    asked = ASKED["cloth"][0] | {"widest": "55 in"}
    shown = words(owner_client.get(address(garment, "cloth"), asked))
    assert "No: the widest piece, 139.7 cm, does not fit across 137.1 cm." in shown


def test_what_is_known_of_the_garment_is_in_the_hem_form(owner_client, studio, owner):
    facts = {"heel_mm": Decimal(75), "heel_typed": "7.5 cm", "worn": "new"}
    garment = received(studio, owner, trousers(**facts)).garments.get()
    garment.cloth = "denim"
    garment.save()
    assert 'value="7.5 cm"' in owner_client.get(address(garment, "hem")).text
    shown = words(owner_client.get(address(garment, "hem"), ASKED["hem"][0]))
    assert "Wash new denim before it is hemmed (trade page)." in shown


def test_there_is_no_other_sum(owner_client, garment):
    assert owner_client.get(address(garment, "sails")).status_code == 404


def test_a_closed_ticket_can_be_reckoned_but_not_changed(owner_client, garment, owner):
    actions.cancel(ticket=garment.ticket, why="Not needed", by=owner)
    shown = words(owner_client.get(address(garment), LET_OUT))
    assert "4 cm can be let out." in shown
    assert "Save as the amount of" not in shown
    noted = reverse("garment-cloth", args=[garment.pk])
    after = owner_client.post(noted, {"cloth": "knit"}, follow=True)
    assert "This garment is no longer in work." in words(after)


@pytest.mark.parametrize("count", [1, 3])
def test_the_garments_page_asks_the_database_the_same_for_any_number_of_sums(
    owner_client, garment, owner, django_assert_num_queries, count
):
    for row in range(count):
        owner_client.post(address(garment), LET_OUT | {"total": str(row + 1)})
    with django_assert_num_queries(8):
        shown = owner_client.get(reverse("garment-fit", args=[garment.pk]))
    assert shown.text.count("Open again") == count


@pytest.mark.parametrize("count", [1, 3])
def test_a_sum_asks_the_database_the_same_for_any_number_of_lines(
    owner_client, studio, owner, django_assert_num_queries, count
):
    many = received(
        studio, owner, trousers(*[take_in(name=f"Take in {row}") for row in range(count)])
    )
    with django_assert_num_queries(7):
        shown = owner_client.get(address(many.garments.get()), LET_OUT)
    assert shown.text.count("Save as the amount of") == count


def test_a_garment_off_the_ticket_has_no_page(owner_client, studio):
    gone = GarmentFactory(removed_at="2026-01-01T00:00Z")
    assert owner_client.get(reverse("garment-fit", args=[gone.pk])).status_code == 404


@pytest.fixture
def finished(studio, owner):
    """Trousers of a client with an inside leg of 78 cm, agreed to be finished at 77."""
    sheet = SheetFactory()
    MeasuredFactory(sheet=sheet, key="inseam", mm=Decimal(780), typed="78 cm")
    agreed = hem(amount_mm=Decimal(770), amount_typed="77 cm", basis="leg", measure="finished")
    return received(studio, owner, trousers(agreed), client=sheet.client).garments.get()


def test_a_hem_starts_from_what_the_ticket_says_and_says_what_changes(owner_client, finished):
    opened = owner_client.get(address(finished, "hem"))
    assert 'name="finished" value="77 cm"' in opened.text
    assert "finished 77 cm, each leg: as agreed" in words(opened)
    asked = {"garment": "trousers", "finished": "75", "layers": "1"}
    assert "finished 77 cm becomes 75 cm, each leg" in words(
        owner_client.get(address(finished, "hem"), asked)
    )
    asked |= {"now": "82"}
    assert "finished 77 cm becomes take off 7 cm, each leg" in words(
        owner_client.get(address(finished, "hem"), asked)
    )


def test_what_was_taken_off_stands_there_where_the_length_now_is_known(owner_client, studio, owner):
    garment = received(studio, owner, trousers(hem())).garments.get()
    assert 'name="by" value=' not in owner_client.get(address(garment, "hem")).text
    garment.cloth_ends = {"womens_trousers": {"now": "82 cm"}}
    garment.save()
    opened = owner_client.get(address(garment, "hem"))
    assert 'name="by" value="4.5 cm"' in opened.text
    assert "Finish at 77.5 cm" in words(opened)  # 82 - 4.5


def test_undo_of_an_agreed_sum_stands_in_its_notice(owner_client, finished):
    line = line_of(finished, "Hem")
    asked = {"garment": "trousers", "finished": "75", "layers": "1"}
    after = owner_client.post(address(finished, "hem"), asked | {"line": str(line.pk)}, follow=True)
    line.refresh_from_db()
    assert line.pinned == "finished 75 cm, each leg"
    undo = re.search(rf'action="(/t/{finished.ticket.number}/undo/)[^"]*"', after.text)
    fields = dict(
        re.findall(r'<input type="hidden" name="(entry|back)" value="([^"]+)"', after.text)
    )
    owner_client.post(undo[1], fields)
    line.refresh_from_db()
    assert line.pinned == "finished 77 cm, each leg"


def test_an_unlikely_sum_is_asked_before_it_is_agreed(owner_client, finished):
    """Of 924 cm to the floor, 1 cm above it: 923."""
    line = line_of(finished, "Hem")
    asked = {"garment": "trousers", "floor": "924", "above": "1", "layers": "1"}
    question = "The trousers finished at 923 cm whose inside leg is 78 cm: did you mean"
    shown = owner_client.get(address(finished, "hem"), asked)
    assert question in words(shown)
    assert "It is right: save as the amount of: Hem" in words(shown)
    answered = owner_client.post(address(finished, "hem"), asked | {"line": str(line.pk)})
    assert question in words(answered)
    line.refresh_from_db()
    assert line.pinned == "finished 77 cm, each leg"
    sure = {"line": str(line.pk), "sure": "finished 923 cm, each leg"}
    owner_client.post(address(finished, "hem"), asked | sure)
    line.refresh_from_db()
    assert line.pinned == "finished 923 cm, each leg"
