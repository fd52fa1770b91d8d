"""The garment sheet: a piece laid flat beside one that fits; what differs is what is to be done.

By hand: laid flat a width is half of the way round, so 1 cm of difference is 2 cm in total.
"""

from decimal import Decimal

import pytest
from django.urls import reverse

from clients.fit.handbook import table
from clients.fit.pieces import PIECES, change_of, pieces_of
from clients.models import OwnMeasure
from clients.sheets.queries import all_measures, named_pieces
from jobs.tickets import actions
from studio.shop.look.garments import PLACES
from tests.drafts import hem, received, take_in, trousers
from tests.factories import OwnMeasureFactory
from tests.histories import sentences
from tests.jobs.tickets.fit_pages import address, inches, words
from tests.windows import said

WAIST = {"name": "Take in waist", "work_order": 10}


@pytest.fixture
def garment(studio, owner):
    lines = [take_in(**WAIST), hem()]
    return received(studio, owner, trousers(*lines)).garments.get()


def page_of(garment):
    return reverse("garment-sheet", args=[garment.pk])


def flat(here, fits):
    typed = {f"piece-{key}": text for key, text in here.items()}
    return typed | {f"fits-{key}": text for key, text in fits.items()}


def differences(response):
    rows = response.context["rows"]
    return {row.key: row.difference.says for row in rows if row.difference}


CHANGES = [
    ("waist_flat", "42 cm", "41 cm", "take off 2 cm, total"),
    ("waist_flat", "40.5 cm", "42 cm", "let out 3 cm, total"),
    ("inside_leg", "82", "78", "take off 4 cm, each leg"),
    ("leg_opening", "22", "20", "take off 4 cm, each leg"),
]
SIXTEENTHS = [("waist_flat", "16 1/2", "16 3/16", "take off 5/8 in, total")]


@pytest.mark.parametrize("unit", ["cm", "in"])
def test_the_difference_is_what_is_to_be_done(owner_client, studio, garment, unit):
    if unit == "in":
        inches(studio)
    for key, here, fits, says in SIXTEENTHS if unit == "in" else CHANGES:
        owner_client.post(page_of(garment), flat({key: here}, {key: fits}))
        assert differences(owner_client.get(page_of(garment))) == {key: says}


@pytest.mark.postgres
def test_a_difference_fills_the_line_that_it_answers_and_no_other(owner_client, garment):
    typed = flat({"waist_flat": "42", "inside_leg": "82"}, {"waist_flat": "41", "inside_leg": "78"})
    page = owner_client.post(page_of(garment), typed, follow=True)
    waist, below = (garment.lines.get(name=name) for name in ("Take in waist", "Hem"))
    buttons = [f"waist_flat:{waist.pk}", f"inside_leg:{below.pk}"]
    assert all(f'value="{button}"' in page.text for button in buttons)
    wrong = owner_client.post(
        page_of(garment), typed | {"put": f"inside_leg:{waist.pk}"}, follow=True
    )
    assert "This difference is no longer there." in words(wrong)
    after = owner_client.post(page_of(garment), typed | {"put": buttons[0]}, follow=True)
    assert "Agreed on Take in waist: take off 2 cm, total." in said(after)
    waist.refresh_from_db()
    below.refresh_from_db()
    assert (waist.pinned, waist.amount_mm) == ("take off 2 cm, total", Decimal(20))
    assert below.pinned == "take off 4.5 cm, total"
    assert garment.ticket.agreements.count() == 2


def test_a_difference_that_is_hard_to_believe_is_asked_once(owner_client, garment):
    """Twice 42 less 14 is 56 cm, more than comes off any waist (common practice)."""
    line = garment.lines.get(name="Take in waist")
    typed = flat({"waist_flat": "42"}, {"waist_flat": "14"})
    put = typed | {"put": f"waist_flat:{line.pk}"}
    page = owner_client.post(page_of(garment), put, follow=True)
    line.refresh_from_db()
    assert line.pinned == "take off 4.5 cm, total"
    assert "56 cm off the trousers" in words(page)
    button = f"waist_flat:{line.pk}:take off 56 cm, total"
    assert f'value="{button}">It is right: save as the amount of' in page.text
    owner_client.post(page_of(garment), typed | {"put": button})
    line.refresh_from_db()
    assert line.pinned == "take off 56 cm, total"
    assert "It is right" not in owner_client.get(page_of(garment)).text


SLIT = {"of": "garment", "name": "Pocket slit", "how": "End to end", "kind": "girth"}


def test_measures_of_the_owner_s_own_are_asked_of_the_garments_that_have_them(
    owner_client, studio, owner, garment
):
    """Round a piece that lies flat is half of the way: 17 and 16 cm differ by 2 in total."""
    dress = received(studio, owner, trousers(hem(), kind_name="Dress"))
    new, on = reverse("own-measure-new"), {"drawings": ["trousers", "shorts"]}
    # A name of the garment's list is taken, one of the body's is not.
    refused = owner_client.post(new, SLIT | on | {"name": "Thigh, left"})
    assert [*refused.context["form"].errors] == ["name"]
    assert owner_client.post(new, SLIT | {"name": "High hip"}).status_code == 302
    OwnMeasure.objects.all().delete()
    owner_client.post(new, SLIT | on | {"at": "ankle", "low": "1", "high": "9"})
    made = OwnMeasure.objects.get()
    assert (made.of, made.at, made.drawings) == ("garment", "", ["trousers", "shorts"])
    assert made.key not in all_measures()
    typed = flat({made.key: "17"}, {made.key: "16"})
    owner_client.post(page_of(garment), typed)
    shown = owner_client.get(page_of(garment))
    assert differences(shown) == {made.key: "take off 2 cm, total"}
    assert f"piece-{made.key}" not in owner_client.get(page_of(dress.garments.get())).text
    # Changed to be on any but curtains, then retired: it stays where it was taken.
    card = reverse("own-measure", args=[made.pk])
    opened = owner_client.get(card).context["form"]
    assert "of" not in opened.fields
    owner_client.post(card, {**SLIT, "of": "body"})
    assert f"piece-{made.key}" in owner_client.get(page_of(dress.garments.get())).text
    owner_client.post(card, {"intent": "remove"})
    made.refresh_from_db()
    assert (made.of, bool(made.retired_at)) == ("garment", True)
    assert f"piece-{made.key}" not in owner_client.get(page_of(dress.garments.get())).text
    assert differences(owner_client.get(page_of(garment))) == {made.key: "take off 2 cm, total"}
    garment.refresh_from_db()
    assert named_pieces(garment.measures)["fits"] == {"Pocket slit": "16 cm"}


@pytest.mark.parametrize("rows", [1, 3])
def test_the_queries_of_a_garment_sheet(owner_client, garment, django_assert_num_queries, rows):
    for _ in range(rows):
        OwnMeasureFactory(of="garment")
    with django_assert_num_queries(7):
        owner_client.get(page_of(garment))


def test_left_and_right_are_measured_each_and_fill_the_sums(owner_client, garment):
    typed = flat({"inside_leg_left": "82", "inside_leg_right": "81.5", "knee_flat": "22"}, {})
    owner_client.post(page_of(garment), typed)
    garment.refresh_from_db()
    assert garment.measures == {
        "piece": {"inside_leg_left": "82 cm", "inside_leg_right": "81.5 cm", "knee_flat": "22 cm"}
    }
    assert owner_client.get(address(garment, "legs")).context["form"]["knee"].value() == "22 cm"
    assert "now" not in owner_client.get(address(garment, "hem")).context["form"].initial
    owner_client.post(page_of(garment), flat({"inside_leg": "82"}, {}))
    assert owner_client.get(address(garment, "hem")).context["form"]["now"].value() == "82 cm"
    assert sentences(garment.ticket)[0] == "A laid flat: 1 measure."


def test_what_is_no_length_is_said_and_a_closed_ticket_stands(owner_client, garment, owner):
    wrong = owner_client.post(page_of(garment), flat({"waist_flat": "wide"}, {}))
    assert "Write one number and one unit" in words(wrong)
    actions.cancel(ticket=garment.ticket, by=owner, why="moved away")
    after = owner_client.post(page_of(garment), flat({"waist_flat": "42"}, {}), follow=True)
    assert "This garment is no longer in work." in words(after)


def test_every_garment_has_its_measures():
    """The trade's list: common practice."""
    keys = {piece.key for piece in pieces_of("curtains")}
    assert keys == {
        "rail_width", "drop", "flat_width", "heading_depth", "hem_depth", "returns", "overlap",
    }  # fmt: skip
    assert all(pieces_of(drawing) for drawing in PLACES)
    assert len(PIECES) == len(table("pieces"))
    for piece in PIECES.values():
        assert set(piece.drawings) <= set(PLACES), piece.key
        assert piece.range.low < piece.range.high
        assert piece.how
    assert change_of(PIECES["drop"], Decimal(2400), Decimal(2400)) is None


def test_a_window_has_a_rail_and_a_drop_that_are_found_from_its_ticket(owner_client, studio, owner):
    """A drop of 180 cm wanted at 178 is 2 cm less; a rail is compared with nothing."""
    made = received(studio, owner, trousers(hem(), kind_name="Curtains")).garments.get()
    ticket = owner_client.get(made.ticket.get_absolute_url())
    assert f'href="{page_of(made)}">Rail and drop' in ticket.text
    typed = flat({"rail_width": "180", "drop": "180 cm"}, {"drop": "178"})
    shown = owner_client.post(page_of(made), typed, follow=True)
    assert differences(shown) == {"drop": "take off 2 cm, total"}
    cells = {row.key: [cell.value() for cell in row.cells] for row in shown.context["rows"]}
    assert (cells["rail_width"], cells["drop"]) == (["180"], ["180", "178"])
    assert "One that fits" not in shown.text
    made.measures = {"fits": {"rail_width": "2 m"}}
    made.save()
    again = owner_client.get(page_of(made)).context["form"]
    assert again["fits-rail_width"].value() == "2 m"
