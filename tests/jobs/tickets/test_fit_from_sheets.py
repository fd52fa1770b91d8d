"""Sums, the drop-off and work still to be measured start from the client's newest sheets."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from clients.fit.changes import Taking
from clients.fit.known import doubt_of_age, known_of
from clients.fit.lengths import parse_length
from jobs.tickets.fit.body import measures_about
from studio.shop import clock
from studio.shop.locales import show_day
from tests.drafts import hem, received, take_in, trousers
from tests.factories import GarmentKindFactory, OperationFactory, SheetFactory
from tests.jobs.counter.html_form import Counter
from tests.jobs.tickets.fit_pages import address, words


@pytest.fixture
def ticket(studio, owner):
    later = hem(amount_mm=None, amount_typed="", basis="", measure="", measure_later=True)
    return received(studio, owner, trousers(take_in(), later))


@pytest.fixture
def garment(ticket):
    return ticket.garments.get()


def measured(client, ago=0, **values):
    """A sheet of so many days ago; a value may be one for each side."""
    facts = {
        name: values.pop(name) for name in ("minor", "heel_mm", "heel_typed") if name in values
    }
    sheet = SheetFactory(client=client, taken_on=clock.today() - timedelta(days=ago), **facts)
    for key, typed in values.items():
        for side, text in (typed if isinstance(typed, dict) else {"": typed}).items():
            length = parse_length(text, "cm")
            unit, mm = length.unit, length.mm
            sheet.values.create(key=key, side=side, mm=mm, typed=typed_alone(text), unit=unit)
    return sheet


def typed_alone(text):
    return text.removesuffix(" cm")


def filled(page):
    """What stands in the fields of a sum that is not empty."""
    form = page.context["form"]
    fields = {name: form[name] for name, field in form.fields.items() if hasattr(field, "unit")}
    typed = {name: field.value() for name, field in fields.items() if field.value()}
    assert all(f'value="{value}"' in page.text for value in typed.values())
    return typed


def test_a_hem_starts_from_the_newest_sheet_and_says_so(owner_client, studio, garment):
    """By hand: inside leg 78 and 6 of heel, 1.5 above the floor: 82.5; 2 in of hem: 87.6."""
    client = garment.ticket.client
    measured(client, ago=100, inseam="77 cm", outseam="104 cm")
    sheet = measured(client, ago=9, inseam="78 cm", heel_mm=Decimal(60), heel_typed="6 cm")
    page = owner_client.get(address(garment, "hem"))
    assert filled(page) == {"floor": "78 cm", "heel": "6 cm"}
    # How far above the floor is nobody's guess.
    assert page.context["answer"] is None
    day = show_day(sheet.taken_on, studio.locale)
    assert f"Inside leg 78 cm, sheet of {day}" in words(page)
    assert f'href="{sheet.get_absolute_url()}"' in page.text
    asked = {"garment": "trousers", "floor": "78 cm", "heel": "6 cm", "above": "1.5", "layers": "1"}
    answer = owner_client.get(address(garment, "hem"), asked).context["answer"]
    assert answer.says == "Finish at 82.5 cm, cut at 87.6 cm."
    assert answer.why.endswith(f"Inside leg, heel height from the sheet of {day}.")
    other = owner_client.get(address(garment, "hem"), asked | {"floor": "80"}).context["answer"]
    assert other.says.startswith("Finish at 84.5 cm")
    assert "Inside leg" not in other.why


def test_what_was_filled_follows_the_place_and_what_was_typed_stays(owner_client, garment):
    measured(garment.ticket.client, inseam="78 cm", outseam="104 cm", arm_length="60 cm")
    asked = {"garment": "skirt", "place_was": "trousers", "floor": "78 cm", "layers": "1"}
    assert filled(owner_client.get(address(garment, "hem"), asked)) == {"floor": "104 cm"}
    typed = filled(owner_client.get(address(garment, "hem"), asked | {"floor": "99"}))
    assert typed == {"floor": "99"}
    sleeve = filled(owner_client.get(address(garment, "hem"), asked | {"garment": "sleeve"}))
    assert sleeve == {"finished": "60 cm"}


def test_where_left_and_right_differ_nobody_guesses_and_the_foot_has_to_pass(owner_client, garment):
    sides = {"left": "78 cm", "right": "77.5 cm"}
    measured(garment.ticket.client, inseam=sides, instep={"left": "31 cm", "right": "32 cm"})
    page = owner_client.get(address(garment, "hem"))
    assert "floor" not in filled(page)
    assert "Inside leg left 78 cm, right 77.5 cm, sheet of" in words(page)
    assert filled(owner_client.get(address(garment, "legs"))) == {"instep": "32 cm"}


@pytest.mark.parametrize(
    ("ago", "minor", "doubt"),
    [
        (100, False, ""),
        (200, False, "older than six months"),
        (80, True, ""),
        (100, True, "a child has grown in three months"),
    ],
)
def test_an_old_sheet_says_that_it_is_old(owner_client, garment, ago, minor, doubt):
    measured(garment.ticket.client, ago=ago, minor=minor, waist="70 cm")
    page = owner_client.get(address(garment, "waist"))
    # 70 and 1.6 of ease.
    assert page.context["answer"].says.startswith("Finished waist 71.6 cm")
    assert ("measure again before cutting" in words(page)) is bool(doubt)
    assert doubt in words(page)


def test_the_level_of_the_waist_is_told(owner_client, garment):
    measured(garment.ticket.client, waist="70 cm")
    assert "Waist 70 cm (where a belt settles), sheet of" in words(
        owner_client.get(address(garment, "waist"))
    )


def test_the_newest_value_of_each_measure_and_when_it_is_too_old():
    """Six months: Texas extension service; a child's three: common practice."""
    today = clock.today()

    def taking(ago, **values):
        lengths = {(key, ""): parse_length(text, "cm") for key, text in values.items()}
        return Taking(today - timedelta(days=ago), lengths)

    known = known_of([taking(90, waist="70", hip="96"), taking(3, waist="72")])
    assert (known["waist"].sides[""].typed, known["waist"].taking.day) == (
        "72",
        today - timedelta(days=3),
    )
    assert known["hip"].taking.day == today - timedelta(days=90)
    assert doubt_of_age(today, today, child=True) == ""


ABOUT = [
    ("Trousers", "Hem", ("inseam", "outseam")),
    ("Jeans", "Hem, original edge kept", ("inseam", "outseam")),
    ("Skirt", "Let down hem", ("outseam", "waist_floor_front", "waist_floor_back")),
    ("Jacket", "Shorten sleeves from the cuff", ("arm_length", "cb_wrist", "hand")),
    ("Trousers", "Take in waist", ("waist", "stomach", "high_hip")),
    ("Dress", "Take in side seams, lined", ("bust", "waist", "hip")),
    (
        "Wedding or evening dress",
        "Hem, lace edge",
        ("hollow_hem", "nape_floor", "waist_floor_front"),
    ),
    ("Trousers", "Replace zip", ()),
]


def test_a_gown_is_measured_in_its_shoes_so_no_heel_comes_on_top(owner_client, studio, owner):
    """By hand: nape to floor 150, 2 above it: 148."""
    gown = received(studio, owner, trousers(hem(), kind_name="Dress", heel_typed="7 cm"))
    piece = gown.garments.get()
    measured(gown.client, nape_floor="150 cm", heel_mm=Decimal(70), heel_typed="7 cm")
    assert filled(owner_client.get(address(piece, "hem"))) == {"floor": "150 cm"}
    asked = {"garment": "dress", "floor": "150 cm", "above": "2", "layers": "1"}
    says = owner_client.get(address(piece, "hem"), asked).context["answer"].says
    assert says.startswith("Finish at 148 cm")
    measured(gown.client, hollow_hem="139 cm")
    assert filled(owner_client.get(address(piece, "hem")))["finished"] == "139 cm"


def test_which_measures_work_is_about():
    for kind, work, keys in ABOUT:
        assert measures_about(kind, work) == keys, work


def test_a_line_of_the_drop_off_shows_the_sheet_and_takes_its_length_in_one_press(
    owner_client, studio, ticket
):
    jacket = GarmentKindFactory(name="Jacket")
    sleeves = OperationFactory(
        garment_kind=jacket, name="Shorten sleeves from the cuff", takes_amount=True,
        usual_basis="arm", usual_measure="take_off", work_order=20,
    )  # fmt: skip
    measured(ticket.client, ago=200, arm_length="59.5 cm")
    page = Counter(owner_client, f"/drop-off/?client={ticket.client.pk}")
    page.press(f"add-garment:{jacket.pk}").press(f"add-line:0:{sleeves.pk}")
    shown = words(page.response)
    assert "Arm length 59.5 cm" in shown
    assert "older than six months" in shown
    page.press("from-sheet:0:0")
    row = {name: page.form.fields[f"g0-l0-{name}"] for name in ("amount", "measure", "basis")}
    assert row == {"amount": ["59.5 cm"], "measure": ["finished"], "basis": ["arm"]}


def test_work_that_is_still_to_be_measured_shows_the_sheet(owner_client, ticket):
    measured(ticket.client, inseam="78 cm")
    line = ticket.garments.get().lines.get(name="Hem")
    shown = words(owner_client.get(reverse("line-measure", args=[line.pk])))
    assert "Inside leg sheet of" in shown
    assert "78 cm" in shown
