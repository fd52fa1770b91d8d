"""The verbs of a release, taken once, taken twice, and refused."""

from datetime import date, datetime, timedelta
from uuid import uuid4
from zoneinfo import ZoneInfo

import pytest

from jobs.makes import models
from jobs.makes.models import Cost, Erratum, Release, Sale, Stage
from jobs.makes.releases import actions
from jobs.makes.releases.actions import ReleaseError
from studio.shop import clock
from tests import factories as f

NOON = datetime(2026, 3, 4, 12, tzinfo=ZoneInfo("Europe/Dublin"))
TODAY = date(2026, 3, 4)


@pytest.fixture(autouse=True)
def _a_day_in_march(studio):
    with clock.pretend(NOON):
        yield


def again(release: Release) -> Release:
    return Release.objects.get(pk=release.pk)


def names(release: Release) -> list[str]:
    return [stage.name for stage in release.stages.all()]


def three(**facts) -> tuple[Release, list[Stage]]:
    release = f.ReleaseFactory(**facts)
    return release, [f.StageFactory(release=release, name=name) for name in ("a", "b", "c")]


def test_a_new_release_starts_with_the_usual_stages(owner):
    release, _ = actions.start_release(name="Wrap skirt", target_on=date(2026, 9, 1), by=owner)
    assert names(release) == [
        "Draft", "Toile", "Grade", "Test", "Photograph", "Write up", "Publish",
    ]  # fmt: skip
    assert release.target_on == date(2026, 9, 1)


def test_a_release_sent_twice_is_one_and_another_needs_another_name(owner):
    first, _ = actions.start_release(name="Wrap skirt", note="For linen", by=owner)
    assert actions.start_release(name="Wrap skirt", note="For linen", by=owner) == (first, None)
    assert first.stages.count() == 7
    with pytest.raises(ReleaseError, match="called “Wrap skirt” already"):
        actions.start_release(name="Wrap skirt", note="For wool", by=owner)
    assert Release.objects.get().note == "For linen"


@pytest.mark.postgres
def test_a_release_takes_no_name_that_another_has(owner):
    f.ReleaseFactory(name="Wrap skirt")
    other = f.ReleaseFactory(name="Shirt", note="")
    with pytest.raises(ReleaseError, match="already"):
        actions.change_release(release=other, name="Wrap skirt", note="new", by=owner)
    assert list(Release.objects.filter(pk=other.pk).values_list("name", "note")) == [("Shirt", "")]
    actions.change_release(release=other, name="Shirt", note="new", by=owner)
    other.refresh_from_db()
    assert other.note == "new"


def test_published_today_or_not_after_all(owner):
    release = f.ReleaseFactory()
    actions.publish(release=release, by=owner)
    assert again(release).published_on == TODAY
    with clock.pretend(NOON + timedelta(days=9)):
        assert actions.publish(release=release, by=owner) is None
    assert again(release).published_on == TODAY
    actions.withdraw(release=release, by=owner)
    assert again(release).published_on is None


def test_put_away_and_taken_out(owner):
    release, _ = three()
    actions.put_away(release=release, away=True, by=owner)
    assert again(release).put_away_at == NOON
    actions.put_away(release=release, away=False, by=owner)
    assert again(release).put_away_at is None
    assert names(release) == ["a", "b", "c"]


def test_one_more_stage_comes_last(owner):
    release, _ = three()
    for _ in range(2):
        actions.add_stage(release=release, name="Photographs", minutes=90, by=owner)
    assert names(release) == ["a", "b", "c", "Photographs"]
    with pytest.raises(ReleaseError, match="a stage called “a” already"):
        actions.add_stage(release=release, name="a", minutes=5, by=owner)
    bare = f.ReleaseFactory()
    assert actions.add_stage(release=bare, name="a", by=owner)[0].place == 0


def test_a_stage_has_another_name_and_guess(owner):
    release, [first, _, last] = three()
    actions.change_stage(stage=first, name="Sketch", minutes=240, by=owner)
    first.refresh_from_db()
    assert (first.name, first.minutes) == ("Sketch", 240)
    with pytest.raises(ReleaseError, match="already"):
        actions.change_stage(stage=last, name="Sketch", minutes=0, by=owner)
    assert names(release) == ["Sketch", "b", "c"]


def test_up_and_down_to_the_ends(owner):
    release, [a, b, c] = three()
    actions.move_stage(stage=c, step=-1, place=2, by=owner)
    assert names(release) == ["a", "c", "b"]
    actions.move_stage(stage=a, step=1, place=0, by=owner)
    assert names(release) == ["c", "a", "b"]
    actions.move_stage(stage=c, step=-1, place=0, by=owner)
    actions.move_stage(stage=b, step=1, place=2, by=owner)
    assert names(release) == ["c", "a", "b"]


def test_down_sent_twice_moves_once(owner):
    release, [a, *_] = three()
    for _ in range(2):
        actions.move_stage(stage=a, step=1, place=0, by=owner)
    assert names(release) == ["b", "a", "c"]


def test_done_and_undone(owner):
    _, [stage, *_] = three()
    actions.set_done(stage=stage, done=True, by=owner)
    with clock.pretend(NOON + timedelta(hours=1)):
        actions.set_done(stage=stage, done=True, by=owner)
    stage.refresh_from_db()
    assert stage.done_at == NOON
    for _ in range(2):
        actions.set_done(stage=stage, done=False, by=owner)
    stage.refresh_from_db()
    assert stage.done_at is None


def test_a_stage_comes_off_unless_minutes_hang_on_it(owner):
    release, [a, b, _] = three()
    f.BenchTimeFactory(line=None, purpose="release", stage=b)
    actions.take_stage_off(stage=a, by=owner)
    with pytest.raises(ReleaseError, match="Minutes hang on “b”"):
        actions.take_stage_off(stage=b, by=owner)
    assert names(release) == ["b", "c"]


ROWS = [
    (models.Tester, {"name": "A. M.", "size": "16", "sent_on": TODAY}),
    (Erratum, {"words": "Sleeve notch", "found_on": TODAY}),
    (Cost, {"words": "Printing", "amount": 4500, "day": TODAY}),
]


@pytest.mark.parametrize(("kind", "facts"), ROWS)
def test_a_row_is_written_once_changed_and_taken_off(kind, facts, owner):
    release = f.ReleaseFactory()
    field = next(iter(facts))
    for _ in range(2):
        row, _ = actions.write_row(kind, release=release, **facts, by=owner)
    assert kind.objects.get() == row
    actions.change_row(row, **{field: "Other"}, by=owner)
    assert getattr(kind.objects.get(), field) == "Other"
    for _ in range(2):
        actions.take_row_off(row, by=owner)
    assert not kind.objects.exists()


def test_a_sale_written_by_hand_counts_once(owner):
    release, key = f.ReleaseFactory(), uuid4()
    facts = {"release": release, "day": TODAY, "copies": 2, "net": 1800, "by": owner}
    for _ in range(2):
        actions.sell(**facts, form_key=key)
    assert Sale.objects.count() == 1
    actions.sell(**facts, form_key=uuid4())
    assert Sale.objects.count() == 2


def test_another_sale_typed_on_a_page_that_was_sent_is_refused(owner):
    release, key = f.ReleaseFactory(), uuid4()
    sale, _ = actions.sell(release=release, day=TODAY, copies=2, net=1800, form_key=key, by=owner)
    with pytest.raises(actions.SoldAlreadyError) as refused:
        actions.sell(release=release, day=TODAY, copies=3, net=2700, form_key=key, by=owner)
    assert refused.value.sale == sale
    assert list(release.sales.values_list("copies", "net")) == [(2, 1800)]
