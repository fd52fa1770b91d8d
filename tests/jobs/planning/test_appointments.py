"""Appointments that are no fittings, and own hours put on a day."""

from datetime import timedelta

import pytest
import time_machine

from jobs.planning.models import Appointment
from jobs.planning.queries import read_week
from studio.shop import clock
from studio.shop.models import Entry
from tests.factories import AppointmentFactory, DayOffFactory, TicketFactory
from tests.jobs.planning.books import at
from tests.jobs.planning.pages import beside, notices, words

pytestmark = pytest.mark.usefixtures("monday")


def put(client, **typed):
    typed_in = {
        "kind": "other",
        "name": "Accounts",
        "day": "2026-03-04",
        "time": "10:00",
        "minutes": "1",
    }
    return client.post("/appointments/", typed_in | typed, follow=True)


@pytest.mark.parametrize("role", ["owner", "helper"])
def test_put_on_a_day_and_taken_off(role, request, studio):
    client = request.getfixturevalue(f"{role}_client")
    for _ in range(2):
        after = put(client)
    assert notices(after) == ["Accounts: Wed 4 Mar 10:00."]
    assert "Accounts Wed 4 Mar, 10:00 (1 h)" in words(after.text)
    made = Appointment.objects.get()
    bench = read_week(studio).book.bench
    # Two stretches of the day are left, an hour and six, a tenth of each lost.
    assert bench.minutes_on(at(2).date()) == 54 + 324
    after = client.post(f"/appointments/{made.pk}/remove/", follow=True)
    assert notices(after) == ["Accounts: removed."]
    assert not Appointment.objects.exists()
    # The notice takes it back, as it was; after a day nobody remembers its name.
    entry = Entry.objects.get(verb="appointment.remove")
    assert f'name="entries" value="{entry.pk}"' in after.text
    assert 'name="back" value="/appointments/"' in after.text
    back = client.post("/week/undo/", {"entries": entry.pk, "back": "/appointments/"})
    assert back.url == "/appointments/"
    assert Appointment.objects.get().name == "Accounts"
    Entry.objects.update(at=clock.now() - timedelta(days=2), undone_at=None)
    put(client, name="Visit", time="16:00")
    assert not Entry.objects.filter(changes__icontains="Accounts").exists()


def test_own_hours_on_a_day_need_no_name(owner_client, studio):
    after = put(owner_client, kind="own", name="", minutes="2")
    assert notices(after) == ["Own sewing: Wed 4 Mar 10:00."]
    assert after.redirect_chain[-1][0] == "/week/2026-03-02/"
    targets = read_week(studio).book.targets
    assert (targets[0].placed, targets[1].placed) == (120, 0)


def test_a_tap_on_it_leads_to_another_day_hour_or_length(owner_client):
    """From the week and from Today; its own hours are no clash, those of another are."""
    own = AppointmentFactory(kind="own", name="", starts_at=at(2, "10:00"), minutes=240)
    AppointmentFactory(name="Dentist", starts_at=at(3, "14:00"), minutes=60)
    today = AppointmentFactory(kind="own", name="", starts_at=at(0, "16:00"), minutes=60)
    TicketFactory()
    address = f"/appointments/{own.pk}/"
    assert f'data-goes="{address}"' in owner_client.get("/week/").text
    assert f'href="/appointments/{today.pk}/"' in owner_client.get("/").text
    page = owner_client.get(address).text
    assert 'value="2026-03-04"' in page
    assert 'value="10:00"' in page
    assert 'name="minutes" value="4"' in page
    sent = {"kind": "own", "name": "", "day": "2026-03-04", "time": "11:00", "minutes": "2"}
    after = owner_client.post(address, sent, follow=True)
    assert after.redirect_chain[-1][0] == "/week/2026-03-02/"
    assert notices(after) == ["Own sewing: Wed 4 Mar 11:00."]
    own.refresh_from_db()
    assert (own.starts_at, own.minutes) == (at(2, "11:00"), 120)
    clash = owner_client.post(address, sent | {"day": "2026-03-05", "time": "13:00"})
    assert "That clashes with: Dentist" in words(clash.text)
    own.refresh_from_db()
    assert own.starts_at == at(2, "11:00")


def test_the_day_is_the_one_that_was_looked_at(owner_client):
    """Today unless the week says another: of a week to come its Monday."""
    assert 'value="2026-03-02"' in owner_client.get("/appointments/").text
    assert 'href="/appointments/?day=2026-03-02">Add' in owner_client.get("/week/").text
    next_week = owner_client.get("/week/2026-03-09/").text
    assert 'href="/appointments/?day=2026-03-09">Add' in next_week
    assert 'value="2026-03-09"' in owner_client.get("/appointments/?day=2026-03-09").text


def test_an_address_fills_in_the_form(owner_client):
    page = owner_client.get("/appointments/?kind=own&day=2026-03-05&minutes=90").text
    assert 'value="2026-03-05"' in page
    assert 'name="minutes" value="1:30"' in page
    assert 'name="time" value="10:00"' in page
    assert '<input type="hidden" name="kind" value="own">' in page


def test_own_sewing_on_a_day_is_asked_how_long_first(owner_client):
    """Only that is left to be said: the hour is the morning's, of today the next quarter's."""
    saturday = "/appointments/?kind=own&day=2026-03-07"
    page = words(owner_client.get(saturday).text)
    assert "Sewing for yourself, Sat 7 Mar" in page
    assert page.index("How long") < page.index("Put it there") < page.index("Day")
    sent = {"kind": "own", "name": "", "day": "2026-03-07", "time": "10:00", "minutes": "4"}
    wrong = owner_client.post(saturday, sent | {"minutes": "soon"})
    assert "Sewing for yourself, Sat 7 Mar" in words(wrong.text)
    after = owner_client.post(saturday, sent, follow=True)
    assert after.redirect_chain[-1][0] == "/week/2026-03-02/"
    assert Appointment.objects.get().minutes == 240
    with time_machine.travel("2026-03-07 15:07Z", tick=False):
        assert 'name="time" value="15:15"' in owner_client.get(saturday).text


@pytest.mark.parametrize(
    ("typed", "field", "message"),
    [
        ({"name": ""}, "name", "Say what it is."),
        ({"day": ""}, "day", "Say on which day."),
        ({"time": ""}, "time", "Say at what time."),
        ({"day": "2026-03-05"}, "day", "The studio is closed on Thu 5 Mar 2026."),
        ({"day": "2026-03-02", "time": "07:00"}, "time", "This time is over."),
        ({"time": "14:30"}, "time", "That clashes with: Dentist, Wed 4 Mar 14:00."),
        ({"minutes": "24:01"}, "minutes", "A day has 24 hours."),
        ({"minutes": "0:04"}, "minutes", "Say how long, five minutes at least."),
        ({"kind": "third"}, "kind", "Select a valid choice."),
    ],
)
def test_what_is_wrong_is_said_beside_the_field(owner_client, typed, field, message):
    AppointmentFactory(name="Dentist", starts_at=at(2, "14:00"), minutes=60)
    DayOffFactory(day=at(3).date())
    response = put(owner_client, **typed)
    assert beside(response, field).startswith(message)
    assert f'value="{typed.get("minutes", "1")}"' in response.text
    assert Appointment.objects.count() == 1


def test_what_is_over_is_not_listed(owner_client):
    AppointmentFactory(name="Last week", starts_at=at(-3))
    AppointmentFactory(name="Early today", starts_at=at(0, "07:00"))
    page = owner_client.get("/appointments/").text
    assert "Last week" not in page
    assert "Early today" in page


@pytest.mark.parametrize("count", [1, 3])
def test_the_list_asks_the_database_four_times(owner_client, django_assert_num_queries, count):
    names = [AppointmentFactory(starts_at=at(day)).name for day in range(count)]
    with django_assert_num_queries(4):
        page = owner_client.get("/appointments/").text
    assert all(name in page for name in names)
