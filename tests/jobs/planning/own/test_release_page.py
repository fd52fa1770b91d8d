"""A release on its page: stages, hours, testers, errata, and what it comes to for the owner."""

import re
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.urls import reverse

from jobs.makes.models import Release, Stage
from jobs.planning.models import BenchTime
from studio.shop import clock
from tests import factories as f
from tests.jobs.makes.ideas.conftest import file_of
from tests.jobs.planning.pages import beside, notices, words

TODAY = date(2026, 3, 4)


@pytest.fixture(autouse=True)
def _a_day_in_march(studio):
    with clock.pretend(datetime(2026, 3, 4, 12, tzinfo=ZoneInfo("Europe/Dublin"))):
        yield


@pytest.fixture
def release(studio) -> Release:
    """61 hours in, 34 to go, 9.00 a copy, 40.00 an hour."""
    release = f.ReleaseFactory(name="Wrap skirt", price=900, rate=4000)
    spend(f.StageFactory(release=release, name="Draft", done_at=clock.now()), hours=41)
    spend(f.StageFactory(release=release, name="Toile", minutes=54 * 60), hours=20)
    return release


def spend(stage: Stage, *, hours: int) -> BenchTime:
    return f.BenchTimeFactory(line=None, purpose="release", stage=stage, minutes=hours * 60)


def page_of(client, release: Release) -> str:
    return client.get(release.get_absolute_url()).text


def part(page: str, ident: str) -> str:
    section = re.search(rf'<section[^>]*aria-labelledby="{ident}".*?</section>', page, re.DOTALL)
    assert section, f"There is no {ident} on the page."
    return words(section[0])


def rail(page: str) -> str:
    """The stages beside each other."""
    return words(page.partition('<ol class="stage-rail"')[2].partition("</ol>")[0])


def in_all(page: str) -> str:
    """Guessed, spent and to go, of all stages."""
    return words(page.partition("<tfoot>")[2].partition("</tfoot>")[0])


def post(client, address: str, pk: int, **facts):
    return client.post(reverse(address, args=[pk]), facts, follow=True)


def test_hours_by_stage(owner_client, release):
    page = page_of(owner_client, release)
    stages = rail(page)
    assert "Draft 41 h, done Wed 4 Mar" in stages
    assert "Toile 20 h of 54 h" in stages
    f.StageFactory(release=release, name="Grade", minutes=300)
    f.StageFactory(release=release, name="Test")
    stages = rail(page_of(owner_client, release))
    assert "Grade about 5 h not yet Test" in stages
    assert stages.endswith("Test")
    # 0 + 54 h are guessed, 41 + 20 h in, 54 - 20 h to go.
    assert in_all(page) == "In all 54 h 61 h 34 h"
    assert "1 of 2 stages done" in words(page)


def test_a_clock_that_runs_counts_once_it_stops(owner_client, release):
    time = f.BenchTimeFactory(
        line=None, purpose="release", stage=release.stages.last(), minutes=None
    )
    assert " 61 h " in in_all(page_of(owner_client, release))
    BenchTime.objects.filter(pk=time.pk).update(minutes=30)
    assert " 61 h 30 " in in_all(page_of(owner_client, release))


def test_a_stage_that_took_longer_than_guessed_has_nothing_to_go(owner_client, release):
    spend(release.stages.last(), hours=60)
    assert in_all(page_of(owner_client, release)).endswith(" 0 min")


def test_break_even_to_the_copy(owner_client, release):
    """(61 + 34) x 40.00 / 9.00 = 422.2: the 423rd copy; see the reckoning's own tests."""
    f.SaleFactory(release=release, copies=140, net=126_000)
    f.CostFactory(release=release, amount=10_000)
    money = part(page_of(owner_client, release), "money")
    # With 100.00 of costs: 3900.00 / 9.00 = 433.3, so 434; less 1260.00 earned: 2640.00 / 9.00 =
    # 293.3, so 294. An hour so far: (1260.00 - 100.00) / 61 = 19.016.
    assert "434 copies break even, 294 still to sell." in money
    assert "An hour has earned €19.02 so far." in money
    assert (
        "Left of each copy €9.00 Hours in and to go €3,800.00 Costs €100.00 Together €3,900.00 "
        "Copies sold 140 Earned with them €1,260.00 Still to earn €2,640.00"
    ) in money
    release.costs.all().delete()
    assert "423 copies break even, 283 still to sell." in part(
        page_of(owner_client, release), "money"
    )


def test_it_may_never_break_even_or_have_done_so(owner_client, release):
    Release.objects.update(price=None)
    money = part(page_of(owner_client, release), "money")
    assert "Nothing is left of a copy without a price, so it never breaks even." in money
    Release.objects.update(price=100, fee_amount=100)
    money = part(page_of(owner_client, release), "money")
    assert "Nothing is left of a copy at this price, so it never breaks even." in money
    f.SaleFactory(release=release, copies=500, net=380_000)
    money = part(page_of(owner_client, release), "money")
    assert "It has paid for its hours and costs." in money


def test_what_is_missing_is_asked_for(owner_client):
    release = f.ReleaseFactory(price=900)
    asked = "Break-even is found once you say what an hour of yours is worth, and hours spent"
    assert asked in part(page_of(owner_client, release), "money")
    owner_client.post(reverse("release-money", args=[release.pk]), {"price": "9,00", "rate": "40"})
    f.StageFactory(release=release, minutes=60)
    assert "5 copies break even" in part(page_of(owner_client, release), "money")


def test_stages_without_a_guess_are_told(owner_client, release):
    f.StageFactory(release=release)
    words_then = "1 stage to come without a guess, so there may be more to go."
    assert words_then in part(page_of(owner_client, release), "stages")


def test_the_last_release_tells_what_its_first_year_sold(owner_client, release):
    last = f.ReleaseFactory(name="Shirt", published_on=date(2025, 1, 10))
    f.ReleaseFactory(name="Older", published_on=date(2024, 1, 10))
    for day in (date(2025, 1, 10), date(2026, 1, 9), date(2026, 1, 10)):
        f.SaleFactory(release=last, day=day, copies=70)
    money = part(page_of(owner_client, release), "money")
    assert "Shirt sold 140 copies in its first year." in money
    Release.objects.filter(pk=last.pk).update(published_on=date(2025, 6, 1))
    money = part(page_of(owner_client, release), "money")
    assert "Shirt sold 140 copies in its first year so far." in money
    assert "Older sold 0 copies in its first year." in part(page_of(owner_client, last), "money")


def test_the_helper_sees_hours_and_no_money(helper_client, release):
    f.CostFactory(release=release, words="Printing", amount=10_000)
    f.SaleFactory(release=release)
    f.TesterFactory(release=release, name="A. M.", report="Sleeve is tight")
    f.ErratumFactory(release=release, words="Notch is off")
    page = page_of(helper_client, release)
    for shown in ("Toile 20 h of 54 h", "A. M.", "Sleeve is tight", "Notch is off", "61 h"):
        assert shown in words(page)
    for hidden in ("€", "Printing", "copies", "break even", reverse("sales", args=[release.pk])):
        assert hidden not in page
    assert "Copies sold" not in helper_client.get(reverse("releases")).text


def test_a_hoped_for_day_that_passes_is_only_a_day(owner_client, release):
    Release.objects.update(target_on=TODAY + timedelta(days=30))
    before = [page_of(owner_client, release), owner_client.get(reverse("releases")).text]
    Release.objects.update(target_on=TODAY - timedelta(days=30))
    passed = [page_of(owner_client, release), owner_client.get(reverse("releases")).text]
    for coming, gone in zip(before, passed, strict=True):
        assert "Fri 3 Apr 2026" in coming
        # Tokens against forged requests and the keys of forms are new on each page.
        same, after = (re.sub(r"\b\w{64}\b|\b[0-9a-f-]{36}\b", "", page) for page in (coming, gone))
        assert same.replace("Fri 3 Apr 2026", "Mon 2 Feb 2026") == after


def test_a_new_release_with_a_picture(owner_client):
    sent = {"name": "Wrap skirt", "target_on": "2026-05-01", "photo": file_of("JPEG", "a.jpg")}
    response = owner_client.post(reverse("release-new"), sent)
    release = Release.objects.get()
    assert response["Location"] == release.get_absolute_url()
    page = page_of(owner_client, release)
    assert release.picture.get_absolute_url() in page
    for shown in ("Photograph", "Write up", "hoped for by Fri 1 May 2026", "0 of 7 stages done"):
        assert shown in words(page)


def test_a_name_that_is_taken_is_told_on_the_form(owner_client, release):
    page = owner_client.post(reverse("release-new"), {"name": "Wrap skirt", "note": "Other"})
    assert "There is a release called “Wrap skirt” already." in page.text
    assert 'value="Wrap skirt"' in page.text


def test_done_at_one_tap_and_undone_at_another(owner_client, release):
    stage = release.stages.last()
    for _ in range(2):
        page = post(owner_client, "stage-done", stage.pk, on="1")
    assert "2 of 2 stages done" in words(page.text)
    assert "Published today" in page.text
    page = post(owner_client, "stage-done", stage.pk, on="0")
    assert "1 of 2 stages done" in words(page.text)
    assert "Published today" not in page.text


def test_published_today(owner_client):
    release = f.ReleaseFactory()
    page = post(owner_client, "release-published", release.pk, on="1")
    assert "published Wed 4 Mar 2026" in words(page.text)
    page = post(owner_client, "release-published", release.pk, on="0")
    assert "Published today" in page.text


def test_stages_are_named_guessed_added_and_taken_off(owner_client, release):
    draft, toile = release.stages.all()
    post(owner_client, "stage", draft.pk, name="Sketch", minutes="4:30")
    page = post(owner_client, "stage-new", release.pk, name="Photographs", minutes="")
    assert "Sketch 41 h, done" in rail(page.text)
    assert release.stages.first().minutes == 270
    last = release.stages.last()
    assert last.name == "Photographs"
    assert "Removed: Photographs" in notices(post(owner_client, "stage-off", last.pk))[0]
    assert notices(post(owner_client, "stage-off", toile.pk)) == [
        "Minutes hang on “Toile”, so it stays."
    ]
    assert [stage.name for stage in release.stages.all()] == ["Sketch", "Toile"]


def test_the_order_is_changed_by_plain_buttons_which_keep_the_focus(owner_client, release):
    draft, toile = release.stages.all()
    f.StageFactory(release=release, name="Grade")
    page = post(owner_client, "stage-move", draft.pk, way="1", place="0").text
    assert [stage.name for stage in release.stages.all()] == ["Toile", "Draft", "Grade"]
    assert 'id="order" open' in page
    assert re.findall(r"autofocus>(\w+)<span[^>]*>: (\w+)", page) == [("Down", "Draft")]
    page = post(owner_client, "stage-move", draft.pk, way="1", place="1").text
    assert re.findall(r"autofocus>(\w+)<span[^>]*>: (\w+)", page) == [("Up", "Draft")]
    page = post(owner_client, "stage-move", toile.pk, way="sideways", place="0").text
    assert "autofocus" not in page


def test_what_a_tester_reported(owner_client, release):
    post(owner_client, "tester-new", release.pk, name="A. M.", size="16", sent_on="2026-02-01")
    tester = release.testers.get()
    assert "A. M., size 16 Sent Sun 1 Feb 2026, no answer yet" in part(
        page_of(owner_client, release), "testers"
    )
    report = {"name": "A. M.", "size": "16", "back_on": "2026-03-01", "report": "Sleeve is tight"}
    page = post(owner_client, "tester", tester.pk, **report)
    assert "Answered Sun 1 Mar 2026 Sleeve is tight" in part(page.text, "testers")
    page = post(owner_client, "tester-off", tester.pk)
    assert part(page.text, "testers") == "Sizes tested None yet. A tester"


def test_an_erratum_is_put_right_at_one_tap(owner_client, release):
    post(owner_client, "erratum-new", release.pk, words="Notch is off", found_on="2026-03-01")
    erratum = release.errata.get()
    for _ in range(2):
        page = post(owner_client, "erratum-mended", erratum.pk, on="1")
    assert "Found Sun 1 Mar 2026, put right Wed 4 Mar 2026" in part(page.text, "errata")
    page = post(owner_client, "erratum-mended", erratum.pk, on="0")
    assert ", put right" not in part(page.text, "errata")


def test_money_spent(owner_client, release):
    post(owner_client, "cost-new", release.pk, words="Printing", amount="45", day="2026-03-01")
    page = page_of(owner_client, release)
    assert "Printing Sun 1 Mar 2026 €45.00" in part(page, "money")
    cost = release.costs.get()
    page = post(owner_client, "cost", cost.pk, words="Printing", amount="no", day="2026-03-01")
    assert "Write an amount in EUR" in beside(page, "amount")


def log(client, stage, **facts):
    return client.post(reverse("stage-minutes", args=[stage.pk]), facts)


def test_hours_are_written_down_afterwards_once(owner_client, owner, release):
    stage = release.stages.last()
    form = owner_client.get(reverse("stage-minutes", args=[stage.pk])).text
    at = re.search(r'name="at" value="([^"]+)"', form)[1]
    with clock.pretend(clock.now() + timedelta(minutes=1)):
        for _ in range(2):
            log(owner_client, stage, minutes="1:30", day="2026-03-02", at=at)
    time = BenchTime.objects.get(minutes=90)
    assert (time.stage, time.purpose, time.by, time.line) == (stage, "release", owner, None)
    assert clock.local(time.started_at).isoformat() == "2026-03-02T10:30:00+00:00"
    assert "Toile 21 h 30 of 54 h" in rail(page_of(owner_client, release))


@pytest.mark.parametrize(
    ("facts", "why"),
    [
        ({"minutes": "", "day": "2026-03-02"}, "Write minutes between 1 and 1440."),
        ({"minutes": "1", "day": "2026-03-05"}, "This time has not come yet."),
        ({"minutes": "soon", "day": "2026-03-02"}, "Write hours such as 7.5 or 7:30"),
    ],
)
def test_hours_that_cannot_be_are_refused(owner_client, release, facts, why):
    page = log(owner_client, release.stages.last(), **facts)
    assert why in beside(page, "minutes")
    assert BenchTime.objects.count() == 2


def test_hours_written_by_mistake_are_taken_off(owner_client, release):
    stage = release.stages.last()
    wrong = spend(stage, hours=7)
    page = owner_client.get(reverse("stage-minutes", args=[stage.pk])).text
    assert "7 h, Wed 4 Mar 2026 Remove" in part(page, "last")
    assert "7 h," not in part(post(owner_client, "stage-minutes-off", wrong.pk).text, "last")
    assert "Toile 20 h of 54 h" in rail(page_of(owner_client, release))
    page = owner_client.get(reverse("stage-minutes", args=[stage.pk])).text
    entry = re.search(r'name="entry" value="(\d+)"', page)[1]
    post(owner_client, "stage-minutes", stage.pk, save="undo", entry=entry)
    assert "Toile 27 h of 54 h" in rail(page_of(owner_client, release))


@pytest.mark.postgres
@pytest.mark.parametrize("other", [{"minutes": None}, {"stage": None}], ids=["running", "no stage"])
def test_no_other_hours_are_taken_off(owner_client, release, other):
    facts = {"line": None, "purpose": "release", "stage": release.stages.last()} | other
    time = f.BenchTimeFactory(**facts)
    assert post(owner_client, "stage-minutes-off", time.pk).status_code == 404
    assert BenchTime.objects.filter(pk=time.pk).exists()


@pytest.mark.parametrize("count", [1, 3])
def test_the_hours_of_a_stage_ask_the_database_as_often_for_any_number(
    owner_client, django_assert_num_queries, count
):
    stage = f.StageFactory()
    for _ in range(count):
        spend(stage, hours=1)
    # Login (2), the studio, the stage, its hours, its last step.
    with django_assert_num_queries(6):
        owner_client.get(reverse("stage-minutes", args=[stage.pk]))


def test_what_is_pressed_says_so(owner_client, release):
    f.ErratumFactory(release=release, words="Notch", mended_on=TODAY)
    page = page_of(owner_client, release)
    pressed = r'value="(\d)" aria-pressed="(\w+)">[\w ]+<span[^>]*>: (\w+)'
    assert re.findall(pressed, page) == [("0", "true", "Notch")]
    draft, toile = release.stages.all()
    assert re.search(rf'name="done-{draft.pk}"[^>]* checked', page)
    assert not re.search(rf'name="done-{toile.pk}"[^>]* checked', page)


@pytest.mark.postgres
def test_all_guesses_and_ticks_are_saved_at_once(owner_client, release):
    draft, toile = release.stages.all()
    test = f.StageFactory(release=release, name="Test")
    sent = {
        f"stage-{draft.pk}": "45", f"stage-{toile.pk}": "54:30", f"stage-{test.pk}": "",
        f"done-{toile.pk}": "on",
    }  # fmt: skip
    page = post(owner_client, "release-guesses", release.pk, **sent)
    # 45 h + 54 h 30 are guessed; Draft is not done after all: 4 h of it are to go, of Toile none.
    assert in_all(page.text) == "In all 99 h 30 61 h 4 h"
    assert [bool(stage.done_at) for stage in release.stages.all()] == [False, True, False]
    page = post(owner_client, "release-guesses", release.pk, **sent | {f"stage-{test.pk}": "soon"})
    assert "Guess for Test: Write hours such as" in words(page.text)
    assert in_all(page.text) == "In all 99 h 30 61 h 4 h"


def test_sizes_say_who_has_answered_and_what_is_missing(owner_client, release):
    release.pattern = f.PatternFactory(sizes="34-40, 44")
    release.save()
    f.TesterFactory(release=release, size="36", sent_on=TODAY, back_on=TODAY, report="")
    f.TesterFactory(release=release, size="44", sent_on=TODAY)
    f.TesterFactory(release=release, size="50")
    f.TesterFactory(release=release, size="")
    testers = part(page_of(owner_client, release), "testers")
    assert "34 open 36 answered 38 open 40 open 44 sent 50 open" in testers
    assert "Nobody has answered of 34, 38, 40, 50 yet." in testers
    assert all(missing in testers for missing in ("report missing", "size missing"))


def test_pattern_samples_and_photographs_belong_to_it(owner_client, release):
    pattern = f.PatternFactory(name="Skirt pattern", picture=f.PictureFactory())
    make = f.MakeFactory(words="Corduroy sample", pattern=pattern)
    post(owner_client, "release-edit", release.pk, name="Wrap skirt", pattern=pattern.pk)
    sent = {"sample": make.pk, "photos": [file_of("JPEG", "a.jpg"), file_of("JPEG", "b.jpg")]}
    page = post(owner_client, "release-belongs", release.pk, **sent).text
    belongs = part(page, "belongs")
    assert all(words in belongs for words in ("Skirt pattern", "Corduroy sample"))
    assert release.pictures.count() == 2
    assert "of-ours" in owner_client.get(pattern.get_absolute_url()).text
    photo = release.pictures.first()
    for name, row in (("release-sample-off", make), ("release-photo-off", photo)):
        owner_client.post(reverse(name, args=[release.pk, row.pk]))
    assert (release.samples.count(), release.pictures.count()) == (0, 1)
    page = post(owner_client, "release-belongs", release.pk)
    assert "Choose a make, or a photograph." in words(page.text)


def test_another_price_is_tried_on_the_curve(owner_client, release):
    """3800.00 / 9.00 is the 423rd copy, / 12.00 the 317th (316.7), / 4.50 the 845th (844.4)."""
    page = page_of(owner_client, release)
    assert "423 copies break even at €9.00" in page
    table = part(page, "money")
    assert "€12.00 317 copies" in table
    # 423 copies at 10 a month are 43 months, at 20 are 22, at 40 are 11.
    assert "10 a month: 3 y 7 m · 20 : 1 y 10 m · 40 : 11 m" in table
    tried = owner_client.get(release.get_absolute_url(), {"price": "4.50"}).text
    assert "845 copies break even at €4.50" in tried
    assert "Only tried: it costs €9.00." in words(tried)
    release.refresh_from_db()
    assert release.price == 900


@pytest.mark.postgres
@pytest.mark.parametrize("count", [1, 3])
def test_a_page_asks_the_database_as_often_for_any_number(
    owner_client, django_assert_num_queries, release, count
):
    for kind in (f.StageFactory, f.TesterFactory, f.ErratumFactory, f.CostFactory, f.SaleFactory):
        kind.create_batch(count, release=release)
    last = f.ReleaseFactory(published_on=date(2025, 1, 10))
    f.SaleFactory(release=last, day=date(2025, 2, 1))
    # Login (2), the studio; the release, its stages, their hours, costs, sales; the last release
    # and its sales; then testers, errata, and costs row by row.
    # Makes to choose a sample from, photographs, and samples with what marks their tiles.
    release.samples.set(f.MakeFactory.create_batch(count))
    with django_assert_num_queries(20):
        page_of(owner_client, release)
