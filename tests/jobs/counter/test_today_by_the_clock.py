"""The first page at midnight, when the clock changes, after closing, and without bench time."""

import re

import pytest
import time_machine

from jobs.tickets import actions as tickets
from studio.shop import clock
from studio.shop.models import WorkingDay
from tests import factories as f
from tests.drafts import hem
from tests.jobs.planning.books import at
from tests.jobs.planning.pages import day, part, words

pytestmark = pytest.mark.usefixtures("monday")


def test_the_day_ends_at_the_studios_own_midnight(owner_client, bring, studio, owner):
    tonight, tomorrow = bring(0, hour="23:30"), bring(1, hour="00:30", name="Bo Lark")
    for ticket in (tonight, tomorrow):
        tickets.tick_all(ticket=ticket, by=owner)
        tickets.mark_ready(ticket=ticket, by=owner)
    (row,) = day(owner_client.get("/"))
    assert row.startswith("23:30 Pick-up Ada Moss")
    # At 23:30 in Dublin it is Tuesday noon in Auckland, where Monday was over at 11:00 UTC.
    type(studio).objects.update(time_zone="Pacific/Auckland")
    assert day(owner_client.get("/")) == []


# The instants are the IANA time zone database's: Europe/Dublin springs forward on 29 March and
# falls back on 25 October 2026, America/New_York on 8 March and 1 November, Pacific/Auckland on
# 27 September (forward) and 5 April (back). On these Sundays the bench is open from nine to five.
@pytest.mark.parametrize(
    ("zone", "morning", "offset"),
    [
        ("Europe/Dublin", "2026-03-29 08:00Z", "+01:00"),
        ("Europe/Dublin", "2026-10-25 09:00Z", "+00:00"),
        ("America/New_York", "2026-03-08 13:00Z", "-04:00"),
        ("America/New_York", "2026-11-01 14:00Z", "-05:00"),
        ("Pacific/Auckland", "2026-04-04 21:00Z", "+12:00"),
        ("Pacific/Auckland", "2026-09-26 20:00Z", "+13:00"),
    ],
)
def test_the_clock_is_right_on_the_day_it_changes(
    zone, morning, offset, owner_client, owner, bring, studio
):
    type(studio).objects.update(time_zone=zone)
    WorkingDay.objects.update(minutes=480)
    with time_machine.travel(morning, tick=False):
        owner_client.force_login(owner)
        clock.activate(type(studio).load())
        noon = clock.at(clock.today(), at(0, "12:00").time())
        assert noon.strftime("%z") == offset.replace(":", "")
        bring(0, promise_at=noon)
        page = owner_client.get("/")
    row, _ = day(page)
    assert row == "09:00 Trousers, navy Ada Moss \N{MIDDLE DOT} hem \N{MIDDLE DOT} by 12:00 30 min"
    assert "Start by 11:30 , ready by 12:00" in part(page, "next")


def test_no_bench_time_at_all(owner_client, bring):
    bring(0)
    WorkingDay.objects.update(minutes=0)
    page = owner_client.get("/")
    assert "There is no bench time on any day" in page.text
    assert part(page, "evening").startswith("Closed today.")
    # The client will be at the door all the same.
    assert day(page) == ["17:00 Ada Moss Not ready , promised for today"]


def test_after_closing_late_work_is_next_with_its_start(owner_client, bring, owner):
    late = bring(0, hem(minutes_each=300))
    with time_machine.travel("2026-03-02 19:00Z", tick=False):
        page = owner_client.get("/")
        assert "Trousers, navy: hem" in part(page, "next")
        assert f"Start : {late.number} Hem" in part(page, "next")
        assert "The day is over. What is late comes first." in words(page.text)
        assert 'id="evening"' not in page.text
    # So it is on a closed day, for who sews all the same, also after something was sewn on it.
    with time_machine.travel("2026-03-06 11:00Z", tick=False):
        earlier, ready = bring(9, name="Di Wren"), bring(9, name="Bo Lark")
        tickets.tick_all(ticket=earlier, by=owner)
        tickets.mark_ready(ticket=earlier, by=owner)
    with time_machine.travel("2026-03-07 11:00Z", tick=False):
        for _ in range(2):
            page = owner_client.get("/")
            assert f"Start : {late.number} Hem" in part(page, "next")
            assert "Planned for Mon 9 Mar" in part(page, "next")
            assert "Closed today. What is late comes first." in words(page.text)
            assert 'id="evening"' not in page.text
            assert "The day is over" not in page.text
            tickets.tick_all(ticket=ready, by=owner)
            tickets.mark_ready(ticket=ready, by=owner)
        # What was ready on another day is to be told too: one count, said twice.
        text = words(owner_client.get("/").text)
        assert "2 are ready: tell them" in text
        assert "To say : 2 ready" in text
    # What is promised for later sends nobody to the bench.
    tickets.cancel(ticket=late, why="Changed her mind", by=owner)
    bring(9, name="Cy Wren")
    with time_machine.travel("2026-03-07 11:00Z", tick=False):
        assert 'id="next"' not in owner_client.get("/").text


def test_after_closing_tomorrow_is_told(owner_client, bring, owner):
    late = bring(1, hem(minutes_each=300))
    with time_machine.travel("2026-03-02 19:00Z", tick=False):
        page = owner_client.get("/")
        assert part(page, "evening").startswith("Nothing to sew today. Tue 3 Mar: at least 5 h")
        tickets.tick(line=bring(2).garments.get().lines.get(), by=owner)
        assert part(owner_client.get("/"), "evening").startswith("All of today is sewn. Iron off.")
        bring(-1)
        assert "The day is over. What is late comes first." in words(owner_client.get("/").text)
    assert part(page, "tomorrow").startswith("Tomorrow, Tue 3 Mar")
    assert f'data-goes="/t/{late.number}/"' in page.text


def test_own_sewing_on_a_closed_day_leaves_late_work_next(owner_client, bring):
    """Friday after closing: four hours on Saturday are the owner's, the late hem is Monday's."""
    bring(4)
    with time_machine.travel("2026-03-06 18:30Z", tick=False):
        f.AppointmentFactory(kind="own", name="", starts_at=at(5, "10:00"), minutes=240)
        page = owner_client.get("/")
        assert re.search("Trousers, navy: hem .*Planned for Mon 9 Mar", part(page, "next"))
        assert part(page, "tomorrow").startswith("Tomorrow, Sat 7 Mar 10:00 Own sewing")
        assert part(page, "then").startswith("Mon 9 Mar 09:00 Trousers, navy Ada Moss")


def test_late_work_is_next_though_the_plan_has_own_sewing_first(owner_client, bring, owner, watch):
    """A quarter to five: 15 minutes are too short for the hem of an hour that is late, so that the
    plan sews for the owner; what is late comes next all the same, and is listed once and marked."""
    f.PlanRulesFactory._meta.model.objects.update(own_percent=50)
    late = bring(-1, hem(minutes_each=500), name="Rosalind Late")
    bring(9, name="Ada Later")
    with time_machine.travel("2026-03-02 16:45Z", tick=False):
        page = owner_client.get("/")
    text = part(page, "next")
    assert text.startswith(f"Next \N{MIDDLE DOT} {late.number} Rosalind Late Trousers, navy: hem")
    assert "late" in text
    assert page.text.count(f'name="line" value="{late.garments.get().lines.get().pk}"') == 1


def test_what_was_promised_for_today_and_is_not_ready_has_its_row(owner_client, bring):
    """The clock is past closing: nothing more of it is sewn today, but the client comes at six."""
    bring(0, hour="18:00", name="Lotte Moss")
    with time_machine.travel("2026-03-02 17:30Z", tick=False):
        page = owner_client.get("/")
    assert "18:00 Lotte Moss Not ready , promised for today" in day(page)


def test_own_sewing_gives_way_to_the_one_hem_that_is_promised(owner_client, bring):
    """Friday noon: half of the week is the owner's, so that the five hours left are, and the plan
    has the one hem of 30 minutes on Monday. It is next all the same, and the five hours follow;
    with nine hours more promised for later the own hours stand."""
    f.PlanRulesFactory._meta.model.objects.update(own_percent=50)
    with time_machine.travel("2026-03-06 12:00Z", tick=False):
        one = bring(11)
        page = owner_client.get("/")
        assert part(page, "next").startswith(f"Next \N{MIDDLE DOT} {one.number} Ada Moss Trousers")
        assert "Planned for Mon 9 Mar; 5 h left today" in part(page, "next")
        # A studio that has just begun has let nothing go by.
        assert "Gone by" not in page.text
        bring(11, hem(minutes_each=540))
        assert part(owner_client.get("/"), "next").startswith("Next Own sewing")


def test_the_crumbs_of_own_time_are_nobodys_next_thing(owner_client, bring):
    """A quarter of an hour is left today, all else is for Friday week: not "Own sewing 15 min"."""
    f.PlanRulesFactory._meta.model.objects.update(own_percent=100)
    with time_machine.travel("2026-03-02 16:45Z", tick=False):
        page = owner_client.get("/")
        assert "Own sewing 15 min" not in words(page.text)
        assert 'id="next"' not in page.text
