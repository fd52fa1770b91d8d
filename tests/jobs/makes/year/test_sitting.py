"""A sitting lived through: what is asked, what an answer does, and that it can be left at will."""

from datetime import date

import pytest
from django.urls import reverse

from jobs.makes.models import Gap, Hope, Judgement, Look, MakeState, Sitting
from jobs.makes.year.seasons import season_of
from studio.shop import clock
from tests import factories as f

pytestmark = pytest.mark.usefixtures("studio")


@pytest.fixture
def year():
    return season_of(clock.today(), 1).year


def made(words, day=None):
    return f.MakeFactory(words=words, state=MakeState.FINISHED, finished_on=day or clock.today())


def asked(client, year, act, **facts):
    return client.get(reverse("sitting-act", args=[year, act]), facts)


def answer(client, make, year, act, **facts):
    address = f"{reverse('sitting-act', args=[year, act])}?at={make.pk}"
    return client.post(address, facts).headers["Location"]


def test_looking_at_it_begins_nothing(owner_client, year):
    made("Coat")
    assert asked(owner_client, year, "made").context["make"].words == "Coat"
    assert not Sitting.objects.exists()


def test_an_answer_waits_for_a_why_and_said_again_goes_on(owner_client, year):
    first, second = made("Coat"), made("Vest")
    stays = answer(owner_client, first, year, "made", answer="keep")
    assert stays.endswith(f"?at={first.pk}")
    on = answer(owner_client, first, year, "made", answer="keep", whys=["Fits"], also="Warm")
    assert on.endswith(f"?at={second.pk}")
    said = Judgement.objects.get()
    assert (said.answer, said.whys, said.make) == ("keep", ["Fits", "Warm"], first)
    assert "Warm" in asked(owner_client, year, "made").context["whys"]


def test_next_without_an_answer_says_nothing(owner_client, year):
    first, second = made("Coat"), made("Vest")
    assert answer(owner_client, first, year, "made", go="on").endswith(f"?at={second.pk}")
    assert not Judgement.objects.exists()


def test_it_goes_on_where_it_was_left(owner_client, year):
    first, second = made("Coat"), made("Vest")
    answer(owner_client, first, year, "made", answer="unsure")
    page = owner_client.get(reverse("sitting"), follow=True)
    assert (page.context["make"], page.context["place"], page.context["many"]) == (second, 2, 2)


@pytest.mark.postgres
def test_next_year_tells_what_was_said_before_and_asks_again_where_nobody_was_sure(
    owner_client, owner, year
):
    coat = made("Coat", date(year - 1, 5, 1))
    vest = made("Vest", date(year - 1, 6, 1))
    for make, said in ((coat, "unsure"), (vest, "keep")):
        answer(owner_client, make, year - 1, "made", answer=said, whys=["Colour"])
    page = asked(owner_client, year, "made")
    assert (page.context["make"], page.context["many"]) == (coat, 1)
    assert "Not sure, you said on" in page.text
    assert "colour" in page.text


def test_ideas_carry_on_rest_or_go(owner_client, year):
    keep, rest, drop = (f.MakeFactory(words=words) for words in ("A", "B", "C"))
    plan = f.ClothPlanFactory(make=rest)
    f.ClothPlanFactory(make=drop)
    answer(owner_client, keep, year, "ideas", answer="keep")
    answer(owner_client, rest, year, "ideas", answer="rest", words="Not this year")
    last = answer(owner_client, drop, year, "ideas", answer="let_go")
    assert last == reverse("sitting-act", args=[year, "gaps"])
    for make in (keep, rest, drop):
        make.refresh_from_db()
    assert [make.state for make in (keep, rest, drop)] == ["idea", "resting", "let_go"]
    assert list(rest.cloth_plans.all()) == [plan]
    assert not drop.cloth_plans.exists()
    assert Look.objects.get(make=rest).words == "Not this year"
    # Said otherwise in the same sitting, it is an idea again.
    answer(owner_client, rest, year, "ideas", answer="keep")
    rest.refresh_from_db()
    assert (rest.state, rest.looks.filter(undone_at=None).get().answer) == ("idea", "keep")


def test_what_is_missing_is_written_down_and_goes_again(owner_client, year):
    made("Linen shirt")
    for words, season in (("Wool shirt", "winter"), ("Poplin shirt", "autumn")):
        f.MakeFactory(
            words=words, season=season, state=MakeState.FINISHED, finished_on=clock.today()
        )
    address = reverse("sitting-act", args=[year, "gaps"])
    owner_client.post(address, {"words": "Dark trousers", "kind": "trousers", "days": "cold"})
    page = owner_client.get(address)
    cells = {(cell.kind, cell.days): cell for _, cells in page.context["rows"] for cell in cells}
    assert [gap.words for gap in cells["trousers", "cold"].gaps] == ["Dark trousers"]
    stands = {
        days: [make.words for make in cells["top", days].kept] for days in ("cold", "mild", None)
    }
    assert stands == {"cold": ["Wool shirt"], "mild": ["Poplin shirt"], None: ["Linen shirt"]}
    refused = owner_client.post(address, {"words": "", "kind": "trousers", "days": "cold"})
    assert "required" in refused.text
    owner_client.post(address, {"gone": Gap.objects.get().pk})
    assert Gap.objects.get().dropped_at


def test_an_empty_place_tapped_is_a_gap_and_words_for_it_can_wait(owner_client, owner):
    """On a page of its own; it can be said better, be made an idea, or be missed no more."""
    address = reverse("gaps")
    assert owner_client.get(reverse("sitting-gaps")).url == address
    page = owner_client.post(address, {"place": "trousers-cold"}, follow=True)
    gap = Gap.objects.get()
    assert (gap.words, gap.kind, gap.days) == ("Trousers for cold days", "trousers", "cold")
    assert f'id="gap-{gap.pk}"><details open>' in page.text
    owner_client.post(address, {"gap": gap.pk, "words": "Wide wool trousers"})
    assert "Wide wool trousers" in owner_client.get(address).text
    owner_client.post(address, {"idea": gap.pk})
    gap.refresh_from_db()
    assert gap.filled.words == "Wide wool trousers"
    assert "Wide wool trousers" not in words_of(owner_client.get(address), "wardrobe")
    for wrong in ({"place": "socks-cold"}, {"gap": gap.pk, "words": ""}):
        owner_client.post(address, wrong)
    assert Gap.objects.count() == 1
    assert owner_client.post(address, {"gone": "x"}).status_code == 404


def words_of(page, part):
    return page.text.partition(f'class="{part}"')[2].partition('class="gap-form"')[0]


def test_next_year_is_planned_by_one_key_each(owner_client, year):
    first, second = f.MakeFactory(words="A"), f.MakeFactory(words="B")
    on = answer(owner_client, first, year, "plan", to="summer")
    assert on.endswith(f"?at={second.pk}")
    hope = Hope.objects.get(until=None)
    assert (hope.make, hope.year, hope.season) == (first, year + 1, "summer")
    assert answer(owner_client, second, year, "plan", to="some-time") == reverse(
        "sitting-end", args=[year]
    )
    answer(owner_client, first, year, "plan", to="some-time")
    assert not Hope.objects.filter(until=None).exists()


def test_what_rests_is_not_planned(owner_client, year):
    carried, resting = f.MakeFactory(words="A"), f.MakeFactory(words="B")
    answer(owner_client, resting, year, "ideas", answer="rest")
    page = asked(owner_client, year, "plan")
    assert (page.context["make"], page.context["many"]) == (carried, 1)


def test_the_end_counts_what_was_said(owner_client, year):
    makes = [made(words) for words in "ABCD"]
    for make, said in zip(makes, ["keep", "keep", "let_go", "unsure"], strict=True):
        answer(owner_client, make, year, "made", answer=said)
    answer(owner_client, f.MakeFactory(), year, "ideas", answer="rest")
    page = owner_client.get(reverse("sitting-end", args=[year]))
    came = page.context["outcome"]
    assert (came.made, came.keep, came.let_go, came.unsure) == (4, 2, 1, 1)
    assert (came.carried, came.rest, came.dropped) == (0, 1, 0)
    owner_client.post(reverse("sitting-end", args=[year]))
    assert Sitting.objects.get().ended_at == clock.now()


@pytest.mark.postgres
def test_an_empty_act_is_stepped_over(owner_client, year):
    page = owner_client.get(reverse("sitting"), follow=True)
    assert page.redirect_chain[-1][0] == reverse("sitting-end", args=[year])
    page = owner_client.get(reverse("sitting-act", args=[year, "made"]), follow=True)
    assert "What did you reach for" in page.text


@pytest.mark.parametrize("wrong", ["2999", "1999"])
def test_no_year_that_is_not_yet(owner_client, wrong):
    assert owner_client.get(reverse("sitting-of", args=[wrong])).status_code == 404


@pytest.mark.parametrize("many", [1, 3])
def test_an_act_asks_the_same_number_of_questions(
    owner_client, year, many, django_assert_num_queries
):
    for number in range(many):
        make = made(f"Shirt {number}")
        make.pictures.add(f.PictureFactory())
        idea = f.MakeFactory()
        f.ClothPlanFactory(make=idea)
        f.GapFactory()
    for act, queries in (("made", 14), ("ideas", 12), ("gaps", 8), ("plan", 12)):
        address = reverse("sitting-act", args=[year, act])
        owner_client.get(address)
        with django_assert_num_queries(queries):
            owner_client.get(address)
