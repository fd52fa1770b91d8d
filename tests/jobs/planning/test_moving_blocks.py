"""A block of the week is lifted, every day answers, it is put down, let loose, and put back."""

import re
from datetime import timedelta

import pytest
import time_machine

from jobs.planning import actions
from jobs.planning.models import OwnSewingDay, SewingDay
from jobs.planning.plan.book import overtime_of
from jobs.planning.plan.day_line import beyond, planned_parts
from jobs.planning.queries import read_week
from studio.shop.models import Profile
from tests import factories as f
from tests.drafts import hem
from tests.jobs.planning.books import MONDAY, at, book, fitting, job, work
from tests.jobs.planning.pages import notices, words

TUESDAY, WEDNESDAY, THURSDAY = (MONDAY + timedelta(days=ahead) for ahead in (1, 2, 3))
WEEK = f"/week/{MONDAY}/"


@pytest.fixture(autouse=True)
def _monday(studio):
    """Monday 2 March, nine in the morning; forty hours of bench, no time lost, none of it own."""
    f.PlanRulesFactory(lost_percent=0, own_percent=0)
    with time_machine.travel("2026-03-02 09:00Z", tick=False):
        yield


def studio_of() -> Profile:
    return Profile.objects.get()


def line_of(ticket):
    return ticket.garments.get().lines.get()


def answers(page) -> dict[str, str]:
    """What each day says to what is in the hand, and ``(no)`` where it cannot be chosen."""
    slots = re.findall(
        r'data-day="([^"]+)".*?<(label|span) class="slot[^>]*>(.*?)</\2>', page.text, re.DOTALL
    )
    return {
        day: words(re.sub(r'<span class="visually-hidden">.*?</span>', "", inside))
        + ("" if kind == "label" else " (no)")
        for day, kind, inside in slots
    }


def fields(page, ident: str) -> dict[str, list[str]]:
    """The hidden fields of a form of the page."""
    form = re.search(rf'<form id="{ident}".*?</form>', page.text, re.DOTALL)
    assert form, f"There is no form {ident}."
    rows = re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', form[0])
    return {name: [value for key, value in rows if key == name] for name, _ in rows}


def test_every_day_answers_and_nothing_is_saved(owner_client, bring):
    """By hand: six hours due on Thursday; Tuesday holds six more, Wednesday is full till its end.

    Wednesday's eight hours belong to Bo, who was promised it; so the six hours do not fit there
    without Bo being late by a day.
    """
    ada = bring(3, hem(minutes_each=360))
    bo = bring(2, hem(minutes_each=480), name="Bo Lark")
    actions.put_on_day(lines=[line_of(bo)], day=WEDNESDAY, studio=studio_of(), by=f.UserFactory())
    page = owner_client.get(WEEK, {"lines": line_of(ada).pk})
    said = answers(page)
    assert said[str(MONDAY)] == "Costs you nothing"
    assert said[str(TUESDAY)] == "Costs you nothing"
    assert said[str(WEDNESDAY)].startswith("Bo Lark late")
    assert said[str(THURSDAY)] == "Costs you nothing"
    assert said[str(MONDAY + timedelta(days=4))].startswith("Ada Moss late 1 day")
    assert said[str(MONDAY + timedelta(days=5))] == "closed (no)"
    assert "Put it there" not in page.text
    assert SewingDay.objects.count() == 1


def test_a_look_shows_the_week_as_it_would_be_and_put_keeps_it(owner_client, bring):
    line = line_of(bring(3, hem(minutes_each=60)))
    look = owner_client.get(WEEK, {"lines": line.pk, "day": WEDNESDAY})
    assert "navy trousers, hem 1 h put here ready by Thu 5" in words(look.text)
    assert "1 promise holds" in words(look.text)
    assert not SewingDay.objects.exists()
    after = owner_client.post("/week/put/", fields(look, "put"), follow=True)
    assert notices(after) == ["Put on Wed 4 Mar."]
    assert SewingDay.objects.get().day == WEDNESDAY
    entries = re.search(r'name="entries" value="([\d,]+)"', after.text)[1]
    back = owner_client.post("/week/undo/", {"entries": entries}, follow=True)
    assert notices(back) == ["Undone."]
    assert not SewingDay.objects.exists()


def test_a_block_that_was_put_is_let_loose(owner_client, bring):
    line = line_of(bring(3))
    actions.put_on_day(lines=[line], day=TUESDAY, studio=studio_of(), by=f.UserFactory())
    page = owner_client.get(WEEK, {"lines": line.pk})
    assert "Let it loose" in page.text
    after = owner_client.post("/week/loose/", {"lines": line.pk}, follow=True)
    assert notices(after) == ["Let loose: it is sewn wherever the plan has it."]
    assert not SewingDay.objects.exists()


def test_it_costs_own_hours_and_says_how_many(owner_client, bring):
    """Eight hours of the week are kept, all put on Tuesday. An hour there costs one."""
    f.OwnWeekFactory(monday=MONDAY, minutes=480)
    f.OwnSewingDayFactory(day=TUESDAY, minutes=480)
    line = line_of(bring(3, hem(minutes_each=60)))
    page = owner_client.get(WEEK, {"lines": line.pk, "day": TUESDAY})
    assert answers(page)[str(TUESDAY)] == "Costs you 1 h"
    assert "1 promise holds costs you 1 h" in words(page.text)
    assert answers(page)[str(WEDNESDAY)] == "Costs you nothing"


def test_a_broken_promise_is_agreed_anew_with_the_block_or_not_at_all(owner_client, bring):
    """Wednesday is all Bo's, the days before are closed: an hour there makes Bo late."""
    for day in (MONDAY, TUESDAY):
        f.DayOffFactory(day=day)
    bo = bring(2, hem(minutes_each=480), name="Bo Lark")
    line = line_of(bring(3, hem(minutes_each=60)))
    look = owner_client.get(WEEK, {"lines": line.pk, "day": WEDNESDAY})
    assert answers(look)[str(WEDNESDAY)] == "Bo Lark late 1 day"
    # Before anything is pressed: who breaks and by when, who holds, and what it costs.
    bar = words(look.text.partition('aria-label="In the hand"')[2])
    assert "To Wed 4 Mar: Ada Moss, A hem Bo Lark late 1 day, Thu 5 Mar 1 promise holds" in bar
    assert "costs" not in bar
    assert "Put it there and move Bo Lark" in bar
    bo.refresh_from_db()
    assert (bo.promise_at, SewingDay.objects.count()) == (at(2), 0)
    asked = fields(look, "put")
    unseen = owner_client.post("/week/put/", {**asked, "move": []}, follow=True)
    assert "The week has changed since" in unseen.text
    assert not SewingDay.objects.exists()
    after = owner_client.post("/week/put/", asked, follow=True)
    assert notices(after) == ["Put on Wed 4 Mar. Bo Lark is promised for Thu 5 Mar."]
    bo.refresh_from_db()
    assert bo.promise_at.date() == THURSDAY
    assert read_week(studio_of()).book.load.at_risk == []
    entries = re.search(r'name="entries" value="([\d,]+)"', after.text)[1]
    owner_client.post("/week/undo/", {"entries": entries})
    bo.refresh_from_db()
    assert (bo.promise_at.date(), SewingDay.objects.count()) == (WEDNESDAY, 0)


def test_another_week_offers_its_best_day_too(owner_client, bring):
    """Promised for Friday of the week after, and Monday 9 is all Bo's: Tuesday 10 takes nothing."""
    bo = bring(7, hem(minutes_each=480), name="Bo Lark")
    actions.put_on_day(
        lines=[line_of(bo)], day=at(7).date(), studio=studio_of(), by=f.UserFactory()
    )
    line = line_of(bring(11, hem(minutes_each=60)))
    page = owner_client.get(WEEK, {"lines": line.pk})
    ahead = page.text.split('id="ahead"')[1]
    offered = re.findall(r'name="day" value="([^"]+)"', ahead)
    assert offered[0] == "2026-03-10"
    assert "Tue 10: Costs you nothing" in words(ahead)
    look = owner_client.get(WEEK, {"lines": line.pk, "day": "2026-03-10"})
    after = owner_client.post("/week/put/", fields(look, "put"))
    assert after["Location"] == "/week/2026-03-09/"
    assert str(SewingDay.objects.get(line=line).day) == "2026-03-10"


@pytest.mark.postgres
def test_own_minutes_are_put_on_a_day_and_come_to_what_is_there(owner_client, studio):
    f.OwnWeekFactory(monday=MONDAY, minutes=120)
    f.OwnSewingDayFactory(day=THURSDAY, minutes=30)
    asked = {"own": MONDAY, "minutes": 90}
    look = owner_client.get(WEEK, asked | {"day": THURSDAY})
    assert "Own sewing put here 2 h" in words(look.text)
    owner_client.post("/week/put/", fields(look, "put"))
    assert list(OwnSewingDay.objects.values_list("day", "minutes")) == [(THURSDAY, 120)]
    # What was put there is lifted whole, and lies on the new day alone.
    lifted = {"own": THURSDAY, "minutes": 120, "put": "on", "day": TUESDAY}
    owner_client.post("/week/put/", lifted)
    assert list(OwnSewingDay.objects.values_list("day", "minutes")) == [(TUESDAY, 120)]
    owner_client.post("/week/loose/", {"own": TUESDAY, "minutes": 120, "put": "on"})
    assert not OwnSewingDay.objects.exists()


def test_own_minutes_too_many_for_a_day(owner_client):
    """Eight hours on a day; nine do not go."""
    f.OwnWeekFactory(monday=MONDAY, minutes=540)
    page = owner_client.get(WEEK, {"own": MONDAY, "minutes": 540})
    assert answers(page)[str(TUESDAY)] == "Too full by 1 h (no)"


def test_the_owners_hours_are_not_the_helpers_to_move(helper_client):
    f.OwnWeekFactory(monday=MONDAY, minutes=120)
    sent = {"own": MONDAY, "minutes": 60, "day": TUESDAY}
    assert helper_client.post("/week/put/", sent).status_code == 403
    assert helper_client.post("/week/loose/", sent).status_code == 403
    assert not OwnSewingDay.objects.exists()


def test_a_block_that_can_no_longer_be_on_its_day_is_told(owner_client, bring, studio):
    """Put on Tuesday, which then is closed: at risk, named above the week, planned as if loose."""
    line = line_of(bring(3))
    actions.put_on_day(lines=[line], day=TUESDAY, studio=studio, by=f.UserFactory())
    f.DayOffFactory(day=TUESDAY)
    page = words(owner_client.get("/week/").text)
    assert (
        "Promises at risk Ada Moss , A hem: put on Tue 3 Mar, which is closed. It is planned as "
        "if it were loose. Another day Let it loose"
    ) in page


@pytest.mark.parametrize(
    "asked",
    [{"lines": "999999"}, {"lines": "1,x"}, {"own": "2026-03-02", "minutes": "0"}, {"own": "soon"},
     {"own": "2026-03-02", "minutes": "60", "make": "77"},
     {"own": "2026-03-02", "minutes": "60", "put": "on"}],
)  # fmt: skip
def test_what_is_not_there_cannot_be_lifted(owner_client, asked):
    page = owner_client.get(WEEK, asked, follow=True)
    assert page.redirect_chain == [(WEEK, 302)]
    assert "no longer where it was" in page.text
    after = owner_client.post("/week/put/", asked | {"day": TUESDAY}, follow=True)
    assert "no longer where it was" in after.text
    assert not SewingDay.objects.exists()


@pytest.mark.parametrize("count", [1, 3])
def test_lifting_asks_the_database_as_often_for_any_number(
    owner_client, bring, count, django_assert_num_queries
):
    lines = [line_of(bring(3)) for _ in range(count)]
    with django_assert_num_queries(15):
        owner_client.get(WEEK, {"lines": lines[0].pk, "day": TUESDAY})


def test_the_smallest_of_many_blocks_lie_together():
    """Nine tickets of 20 to 60 minutes on one day: the four smallest are told as one."""
    minutes = [60, 20, 55, 25, 50, 30, 45, 35, 40]
    jobs = [job(f"26-{n:04}", at(0), work(n, length)) for n, length in enumerate(minutes, 1)]
    parts = [part for part in planned_parts(book(*jobs), MONDAY) if part.kind == "clients"]
    assert len(parts) == 6
    (together,) = [part for part in parts if part.small]
    assert sorted(part.minutes for part in together.small) == [20, 25, 30, 35]
    assert sum(part.minutes for part in parts) == sum(minutes)


def test_what_does_not_fit_lies_beyond_the_day_and_comes_to_the_least_overtime():
    """By hand: ten hours due on Monday, eight of bench: two beyond. Tuesday: 16 + 1 due, 16 held:
    one more, of which two are beyond Monday already, so none beyond Tuesday. Friday holds all.
    """
    full = book(
        job("26-0001", at(0), work(1, 300)),
        job("26-0002", at(0), work(2, 300)),
        job("26-0003", at(1), work(3, 420)),
        job("26-0004", at(4), work(4, 60)),
    )
    days = beyond(full)
    assert {
        day: [(part.ticket, part.minutes) for part in parts] for day, parts in days.items()
    } == {MONDAY: [("26-0002", 120)]}
    assert overtime_of(full.calendar, full.load) == 120
    assert beyond(book(job("26-0001", at(0), work(1, 480)))) == {}


def test_free_time_lies_at_the_end_of_each_stretch(studio):
    """Nine to five, a fitting at noon: three hours before it, four and a half behind."""
    week = book(
        job("26-0001", at(4), work(1, 60), work(2, 30, after=1), fittings=[fitting(0, "12:00")])
    )
    parts = planned_parts(week, MONDAY)
    assert [(part.kind, part.minutes) for part in parts] == [
        ("clients", 60), ("free", 120), ("clients", 30), ("free", 240),
    ]  # fmt: skip
