"""The calendar of fittings and promise dates, read by an independent reader (vobject)."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
import time_machine
import vobject
from django.urls import reverse

from jobs.planning.feed import calendar, close_feed, initials, open_feed
from jobs.planning.models import CalendarFeed, Fitting
from jobs.tickets import actions
from studio.shop import clock
from studio.shop.doors.logins import PROVED
from tests.drafts import received
from tests.factories import CalendarFeedFactory, ClientFactory, FittingFactory

DUBLIN = ZoneInfo("Europe/Dublin")


@pytest.fixture(autouse=True)
def _in_march():
    """A Wednesday in winter time; in Ireland the clock changes on Sunday 29 March 2026."""
    with time_machine.travel("2026-03-25 10:00Z", tick=False):
        yield


@pytest.fixture
def maeve(studio):
    return ClientFactory(name="Maeve Ní Tuohy")


@pytest.fixture
def ticket(studio, owner, maeve):
    promise = clock.at(date(2026, 3, 30), time(17))
    return received(studio, owner, client=maeve, promise_at=promise)


def read(studio, *, full_names: bool = False) -> list:
    """The events, by their start. RFC 5545, 3.1: no line is longer than 75 octets."""
    written = calendar(studio, full_names=full_names)
    assert max(map(len, written.split(b"\r\n"))) <= 75
    assert b"\n" not in written.replace(b"\r\n", b"")
    feed = vobject.readOne(written.decode())
    feed.validate(raiseException=True)
    events = feed.contents.get("vevent", [])
    return sorted(events, key=lambda event: event.dtstart.value)


def test_a_wall_time_stays_what_it_is_on_both_sides_of_a_clock_change(studio, ticket):
    """Ten in the morning is 10:00 UTC before the last Sunday of March and 09:00 UTC after it
    (Directive 2000/84/EC, article 2), and ten in the morning for whoever reads it."""
    days = [date(2026, 3, 28), date(2026, 3, 30), date(2026, 10, 24), date(2026, 10, 26)]
    for day in days:
        FittingFactory(ticket=ticket, starts_at=clock.at(day, time(10)), minutes=30)

    fittings = [event for event in read(studio) if "duration" in event.contents]

    starts = [event.dtstart.value for event in fittings]
    assert [(moment.date(), moment.hour, moment.utcoffset()) for moment in starts] == [
        (day, hour, timedelta(0)) for day, hour in zip(days, (10, 9, 9, 10), strict=True)
    ]
    assert {moment.astimezone(DUBLIN).time() for moment in starts} == {time(10)}
    assert {event.duration.value for event in fittings} == {timedelta(minutes=30)}


@pytest.mark.postgres
def test_a_promise_is_a_moment_that_keeps_nobody_from_anything(studio, ticket):
    (event,) = read(studio)

    assert event.summary.value == f"Ready by: M. N. T., {ticket.number}"
    assert event.dtstart.value == datetime(2026, 3, 30, 16, tzinfo=UTC)
    assert event.transp.value == "TRANSPARENT"
    assert not {"dtend", "duration"} & set(event.contents)


def test_names_stand_in_full_only_where_the_owner_wants_it(studio, ticket):
    FittingFactory(ticket=ticket)

    assert "Tuohy" not in calendar(studio, full_names=False).decode()
    assert {event.summary.value for event in read(studio, full_names=True)} == {
        f"First fitting: Maeve Ní Tuohy, {ticket.number}",
        f"Ready by: Maeve Ní Tuohy, {ticket.number}",
    }


@pytest.mark.parametrize(
    ("name", "short"),
    [
        ("Maeve Ní Tuohy", "M. N. T."),
        ("élodie", "É."),
        ("  Bo  Ek ", "B. E."),
        ("李 明", "李. 明."),
    ],
)
def test_initials(name, short):
    assert initials(name) == short


def test_what_moved_keeps_its_identifier_and_counts_its_moves(studio, owner, ticket):
    """RFC 5545, 3.8.7.4: the sequence grows with each change of the time, and only then."""
    before = read(studio)[0]
    moved = clock.at(date(2026, 4, 1), time(17))
    actions.move_promise(
        ticket=ticket, promise_at=moved, studio=studio, by=owner, reason="asked for"
    )
    actions.note_worn(
        garment=ticket.garments.get(), worn=actions.WornWith(shoes="black pumps"), by=owner
    )
    after = read(studio)[0]

    assert after.uid.value == before.uid.value
    assert (before.sequence.value, after.sequence.value) == ("0", "1")
    assert after.dtstart.value == moved


def test_what_is_over_or_fell_through_is_left_out(studio, owner, ticket):
    actions.cancel(ticket=ticket, why="changed their mind", by=owner)
    for state in (Fitting.State.MISSED, Fitting.State.CANCELLED):
        FittingFactory(ticket=ticket, state=state)
    FittingFactory(ticket=ticket, starts_at=clock.now() - timedelta(days=32))
    kept = FittingFactory(
        ticket=ticket, state=Fitting.State.KEPT, starts_at=clock.now() - timedelta(days=30)
    )

    assert [event.uid.value.split("@")[0] for event in read(studio)] == [str(kept.uid)]


def test_a_name_of_many_letters_is_folded_and_read_back(studio, ticket, maeve):
    maeve.name = "Ólafía, " * 20 + "und\\Söhne; 裁縫"
    maeve.save()

    assert maeve.name in read(studio, full_names=True)[0].summary.value


@pytest.mark.parametrize("rows", [1, 3])
def test_the_calendar_takes_three_queries(rows, studio, owner, django_assert_num_queries):
    for _ in range(rows):
        FittingFactory(ticket=received(studio, owner))
    with django_assert_num_queries(3):
        assert len(read(studio)) == 2 * rows


def address(feed: CalendarFeed) -> str:
    return reverse("calendar-feed", args=[feed.key])


def test_the_address_needs_no_login_and_nobody_guesses_it(client, studio, ticket):
    feed = CalendarFeedFactory(key="x" * 43)
    answer = client.get(address(feed))

    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    assert ticket.number in answer.content.decode()
    assert client.get(reverse("calendar-feed", args=["y" * 43])).status_code == 404


def test_a_key_is_256_bits_of_chance(owner):
    keys = {open_feed(full_names=False, by=owner).key for _ in range(20)}
    assert len(keys) == 20
    assert {len(key) for key in keys} == {43}  # 256 bits at 6 bits a character


def test_the_owner_makes_an_address_replaces_it_and_turns_it_off(client, owner_client, studio):
    earlier = owner_client.session
    earlier[PROVED] = f"{clock.now() - timedelta(hours=1)}"
    earlier.save()
    asked = owner_client.post(reverse("studio-calendar-new"), {"full_names": "on"})
    assert 'name="proof-password"' in asked.text
    assert 'name="full_names"' in asked.text
    assert not CalendarFeed.objects.exists()
    earlier[PROVED] = f"{clock.now()}"
    earlier.save()
    owner_client.post(reverse("studio-calendar-new"))
    first = CalendarFeed.objects.get()
    assert f"http://testserver{address(first)}" in owner_client.get("/studio/calendar/").text
    assert client.get(address(first)).status_code == 200
    assert not first.full_names

    owner_client.post(reverse("studio-calendar-new"), {"full_names": "on"})
    second = CalendarFeed.objects.get()
    assert second.full_names
    assert client.get(address(first)).status_code == 404
    assert client.get(address(second)).status_code == 200

    owner_client.post(reverse("studio-calendar-off"))
    assert client.get(address(second)).status_code == 404
    close_feed()
    assert "Make the address" in owner_client.get("/studio/calendar/").text
