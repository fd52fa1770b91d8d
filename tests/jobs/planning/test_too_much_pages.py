"""Do all promises fit? Which do not, by how much, and two presses that mend it."""

import html
import re
from datetime import date, datetime, time, timedelta

import pytest
import time_machine

from jobs.planning.models import Fitting, LongerDay, PlanRules
from studio.shop import clock, history
from studio.shop.models import Entry, WorkingDay
from tests import factories
from tests.drafts import hem, received, take_in, trousers
from tests.jobs.planning.pages import words

MONDAY = date(2026, 3, 2)


@pytest.fixture(autouse=True)
def _monday():
    with time_machine.travel("2026-03-02 09:00Z", tick=False):
        yield


def at(day, hour=17):
    return clock.at(MONDAY + timedelta(days=day), time(hour))


@pytest.fixture
def promise(studio, owner):
    """A ticket of so many minutes, promised for 17:00 of a day; 8 h a day are lost to nobody."""
    factories.PlanRulesFactory(lost_percent=0)

    def make(day, *minutes, name="Mary Larkin", **facts):
        lines = [hem(minutes_each=each, **facts) for each in minutes]
        client = factories.ClientFactory(name=name)
        return received(studio, owner, trousers(*lines), client=client, promise_at=at(day))

    return make


def look(client, there="/too-much/"):
    return " ".join(client.get(there).content.decode().split())


def test_nothing_is_promised(owner_client, studio):
    assert "Nothing is promised, so everything fits." in look(owner_client)


def test_all_fit_and_the_tightest_is_named(owner_client, promise):
    promise(4, 600)
    ticket = promise(1, 925)
    page = look(owner_client)
    assert "<h1>It fits.</h1>" in page
    assert "All 2 promises fit. Tightest: Tue 3 Mar, 35 min spare" in page
    assert f'href="{ticket.get_absolute_url()}"' in page


def figures(page):
    """What the bar's key says, by name."""
    key = re.search(r'<dl class="key">(.*?)</dl>', page).group(1)
    return dict(re.findall(r"([A-Z][a-z ]+)</dt><dd>(.*?)</dd>", key))


def foot(page):
    """What it says where scripts run: without them it has one more button."""
    step = re.search(r'<section class="step".*?</section>', page).group(0)
    return words(re.sub("<noscript>.*?</noscript>", "", step))


def rows(page):
    """The promises on the page by ticket: their minutes, and the new day of those ticked."""
    found = re.findall(
        r'name="move" id="move-([0-9-]+)"[^>]*?( checked)?>.*?</label>.*?: ([^"]*?)">', page
    )
    new = dict(re.findall(r'name="to-([0-9-]+)" value="(.*?)"', page))
    return {number: (minutes, new.get(number)) for number, _, minutes in found}


def taken(page):
    """The page after the filled button was pressed: a link while something is over."""
    return html.unescape(re.search(r'class="btn main big" id="take" href="([^"]*)"', page).group(1))


def fields(page):
    """What the foot's form sends."""
    form = re.search(r'<section class="step".*?</section>', page).group(0)
    sent = re.findall(r'<input type="hidden" name="([^"]*)" value="([^"]*)"', form)
    return {name: [v for n, v in sent if n == name] for name, _ in sent}


def test_too_much_says_by_how_much_and_one_figure_stands_in_bar_list_and_foot(
    owner_client, promise
):
    first, second = promise(2, 20 * 60), promise(2, 380, name="Tom Field")
    page = look(owner_client)
    assert "<h1>Too much by Wed 4 Mar</h1>" in page
    # Three days of 8 h hold 24 of the 26 h 20.
    assert figures(page) == {"Promised": "26 h 20", "Fits": "24 h", "Does not fit": "2 h 20"}
    assert rows(page) == {second.number: ("6 h 20", None), first.number: ("20 h", None)}
    assert "2 h 20 over Tom, 6 h 20" in foot(page)
    assert "Mary Larkin 20 h, Tom Field 4 h, Does not fit 2 h 20" in page


def test_only_what_is_due_in_those_days_is_counted(owner_client, studio, owner, promise):
    """Of the dress's 7 h only the 4 h before its fitting are due by Tuesday noon."""
    hemmed = promise(0, 480)
    lines = take_in(minutes_each=240), hem(minutes_each=180, fitting_first=True)
    dress = received(studio, owner, trousers(*lines), promise_at=at(4))
    factories.FittingFactory(ticket=dress, starts_at=at(1, 12), minutes=30)
    page = look(owner_client)
    # Monday's 8 h and Tuesday's 3 until noon.
    assert "<h1>Too much by Tue 3 Mar</h1>" in page
    assert figures(page) == {"Promised": "12 h", "Fits": "11 h", "Does not fit": "1 h"}
    assert rows(page) == {hemmed.number: ("8 h", None), dress.number: ("4 h", None)}
    assert '4 h<small class="muted"> of 7 h</small>' in page
    stays = page[page.index("Better not moved") :]
    assert f"move-{dress.number}" in stays
    assert f"move-{hemmed.number}" not in stays
    assert "<small>comes to try on</small>" in stays


def test_two_presses_move_the_fewest_promises_and_one_takes_them_back(owner_client, promise):
    # The week is full: the next open day is Monday the 9th.
    kept = promise(4, 2400)
    ticket = promise(4, 180, name="Tom Field")
    there = taken(look(owner_client))
    assert there == f"/too-much/?move={ticket.number}"
    page = " ".join(owner_client.get(there).text.split())
    assert "<h1>It fits.</h1>" in page
    assert figures(page) == {"Promised": "40 h", "Moved": "3 h"}
    assert rows(page)[ticket.number] == ("3 h", "2026-03-09")
    assert "All promises hold" in foot(page)
    assert "Agree 1 new day" in foot(page)
    assert f"Your ticket {ticket.number}: it will be ready by Mon 9 Mar 2026, not by" in page

    response = owner_client.post("/too-much/agree/", fields(page))
    assert response.url == f"/new-days/?ticket={ticket.number}"
    ticket.refresh_from_db()
    kept.refresh_from_db()
    assert (ticket.promise_at, ticket.version, kept.version) == (at(7), 2, 1)
    assert ticket.agreements.get(version=2).reason == "the days before were too full"
    shown = " ".join(owner_client.get(response.url).text.split())
    assert "Saved: 1 new day. Now tell them." in shown
    assert "We are sorry. Does that suit you?" in shown
    assert "ready by Mon 9 Mar, not Fri 6 Mar" in shown
    assert "All 2 promises fit." in look(owner_client)

    entries = re.search(r'name="entries" value="([0-9-]+)"', shown).group(1)
    back = owner_client.post("/new-days/undo/", {"entries": entries}, follow=True)
    assert "Taken back. All is promised as before." in back.text
    ticket.refresh_from_db()
    assert ticket.promise_at == at(4)
    assert "Too much by Fri 6 Mar" in back.text


def test_agreed_twice_it_is_once(owner_client, promise):
    promise(4, 2400)
    ticket = promise(4, 180, name="Tom Field")
    page = " ".join(owner_client.get(taken(look(owner_client))).text.split())
    sent = fields(page)
    for _ in range(2):
        response = owner_client.post("/too-much/agree/", sent)
        assert response.url == f"/new-days/?ticket={ticket.number}"
    assert ticket.agreements.count() == 2


def test_nothing_is_agreed_that_the_page_has_not_shown(owner_client, promise):
    promise(4, 2400)
    ticket = promise(4, 180, name="Tom Field")
    page = " ".join(owner_client.get(taken(look(owner_client))).text.split())
    promise(7, 2000, name="Ada Moss")
    response = owner_client.post("/too-much/agree/", fields(page), follow=True)
    assert "The week has changed meanwhile." in response.text
    assert ticket.agreements.count() == 1


def test_sewing_longer_mends_it_too_beside_what_is_sewn_longer_already(owner_client, promise):
    """Until Tuesday 16 h 30 of 17 h fit, half an hour of it sewn longer: it becomes an hour."""
    LongerDay.objects.create(day=MONDAY + timedelta(days=1), minutes=30)
    promise(1, 1020, name="Mary Larkin")
    page = look(owner_client)
    assert figures(page)["Does not fit"] == "30 min"
    assert "lacks 30 min" in page
    more = owner_client.get("/too-much/", {"more": "2026-03-03"})
    assert more.url == "/too-much/?longer-2026-03-03=15"
    page = look(owner_client, more.url)
    assert figures(page)["Does not fit"] == "15 min"
    more = owner_client.get(f"{more.url}&more=2026-03-03")
    assert more.url == "/too-much/?longer-2026-03-03=30"
    less = owner_client.get(f"{more.url}&less=2026-03-03")
    assert less.url == "/too-much/?longer-2026-03-03=15"
    page = look(owner_client, more.url)
    assert "Sew 30 min longer" in foot(page)
    response = owner_client.post("/too-much/agree/", fields(page), follow=True)
    assert "All promises hold." in response.text
    assert LongerDay.objects.get().minutes == 60
    assert "The one promise fits." in look(owner_client)


def test_what_is_sewn_longer_is_named_and_today_has_a_step_of_its_own(
    owner_client, studio, owner, promise
):
    """A wedding dress of 18 h 30 stays: by Tuesday it lacks 2 h 30, which Tuesday has; Tom's 2 h
    can move. With 3 h more that stay, Tuesday has the 4 h that a day has at most, and 1 h 30 are
    left for today, Monday."""
    wedding = promise(1, 1110)
    type(wedding).objects.update(event="a wedding")
    tom = promise(1, 120, name="Tom Field")
    page = look(owner_client)
    assert "<small>a wedding</small>" in page
    assert "4 h 30 over Tom, 2 h; Tue 3 Mar 2 h 30 Move 1, sew 2 h 30 longer" in foot(page)
    assert taken(page) == f"/too-much/?move={tom.number}&longer-2026-03-03=150"
    page = look(owner_client, taken(page))
    assert "Sewn longer: Tue 3 Mar 2 h 30. Change" in words(page)
    assert "All promises hold nothing is saved yet" in foot(page)
    assert "Agree 1 new day, sew 2 h 30 longer" in foot(page)
    assert taken_longer(page) == {"2026-03-03": "150"}

    party = promise(0, 180, name="Ada Moss")
    type(party).objects.filter(pk=party.pk).update(event="a party")
    page = look(owner_client, taken(look(owner_client)))
    assert "1 h 30 over today 1 h 30 Sew 1 h 30 longer today" in foot(page)
    page = look(owner_client, taken(page))
    assert "Agree 1 new day, sew 5 h 30 longer" in foot(page)
    assert taken_longer(page) == {"2026-03-02": "90", "2026-03-03": "240"}


def taken_longer(page):
    """The days that the foot's form makes longer."""
    return {
        name.removeprefix("longer-"): value
        for name, (value,) in fields(page).items()
        if name.startswith("longer-")
    }


def test_where_only_today_helps_it_is_asked_for_by_name(owner_client, promise):
    """10 h for an event stay on Monday, which is today, and 2 h could move: 2 h of today are not
    taken with them but asked for in a step of their own."""
    wedding = promise(0, 600)
    type(wedding).objects.update(event="a wedding")
    tom = promise(0, 120, name="Tom Field")
    page = look(owner_client)
    assert "4 h over Tom, 2 h Take the smallest set" in foot(page)
    assert taken(page) == f"/too-much/?move={tom.number}"
    page = look(owner_client, taken(page))
    assert "2 h over today 2 h Sew 2 h longer today" in foot(page)
    page = look(owner_client, taken(page))
    assert "All promises hold" in foot(page)
    assert taken_longer(page) == {"2026-03-02": "120"}


def test_minutes_at_the_bench_and_by_the_clock_are_told_apart(owner_client, promise, studio):
    """1 h is missing; of each hour by the clock 54 min are sewn: 67 min, 75 in steps of 15."""
    promise(4, 36 * 60 + 60)
    PlanRules.objects.update(lost_percent=10)
    page = words(look(owner_client))
    assert "1 h at the bench are 1 h 15 by the clock: 10 % go to the door and the phone." in page
    assert "lacks 1 h 15" in page


def test_all_promises_at_risk_are_listed_as_on_today_and_go_once_they_are_chosen(
    owner_client, promise
):
    """Two are late, and of four for Tuesday there is room for some: Today counts as many as the
    page lists, and none is left where all that is chosen holds."""
    for number in range(2):
        promise(-3, 60, name=f"Late {number}")
    for number in range(4):
        promise(1, 300, name=f"Tuesday {number}")
    today = owner_client.get("/").text
    page = look(owner_client)
    listed = page[page.index('id="risks"') :].count('class="why"') + page.count("to sew</small>")
    assert re.search(r"All (\d+)</a>", today).group(1) == str(listed) == "4"
    # One source for which day: there, for all of them together.
    assert "Move to" not in today
    assert 'href="/too-much/"' in today
    page = look(owner_client, taken(page))
    assert "All promises hold" in foot(page)
    risks = page[page.index('id="risks"') :] if 'id="risks"' in page else ""
    assert "No room" not in risks


def test_of_many_promises_at_risk_the_first_three_are_in_sight(owner_client, promise):
    for number in range(5):
        promise(-3, 60, name=f"Late {number}")
    promise(1, 1500, name="Tuesday")
    page = look(owner_client)
    risks = page[page.index('id="risks"') :]
    in_sight, drawer = risks.split("<details>", 1)
    assert "Late 2" in in_sight
    assert "Late 3" not in in_sight
    assert "3 more</summary>" in drawer
    assert "Tuesday" in drawer


def test_a_block_at_risk_is_put_on_another_day_or_let_loose(owner_client, promise):
    """9 h were put on Tuesday, which has 8."""
    ticket = promise(3, 540, name="Ada Moss")
    line = ticket.garments.get().lines.get()
    factories.SewingDayFactory(line=line, day=MONDAY + timedelta(days=1))
    page = look(owner_client)
    risks = page[page.index('id="risks"') :]
    assert "Promises and blocks at risk" in risks
    assert "Put on Tue 3 Mar, which is too full by 1 h." in words(risks)
    assert f'href="/week/?lines={line.pk}"' in risks
    assert "Let it loose : Ada Moss" in words(risks)
    owner_client.post("/week/loose/", {"lines": line.pk})
    assert "at risk" not in look(owner_client)


@pytest.mark.postgres
@pytest.mark.parametrize(
    "query",
    ["move=none", "longer-soon=15", "longer-2026-03-02=much", "more=never", "longer-2031-01-01=60"],
)
def test_nonsense_in_the_address_is_left_out(owner_client, promise, query):
    promise(0, 600)
    response = owner_client.get(f"/too-much/?{query}", follow=True)
    assert figures(" ".join(response.text.split()))["Does not fit"] == "2 h"


def test_the_messages_keep_which_was_sent(owner_client, helper_client, promise):
    promise(4, 2400)
    ticket = promise(4, 180, name="Tom Field")
    ticket.client.phone, ticket.client.email = "085 555 0100", ""
    ticket.client.save()
    page = " ".join(owner_client.get(taken(look(owner_client))).text.split())
    there = owner_client.post("/too-much/agree/", fields(page)).url
    page = owner_client.get(there).text
    assert "sms:0855550100?body=Your%20ticket" in page
    assert "Mark as sent" in page
    for _ in range(2):
        sent = {"ticket": [ticket.number]}
        response = owner_client.post(f"/t/{ticket.number}/new-day-told/", sent)
        assert response.url == there
    page = helper_client.get(there).text
    assert "Mark as sent" not in page
    assert "All are told" in page
    entry = Entry.objects.get(verb="week.told_new_day")
    assert "Client told of the new day: ready by Mon 9 Mar" in history.sentence(entry, "en_IE")


def test_pressed_twice_it_is_agreed_once(owner_client, promise):
    ticket = promise(4, 180)
    for _ in range(2):
        owner_client.post(f"/t/{ticket.number}/move-promise/", {"day": "2026-03-09"})
    assert ticket.agreements.count() == 2


@pytest.mark.parametrize("day", ["", "soon", "2026-02-27"])
def test_only_a_day_to_come_is_promised(owner_client, promise, day):
    ticket = promise(4, 180)
    response = owner_client.post(f"/t/{ticket.number}/move-promise/", {"day": day}, follow=True)
    assert "Choose one of the days on offer." in response.content.decode()
    assert ticket.agreements.count() == 1


def test_a_ticket_that_is_gone_by_now(owner_client, promise):
    ticket = promise(4, 180)
    type(ticket).objects.update(state="collected")
    sent = {"day": "2026-03-09"}
    response = owner_client.post(f"/t/{ticket.number}/move-promise/", sent, follow=True)
    assert f"Ticket {ticket.number} is collected." in response.content.decode()


def test_no_bench_time_at_all(owner_client, helper_client, promise):
    promise(4, 60)
    WorkingDay.objects.update(minutes=0)
    assert "There is no bench time, but 1 promise." in look(owner_client)
    assert 'href="/studio/week/"' in look(owner_client)
    assert 'href="/studio/week/"' not in look(helper_client)


def test_a_promise_in_the_past(owner_client, promise):
    ticket = promise(-3, 45)
    page = look(owner_client)
    assert f"{ticket.number}, ready by Fri 27 Feb, 17:00; 45 min to sew" in page
    assert "The one promise fits the bench." in page


def test_a_ticket_without_minutes(owner_client, promise):
    promise(-3, 0)
    page = look(owner_client)
    assert "The one promise fits the bench." in page
    assert "0 min to sew" in page


def test_a_fitting_after_the_promise(owner_client, promise):
    ticket = promise(2, 60, fitting_first=True)
    Fitting.objects.create(ticket=ticket, starts_at=at(3, 11))
    page = look(owner_client)
    assert f"{ticket.number}, ready by Wed 4 Mar</small>" in page
    assert "The fitting on Thu 5 Mar comes after it: move one of them." in page


def test_work_that_waits_past_the_promise(owner_client, promise):
    ticket = promise(2, 60)
    line = ticket.garments.get().lines.get()
    wait = factories.WaitFactory(line=line, what="part", expected=MONDAY + timedelta(days=4))
    page = look(owner_client)
    assert f"{ticket.number}, ready by Wed 4 Mar</small>" in page
    assert "Waits (a zip or other part) until Fri 6 Mar: promise a later day." in page
    wait.expected = None
    wait.save()
    type(ticket).objects.update(promise_at=at(0))
    assert "Waits (a zip or other part), nobody knows until when" in look(owner_client)


@pytest.mark.parametrize(
    ("zone", "moment", "last", "hours"),
    [
        # The clock goes forward on Sunday 29 March 2026 in Dublin, back on 25 October; in New York
        # on 8 March and 1 November; in Auckland back on 5 April (tz database).
        ("Europe/Dublin", "2026-03-27 09:00+00:00", date(2026, 3, 30), 16),
        ("Europe/Dublin", "2026-10-23 09:00+01:00", date(2026, 10, 26), 16),
        ("America/New_York", "2026-03-06 09:00-05:00", date(2026, 3, 9), 16),
        ("America/New_York", "2026-10-30 09:00-04:00", date(2026, 11, 2), 16),
        ("Pacific/Auckland", "2026-04-03 09:00+13:00", date(2026, 4, 6), 16),
    ],
)
def test_bench_time_is_the_same_across_a_change_of_the_clock(
    owner_client, studio, owner, zone, moment, last, hours
):
    """From Friday nine o'clock to Monday five o'clock are two days of 8 h, whatever the clock."""
    factories.PlanRulesFactory(lost_percent=0, own_percent=0)
    studio.time_zone = zone
    studio.save()
    clock.activate(studio)
    with time_machine.travel(datetime.fromisoformat(moment), tick=False):
        ticket = received(
            studio, owner, trousers(take_in(minutes_each=60 * hours + 1)),
            promise_at=clock.at(last, time(17)),
        )  # fmt: skip
        owner_client.force_login(owner)
        page = look(owner_client)
        assert figures(page)["Fits"] == f"{hours} h"
        assert figures(page)["Does not fit"] == "1 min"
        page = look(owner_client, taken(page))
        assert rows(page)[ticket.number][1] == f"{last + timedelta(days=1)}"


@pytest.mark.parametrize("tickets", [1, 3])
def test_the_page_asks_as_often_for_one_as_for_three(
    owner_client, promise, tickets, django_assert_num_queries
):
    for number in range(tickets):
        promise(0, 600, name=f"Client {number}")
    # The session, the user and the profile; the book of work in eleven, the tickets with their
    # garments in four, and what stays.
    with django_assert_num_queries(19):
        look(owner_client)
