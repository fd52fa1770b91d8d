"""The shelf, the page of a cloth, its small forms, and the rows of a year."""

import html
import re
from datetime import date
from decimal import Decimal
from uuid import uuid4

import pytest
from django.urls import reverse

from jobs.makes.models import Cloth, ClothMove
from studio.shop.models import Profile
from tests import factories as f
from tests.jobs.makes.ideas.conftest import file_of


@pytest.fixture
def linen(studio) -> Cloth:
    return f.ClothFactory(name="Linen", place="Box 3")


def words(response) -> str:
    text = re.sub(r"<(script|style).*?</\1>|<[^>]+>", " ", response.text, flags=re.DOTALL)
    return " ".join(html.unescape(text).split())


def post(client, address: str, cloth: Cloth, **sent):
    sent.setdefault("form_key", uuid4())
    return client.post(reverse(address, args=[cloth.pk]), sent, follow=True)


def names(response) -> list[str]:
    return re.findall(r"<h3><a[^>]*>([^<]+)</a></h3>", response.text)


def test_new_cloth_asks_for_three_things(owner_client):
    sent = {"name": "Wool", "width": "150", "length": "2,5", "kind": "suiting"}
    shown = words(owner_client.post(
        reverse("cloth-new"), sent | {"form_key": uuid4(), "swatch": file_of("JPEG", "w.jpg")},
        follow=True,
    ))  # fmt: skip
    assert "2.5 m left" in shown
    assert "Usable width 150 cm" in shown
    wool = Cloth.objects.get()
    assert (wool.width_mm, wool.left_mm, wool.kind) == (1500, 2500, "suiting")
    assert wool.swatch.width == 60
    assert wool.swatch.get_absolute_url() in owner_client.get(reverse("cloth-list")).text


def test_what_is_wrong_is_said_at_the_field(owner_client):
    sent = {"name": "", "width": "much", "length": "", "form_key": uuid4()}
    response = owner_client.post(reverse("cloth-new"), sent)
    form = response.context["form"]
    assert set(form.errors) == {"name", "width", "length", "kind"}
    assert 'value="much"' in response.text
    assert not Cloth.objects.exists()


def test_in_inches_a_bare_number_is_yards(owner_client, studio):
    studio.unit = Profile.Unit.INCH
    studio.save()
    sent = {"name": "Wool", "width": "54", "length": "2 3/8", "kind": "woven"}
    shown = words(
        owner_client.post(reverse("cloth-new"), sent | {"form_key": uuid4()}, follow=True)
    )
    assert "2 3/8 yd left" in shown
    assert (Cloth.objects.get().left_mm, Cloth.objects.get().width_typed) == (
        Decimal("2171.7"),
        "54 in",
    )


def test_cut_says_what_is_left_and_can_be_undone(owner_client, linen):
    make = f.MakeFactory(words="Apron")
    response = post(owner_client, "cloth-cut", linen, length="1.2", make=make.pk)
    assert "Cut: 1.2 m. 1.8 m left." in words(response)
    assert "Cut -1.2 m , Apron" in words(response)
    undo = re.search(r'action="([^"]*undo/)"', response.text)[1]
    assert undo != reverse("own-undo")
    assert "3 m left" in words(owner_client.post(undo, follow=True))


def test_too_much_is_said_at_the_field(owner_client, linen):
    response = post(owner_client, "cloth-cut", linen, length="3.5")
    assert response.context["form"].errors["length"] == ["There is 3 m left."]
    assert 'value="3.5"' in response.text
    assert linen.moves.count() == 1


def test_sent_twice_is_one_cut(owner_client, linen):
    key = uuid4()
    for _ in range(2):
        post(owner_client, "cloth-cut", linen, length="1", form_key=key)
    linen.refresh_from_db()
    assert linen.left_mm == 2000


@pytest.mark.parametrize(
    ("name", "sent", "message"),
    [
        ("cloth-back", {"length": "50 cm"}, "3.5 m left"),
        ("cloth-give", {"length": ""}, "Nothing is left of it"),
        ("cloth-measure", {"length": "2.9"}, "2.9 m left"),
        ("cloth-wash", {"before": "3", "after": "2.85", "whole": "all"}, "Shrinks along 5 %"),
    ],
)
def test_each_step_has_a_page_and_leads_back(owner_client, linen, name, sent, message):
    page = owner_client.get(reverse(name, args=[linen.pk]))
    assert "3 m left, 140 cm wide." in words(page)
    assert message in words(post(owner_client, name, linen, **sent))


def test_washed_with_a_wrong_measure_says_so_there(owner_client, linen):
    sent = {"before": "3", "after": "1", "whole": "all"}
    form = post(owner_client, "cloth-wash", linen, **sent).context["form"]
    assert "Half of it would be gone" in form.errors["after"][0]


def test_facts_are_changed_without_touching_the_length(owner_client, linen):
    page = owner_client.get(reverse("cloth-edit", args=[linen.pk])).text
    assert 'value="140 cm"' in page
    sent = {"name": "Washed linen", "width": "138 cm", "kind": "woven", "shrink_along": "4,25"}
    shown = words(post(owner_client, "cloth-edit", linen, **sent))
    assert "Washed linen" in shown
    assert "Shrinks along 4.3 %" in shown
    assert "3 m left" in shown


def test_what_it_cost_is_the_owners_to_see(owner_client, helper_client, linen):
    Cloth.objects.update(price=4250)
    address = reverse("cloth", args=[linen.pk])
    assert "42.50" in owner_client.get(address).text
    assert "42.50" not in helper_client.get(address).text
    edit = reverse("cloth-edit", args=[linen.pk])
    assert 'name="price"' not in helper_client.get(edit).text
    post(helper_client, "cloth-edit", linen, name="L", width="140 cm", kind="woven", price="1")
    linen.refresh_from_db()
    assert (linen.name, linen.price) == ("L", 4250)


def test_meant_for_a_make_and_free_again(owner_client, linen):
    make = f.MakeFactory(words="Apron")
    shown = post(owner_client, "cloth-for", linen, make=make.pk, length="1.5")
    assert "Apron 1.5 m idea" in words(shown)
    assert linen.plans.get().mm == 1500
    address = reverse("cloth-for-off", args=[linen.pk, make.pk])
    assert "Apron 1.5 m idea" not in words(owner_client.post(address, follow=True))
    assert not linen.plans.exists()


def test_every_control_on_the_page_has_an_id_of_its_own(owner_client, linen):
    ids = re.findall(r'\sid="([^"]+)"', owner_client.get(linen.get_absolute_url()).text)
    assert len(ids) == len(set(ids))
    assert {"id_length", "meant_length"} <= set(ids)


def test_nothing_chosen_to_be_meant_for_is_said_there(owner_client, linen):
    shown = post(owner_client, "cloth-for", linen, make="")
    assert "Choose what it is meant for." in words(shown)


@pytest.mark.postgres
def test_the_shelf_is_searched_and_narrowed(owner_client, linen):
    f.ClothFactory(name="Crêpe", kind="satin", width_mm=1100, left_mm=Decimal(1000))
    f.ClothFactory(name="Gone", left_mm=Decimal(0), gone_at="2026-01-01T12:00Z")

    def shown(**asked) -> list[str]:
        return names(owner_client.get(reverse("cloth-list"), asked))

    assert shown() == ["Crêpe", "Linen"]
    assert shown(q="CREPE") == ["Crêpe"]
    assert shown(q="box linen") == ["Linen"]
    page = owner_client.get(reverse("cloth-list"), {"q": "linen", "where": "here"}).text
    assert "1 found" in page
    assert "<details open" not in page.partition("1 found")[0].partition("<main")[2]
    assert "on the shelf," not in page
    page = owner_client.get(reverse("cloth-list"), {"q": "", "where": "here", "order": "new"}).text
    assert (" found" in page, "on the shelf," in page) == (False, True)
    assert shown(kind="satin") == ["Crêpe"]
    assert shown(least="1.5") == ["Linen"]
    assert shown(wide="120") == ["Linen"]
    assert shown(where="gone") == ["Gone"]
    assert shown(order="most") == ["Linen", "Crêpe"]
    assert shown(order="nonsense", page="99") == ["Crêpe", "Linen"]


def test_a_year_in_and_out_leads_to_its_rows(owner_client, linen, owner):
    def moved(why: str, mm: int, day: date) -> None:
        f.ClothMoveFactory(cloth=linen, why=why, mm=Decimal(mm), day=day, by=owner)

    linen.moves.update(day=date(2024, 3, 1))
    moved("cut", -1500, date(2025, 1, 1))
    moved("back", 250, date(2025, 12, 31))
    moved("washed", -50, date(2025, 2, 1))
    shown = words(owner_client.get(reverse("cloth-list")))
    assert "2025 0 m 1.25 m -0.05 m 1.7 m 2024 3 m 0 m 0 m 3 m" in shown
    rows = owner_client.get(reverse("cloth-year", args=[2025]), {"way": "out"})
    assert rows.context["table"].data.data.count() == 2
    assert "-1.5 m" in words(rows)
    assert "-0.05 m" not in re.sub(r"<nav.*?</nav>", "", rows.text, flags=re.DOTALL)


@pytest.mark.parametrize("year", [0, 10_000])
def test_a_year_no_calendar_has_is_not_found(owner_client, year):
    assert owner_client.get(reverse("cloth-year", args=[year])).status_code == 404


@pytest.mark.postgres
@pytest.mark.parametrize("count", [1, 3])
def test_queries_of_the_shelf(owner_client, count, django_assert_num_queries):
    for _ in range(count):
        f.ClothFactory(swatch=f.PictureFactory())
    with django_assert_num_queries(9):
        assert len(names(owner_client.get(reverse("cloth-list")))) == count


@pytest.mark.parametrize("count", [1, 3])
def test_queries_of_a_cloth(owner_client, linen, count, django_assert_num_queries):
    for _ in range(count):
        make = f.ClothPlanFactory(cloth=linen).make
        f.ClothMoveFactory(cloth=linen, make=make)
        f.MakeFactory(pattern=f.NeedFactory(length_mm=100).pattern)
        f.NeedFactory(length_mm=100)
    with django_assert_num_queries(23):
        page = owner_client.get(linen.get_absolute_url()).text
    assert page.count("Not for this") == count
    assert page.count("Set aside") == count


@pytest.mark.postgres
def test_what_the_free_cloth_could_become(owner_client, linen, owner):
    """Linen of 3 m, 140 cm wide, of which 1.2 m are meant: 1.8 m are free."""

    def idea(name: str, need: int, width: int = 1400, **facts) -> None:
        pattern = f.PatternFactory(name=f"{name} pattern")
        f.NeedFactory(pattern=pattern, width_mm=width, length_mm=need, width_typed=f"{width} mm")
        if facts.pop("hung", True):
            f.MakeFactory(words=name, pattern=pattern, **facts)

    f.ClothPlanFactory(cloth=linen, mm=1200, typed="1.2 m", make=f.MakeFactory(words="Shirt"))
    idea("Apron", 1105, heat=2)
    idea("Top", 1800, heat=5)
    idea("Skirt", 1801)
    idea("Gown", 3001)
    idea("Made", 500, state="finished")
    idea("Bag", 600, hung=False)
    page = owner_client.get(linen.get_absolute_url())
    uses = page.context["uses"]
    # The warmest idea first; 1.105 m are cut as 1.11 m. Patterns that no idea names come last.
    # What is finished names no cloth here, its pattern may be sewn again.
    assert [(use.title, use.takes) for use in uses.free] == [
        ("Top", "1.8 m"), ("Apron", "1.11 m"), ("Bag pattern", "0.6 m"), ("Made pattern", "0.5 m"),
    ]  # fmt: skip
    assert [(use.title, use.takes) for use in uses.instead] == [("Skirt", "1.81 m")]
    assert "The free 1.8 m could become" in words(page)

    # Set aside as the page sends it: the bar then says so.
    apron = uses.free[1].tile.make
    post(owner_client, "cloth-for", linen, make=apron.pk, length="1.11 m")
    after = owner_client.get(linen.get_absolute_url())
    assert after.context["shares"].free == 690
    assert [use.title for use in after.context["uses"].free] == ["Bag pattern", "Made pattern"]

    # Of a pattern it becomes an idea that has cloth and pattern.
    bag = uses.free[2]
    sent = {"words": bag.words, "pattern": bag.pattern.pk, "cloth": linen.pk, "length": bag.takes}
    owner_client.post(reverse("idea-new"), sent | {"form_key": bag.form_key})
    plan = linen.plans.get(make__words="Bag pattern of Linen")
    assert (plan.mm, plan.make.pattern) == (600, bag.pattern)


def test_an_idea_begins_from_a_cloth_or_a_pattern_chosen_by_its_picture(owner_client, linen):
    pattern = f.PatternFactory(name="Smock", picture=f.PictureFactory())
    assert (
        f"{reverse('idea-new')}?cloth={linen.pk}" in owner_client.get(linen.get_absolute_url()).text
    )
    page = owner_client.get(reverse("idea-new"), {"cloth": linen.pk, "pattern": pattern.pk}).text
    for name, row in (("cloth", linen), ("pattern", pattern)):
        assert re.search(rf'type="radio" name="{name}" value="{row.pk}"[^>]* checked', page)
    assert pattern.picture.small_address in page
    assert "Linen</span> <small>3 m free" in page


@pytest.mark.postgres
@pytest.mark.parametrize("count", [1, 3])
def test_queries_of_a_year(owner_client, count, django_assert_num_queries):
    moves = [f.ClothMoveFactory(make=f.MakeFactory(), day=date(2025, 1, 1)) for _ in range(count)]
    with django_assert_num_queries(6):
        shown = words(owner_client.get(reverse("cloth-year", args=[2025])))
    assert all(str(move.make) in shown for move in moves)
    assert ClothMove.objects.filter(day__year=2025).count() == count
