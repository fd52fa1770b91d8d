"""A sum is put on the work that it answers, and the kind of garment decides the sum."""

import pytest

from jobs.tickets.fit.body import hem_of
from jobs.tickets.models import FitSum
from tests.drafts import hem, received, take_in, trousers
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
