"""A sum is put on the work that it answers, and the kind of garment decides the sum."""

from decimal import Decimal

import pytest
from django.urls import reverse

from jobs.tickets.fit.body import hem_of
from jobs.tickets.models import FitSum
from tests.drafts import hem, received, take_in, trousers
from tests.factories import MeasuredFactory, SheetFactory
from tests.jobs.tickets.fit_pages import ANSWERED, ASKED, LET_OUT, address, inches, named, words
from tests.windows import said


@pytest.fixture
def garment(studio, owner):
    return received(studio, owner, trousers(take_in(), hem())).garments.get()


def line_of(garment, name="Take in sides"):
    return garment.lines.get(name=name)


@pytest.mark.parametrize("role", ["owner", "helper"])
def test_a_sum_is_put_on_no_line_that_it_does_not_answer(request, garment, studio, owner, role):
    """A hem sum on the waist, a let-out on the hem: said, and what was agreed stands."""
    client = request.getfixturevalue(f"{role}_client")
    lines = [*map(named, ANSWERED.values())]
    garment = received(studio, owner, trousers(*lines)).garments.get()
    waist, legs = line_of(garment, "Take in waist"), line_of(garment, "Taper legs")
    for kind, line in (("hem", waist), ("hem", legs), ("alter", legs), ("legs", waist)):
        asked = ASKED[kind][0]
        shown = client.get(address(garment, kind), asked).text
        assert f'name="line" value="{line.pk}"' not in shown
        after = client.post(address(garment, kind), asked | {"line": str(line.pk)}, follow=True)
        assert f"This sum does not say how far to go with: {line.name}." in words(after)
    assert garment.ticket.agreements.count() == 1
    assert FitSum.objects.count() == 0


def test_what_a_helper_would_change_of_what_was_agreed_is_asked(
    helper_client, owner_client, helper, garment
):
    line = line_of(garment)
    typed = LET_OUT | {"line": str(line.pk)}
    after = helper_client.post(address(garment), typed, follow=True)
    assert said(after)[0].startswith("Take in sides: let out 4 cm, total. Asked.")
    assert f"asked by {helper.shown_name}" in words(after)
    line.refresh_from_db()
    assert line.pinned == "take off 4.5 cm, total"
    assert garment.ticket.agreements.count() == 1
    owner_client.post(address(garment), typed)
    line.refresh_from_db()
    assert line.pinned == "let out 4 cm, total"


SHORTER = [
    ("cm", {"now": "82", "by": "4"}, "Finish at 78 cm", "take off 4 cm, each leg"),
    # 82 - 3/16: by hand 31 13/16.
    ("in", {"now": "32", "by": "3/16"}, "Finish at 31 13/16 in", "take off 3/16 in, each leg"),
]


@pytest.mark.parametrize(("unit", "typed", "says", "pinned"), SHORTER)
def test_so_much_off_and_so_long_now_is_enough(
    owner_client, studio, garment, unit, typed, says, pinned
):
    if unit == "in":
        inches(studio)
    asked = {"garment": "trousers", **typed}
    assert says in words(owner_client.get(address(garment, "hem"), asked))
    line = line_of(garment, "Hem")
    owner_client.post(address(garment, "hem"), asked | {"line": str(line.pk)})
    line.refresh_from_db()
    assert line.pinned == pinned
    wrong = owner_client.get(address(garment, "hem"), asked | {"now": ""})
    assert "Write how long it is now." in words(wrong)


HEMS = [
    ("Jeans", "", "jeans"), ("Curtains", "", "curtains"), ("Shirt or top", "", "shirt"),
    ("Wedding or evening dress", "", "gown"), ("Trousers", "men's", "trousers"),
    ("Trousers", "", "womens_trousers"), ("Skirt", "Hem, cut on the circle", "skirt_circle"),
    ("Coat", "", "jacket"), ("Children's wear", "", "child"), ("Dress", "", "dress"),
]  # fmt: skip


def test_the_kind_of_garment_decides_the_hem():
    for kind, more, place in HEMS:
        assert hem_of(kind, more) == place, kind


def test_jeans_are_hemmed_as_jeans(owner_client, studio, owner):
    """Turned twice, 3/4 to 1 in in all (common practice): the middle is 2.2 cm below 80."""
    garment = received(studio, owner, trousers(hem(), kind_name="Jeans")).garments.get()
    assert owner_client.get(address(garment, "hem")).context["form"]["garment"].value() == "jeans"
    asked = {"garment": "jeans", "finished": "80"}
    answer = owner_client.get(address(garment, "hem"), asked).context["answer"]
    assert answer.says == "Finish at 80 cm, cut at 82.2 cm."
    assert answer.pin.words == "finished 80 cm, each leg"


@pytest.mark.parametrize(
    ("heel", "refused"),
    [("30", False), ("30.1", True), ("846", True), ("11 3/4 in", False), ("12 in", True)],
)
def test_no_heel_is_higher_than_thirty_centimetres(owner_client, garment, heel, refused):
    asked = {"garment": "trousers", "floor": "78", "heel": heel}
    shown = words(owner_client.get(address(garment, "hem"), asked))
    assert ("No heel is as high as" in shown) is refused


# By hand. Ease is the middle of what CWU 16 prints: 5/8 in (1.6 cm) of a skirt and of trousers, 7/8
# in (2.2 cm) of men's and of a dress. A fly's band reaches 4 cm over, a skirt's 3; seams of 1.5.
OF_SUCH = [
    ("Skirt", "New waistband", "waist", {}, "Finished waist 71.6 cm; cut the band 77.6 cm long."),
    ("Jeans", "New waistband", "waist", {}, "Finished waist 71.6 cm; cut the band 78.6 cm long."),
    ("Dress", "New waistband", "waist", {}, "Finished waist 72.2 cm; cut the band 78.2 cm long."),
    # 72.2 and 4 and 3; in two halves 36.1 and 3, and 4 more.
    ("Men's trousers", "New waistband", "waist", {}, "cut the band 79.2 cm long."),
    ("Men's trousers", "New waistband", "waist", {}, "with a seam behind 39.1 cm and 43.1 cm"),
    # 70 less a tenth, and 2 over.
    ("Skirt", "Replace elastic", "waist", {}, "Cut the elastic 65 cm long. It sits at 63 cm"),
    ("Pyjamas", "Hem", "waist", {}, "Cut the elastic 65 cm long."),
    # Below a band of 4 the zip has 12 of 16, of which 12 are sold; of a skirt 1 stays free.
    ("Jeans", "Replace zip", "zip", {"opening": "16"}, "A zip of 12 cm."),
    ("Skirt", "Replace zip", "zip", {"opening": "16"}, "A zip of 15 cm."),
    ("Skirt", "Replace zip", "zip", {"opening": "13"}, "the hip needs an opening of 15 cm"),
    ("Jacket", "Replace zip", "zip", {"opening": "61"}, "A zip of 60 cm."),
    ("Jacket", "Replace zip", "zip", {"opening": "60"}, "shortened to 59 cm at the top."),
    ("Cushion", "Replace zip", "zip", {"opening": "41"}, "A zip of 40 cm."),
]


def test_the_kind_of_garment_decides_waistband_and_zip(owner_client, studio, owner):
    """Asked with what stands in the form; the client's waist is 70 and the hip 100."""
    sheet = SheetFactory()
    for key, typed in (("waist", "70 cm"), ("hip", "100 cm")):
        MeasuredFactory(sheet=sheet, key=key, mm=Decimal(typed[:-3]) * 10, typed=typed)
    for kind, work, about, typed, says in OF_SUCH:
        ticket = received(studio, owner, trousers(named(work), kind_name=kind), client=sheet.client)
        garment = ticket.garments.get()
        page = owner_client.get(address(garment, about))
        asked = {name: field.initial for name, field in page.context["form"].fields.items()}
        asked |= page.context["form"].initial | page.context["form"].data | typed
        shown = words(
            owner_client.get(address(garment, about), {k: v for k, v in asked.items() if v})
        )
        assert says in shown, (kind, work)
        if kind == "Skirt" and about == "waist":
            assert f"Save as the amount of: {work}" in shown


@pytest.mark.parametrize(
    ("kind", "has", "has_not"),
    [
        ("Jeans", "alter hem legs waist zip", "curtain circle sleeve skirt bustle"),
        ("Skirt", "alter hem circle flare waist skirt zip", "legs sleeve curtain"),
        ("Jacket", "alter hem sleeve zip buttons", "legs waist skirt circle curtain bustle"),
        ("Pyjamas", "legs waist hem", "curtain bustle"),
        ("Cushion", "hem zip buttons pleats cloth patch", "legs waist alter sleeve skirt"),
        ("Nobody's list", "alter hem legs waist zip skirt sleeve", ""),
    ],
)
def test_only_sums_about_such_a_garment_are_offered(
    owner_client, studio, owner, kind, has, has_not
):
    garment = received(studio, owner, trousers(kind_name=kind)).garments.get()
    shown = owner_client.get(reverse("garment-fit", args=[garment.pk])).context["sums"]
    kinds = {form.kind for form in shown}
    assert kinds >= {*has.split()}
    assert not kinds & {*has_not.split()}


@pytest.mark.parametrize(
    ("kind", "typed", "asks", "asks_not"),
    [
        ("waist", {"way": "elastic"}, "shorter", "ease overlap allowance"),
        ("waist", {"way": "band"}, "ease overlap allowance", "shorter"),
        ("zip", {"ends": "open", "hip": "100", "waist": "70"}, "opening above", "hip waist"),
        ("zip", {"ends": "closed"}, "opening above hip waist", ""),
    ],
)
def test_a_sum_asks_only_what_its_way_takes(owner_client, garment, kind, typed, asks, asks_not):
    asked = {name: value for name, value in ASKED[kind][0].items() if name not in asks_not.split()}
    page = owner_client.get(address(garment, kind), asked | typed)
    form = page.text.partition('id="sum"')[2]
    assert page.context["answer"].good
    for names, there in ((asks, True), (asks_not, False)):
        assert all((f'name="{name}"' in form) is there for name in names.split())
