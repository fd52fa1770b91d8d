"""Somebody wants something soon: what happens, what it costs, and what was declined."""

from datetime import date, time, timedelta

import pytest
import time_machine

from jobs.planning.models import Declined
from studio.shop import clock
from studio.shop.models import WorkingDay
from tests import factories
from tests.drafts import hem, received, trousers
from tests.jobs.planning.pages import words

# Monday 2 March 2026, nine o'clock: 8 h a day, 30 % of the week's 40 h are the owner's.
MONDAY = date(2026, 3, 2)


@pytest.fixture(autouse=True)
def _monday():
    with time_machine.travel("2026-03-02 09:00Z", tick=False):
        yield


@pytest.fixture
def rules(studio):
    return factories.PlanRulesFactory(lost_percent=0)


@pytest.fixture
def promise(studio, owner, rules):
    """A ticket of so many minutes, promised for 17:00 of a day of the week."""

    def make(day, minutes, **facts):
        return received(
            studio,
            owner,
            trousers(hem(minutes_each=minutes)),
            promise_at=clock.at(MONDAY + timedelta(days=day), time(17)),
            **facts,
        )

    return make


@pytest.fixture
def work(studio):
    kind = factories.GarmentKindFactory(name="Dress")
    return factories.OperationFactory(garment_kind=kind, name="Zip", minutes=90, price=4000)


def ask(client, **asked):
    return " ".join(client.get("/rush/", asked).content.decode().split())


def test_a_day_that_fits_is_no_rush(owner_client, rules):
    page = ask(owner_client, day="2026-03-04", hours="3")
    assert "<strong>Yes, by Wed 4 Mar:</strong> it is free, nothing moves; nobody is late" in page
    assert "/drop-off/?day=2026-03-04" in page
    assert "rush=yes" not in page


def test_own_hours_lost_are_told_week_by_week(owner_client, promise):
    # 26 h are promised by Friday: 2 h of the week are nobody's, so 3 h for then take 1 h of 12.
    promise(4, 26 * 60)
    page = ask(owner_client, day="2026-03-06", hours="3")
    assert "<strong>Only from your own hours:</strong> 1 h of" in page
    assert "Nobody is late. Without them: Mon 9 Mar." in page
    assert "Earliest with your own hours kept: <strong>Mon 9 Mar</strong>." in page
    assert "If they give way: <strong>Mon 2 Mar</strong>." in page
    cells = ["12 h", "11 h", "<strong>1 h</strong>", "3 h"]
    assert all(f">{cell}</td>" in page for cell in cells)


def test_why_not_sooner(owner_client, promise):
    promise(4, 26 * 60, client=factories.ClientFactory(name="Mary Larkin"))
    page = ask(owner_client, day="2026-03-06", hours="3")
    assert (
        "Why not sooner: until Sun 8 Mar there are 40 h of bench time; 38 h of it are promised, "
        "12 h of that your own hours, most of the rest to Mary Larkin. 2 h are left."
    ) in page


def time_for(client, day, hours):
    """The answer alone, as the question on Today and the week gets it."""
    asked = {"day": day, "hours": hours}
    page = client.get("/rush/", asked, HTTP_HX_REQUEST="true", HTTP_HX_TARGET="time-answer")
    assert "<html" not in page.text
    return words(page.text)


@pytest.fixture
def jackets(studio, owner, rules):
    """30 h for Friday of the week after, which is José's jacket: the plan has it from Monday on."""
    jose = factories.ClientFactory(name="José Yarrow")
    jacket = trousers(hem(minutes_each=30 * 60), kind_name="Jacket")
    return received(
        studio,
        owner,
        jacket,
        client=jose,
        promise_at=clock.at(MONDAY + timedelta(days=11), time(17)),
    )


def test_room_is_made_by_work_that_moves_inside_its_promise(owner_client, jackets):
    """Of the 24 h until Wednesday 12 are the owner's, of the week's 40, and 12 the jacket's.

    All 24 can go: his to Thursday and Friday, the jacket to next week. For 5 h only the jacket,
    promised last, gives way; it lay on Thursday and Friday already, so it goes on next Monday.
    """
    answer = time_for(owner_client, "2026-03-04", "5")
    moves = "5 h of José Yarrow's jacket moves to Mon 9 Mar"
    assert f"Yes, by Wed 4 Mar: {moves}; nobody is late, your own hours are kept." in answer
    assert "Free until Wed 4 Mar 0 min By moving work inside its promises 24 h" in answer
    assert "Asked 5 h" in answer
    assert jackets.number not in answer


def test_the_answer_is_said_first_and_then_what_is_late_already(owner_client, promise, jackets):
    lotte = factories.ClientFactory(name="Lotte Candlemere")
    late = promise(1, 60, client=lotte)
    type(late).objects.filter(pk=late.pk).update(promise_at=clock.at(MONDAY, time(8)))
    answer = time_for(owner_client, "2026-03-04", "5")
    assert answer.startswith("Yes, by Wed 4 Mar:")
    assert "your own hours are kept" in answer.partition("At risk already:")[0]
    assert "At risk already: Lotte Candlemere's trousers. How to fix it" in answer
    assert "nobody is later than now" in answer


def test_a_day_that_is_too_full_names_who_comes_first_and_the_first_day(owner_client, promise):
    promise(1, 15 * 60, client=factories.ClientFactory(name="Lotte Candlemere"))
    # 16 h until Tuesday's 17:00, 15 of them Lotte's; without own hours 3 h are done on Wednesday,
    # with the week's 12 h kept too: 40 - 15 - 12 = 13 h are left until Friday.
    answer = time_for(owner_client, "2026-03-03", "3")
    assert "No, first Wed 4 Mar. Before it is Lotte Candlemere (trousers)." in answer


def test_the_owner_s_hours_are_told_by_their_week(owner_client, promise):
    promise(4, 26 * 60)
    answer = time_for(owner_client, "2026-03-06", "3")
    assert "Only from your own hours: 1 h of" in answer
    assert "Without them: Mon 9 Mar." in answer
    assert "Free until Fri 6 Mar 2 h" in answer
    assert "From your own hours 12 h" in answer


def test_nothing_is_said_before_it_is_asked_how_long(owner_client, rules):
    assert time_for(owner_client, "2026-03-06", "") == ""
    for path in ("/", "/week/"):
        page = words(owner_client.get(path).text)
        assert "Time for how long?" in page or path == "/"


def test_a_late_ticket_is_named_with_its_days_and_the_full_window(owner_client, promise):
    mary = factories.ClientFactory(name="Mary Larkin")
    ticket = promise(1, 16 * 60, client=mary)
    page = ask(owner_client, day="2026-03-03", hours="10")
    assert "<strong>Tue 3 Mar breaks 1 promise:</strong>" in page
    assert f"{ticket.number}, Mary Larkin: Thu 5 Mar instead of Tue 3 Mar, 2 days late" in page
    assert "Mon 2 Mar to Tue 3 Mar: 16 h of bench time, 26 h wanted. 10 h too much." in page


def test_work_put_off_to_next_week_is_no_gain_of_this_week(owner_client, promise):
    """500 minutes are due on Monday, which holds 480; with 3 h more, 5 h move to next week."""
    for day, minutes in ((0, 500), (2, 1200), (4, 600)):
        promise(day, minutes)
    page = words(owner_client.get("/rush/", {"day": "2026-03-03", "hours": "3"}).text)
    assert "None of your own hours are taken." not in page
    assert "This week 1 h 40 6 h 40 none none Next week 12 h 12 h none 8 h" in page


def test_more_than_the_days_hold_is_not_possible(owner_client, rules):
    page = ask(owner_client, day="2026-03-03", hours="20")
    assert "<strong>Tue 3 Mar is not possible.</strong>" in page
    assert "the bench holds 16 h until then; 20 h are wanted." in page
    assert "Accept as a rush" not in page
    assert "Offer Wed 4 Mar" in page


def test_the_fee_is_the_list_s_rush_on_what_was_typed(owner_client, promise):
    promise(4, 26 * 60)
    factories.PriceRulesFactory(rush_percent=25, rounding_step=50)
    page = ask(owner_client, day="2026-03-06", hours="3", amount="90,50")
    # 25 % of 90.50 is 22.625, together 113.125; the list rounds to half euros: 113.00.
    assert "<dt>Rush, +25 %</dt><dd>€22.50</dd>" in page
    assert '<dd class="sum">€113.00</dd>' in page


def test_work_of_the_list_brings_minutes_price_and_goes_along(owner_client, promise, work):
    promise(4, 40 * 60)
    page = ask(owner_client, day="2026-03-06", works=work.pk, hours="0:30")
    assert '<h2 id="answer">2 h for Fri 6 Mar</h2>' in page
    assert "<dt>Without rush</dt><dd>€40.00</dd>" in page
    assert f'href="/drop-off/?day=2026-03-06&amp;rush=yes&amp;work={work.pk}"' in page
    assert f'href="/drop-off/?day=2026-03-09&amp;work={work.pk}"' in page


def test_a_fitting_in_between_gets_a_day(owner_client, promise):
    promise(0, 8 * 60)
    page = ask(owner_client, day="2026-03-05", hours="4", before="2")
    assert "A fitting comes first: <strong>Tue 3 Mar</strong>, at the end of the day." in page
    assert "Earliest with your own hours kept: <strong>Wed 4 Mar</strong>." in page


def test_a_helper_sees_no_money(helper_client, promise, work):
    promise(4, 40 * 60)
    page = ask(helper_client, day="2026-03-06", works=work.pk, amount="90")
    assert "the owner's hours" in page.replace("&#x27;", "'")
    assert "€" not in page
    assert "Without rush" not in page
    assert "What it costs" not in page


@pytest.mark.postgres
def test_declined_with_a_note(owner_client, owner, promise):
    promise(0, 8 * 60)
    sent = {"day": "2026-03-02", "hours": "3", "note": " No room before the wedding "}
    owner_client.post("/rush/", sent)
    owner_client.post("/rush/", sent)
    declined = Declined.objects.get()
    assert (declined.wanted_by, declined.minutes, declined.by) == (MONDAY, 180, owner)
    assert declined.note == "No room before the wedding"
    page = ask(owner_client)
    assert "<strong>3 h</strong> wanted on Mon 2 Mar 2026: No room before the wedding" in page


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ({"hours": "3"}, "Say for which day it is wanted."),
        ({"day": "2026-03-01", "hours": "3"}, "This day is over."),
        ({"day": "2029-03-01", "hours": "3"}, "This is more than two years away."),
        ({"day": "2026-03-06"}, "Say how long it takes, or choose the work below."),
        ({"day": "2026-03-06", "hours": "soon"}, "Write hours such as 7.5 or 7:30, or 0."),
        ({"day": "2026-03-06", "hours": "2", "before": "3"}, "This is more than the bench hours."),
        (
            {"day": "2026-03-06", "hours": "2", "amount": "lots"},
            "Write an amount in EUR, such as 24.50.",
        ),
    ],
)
def test_what_cannot_be_asked_is_said_beside_its_field(owner_client, rules, asked, says):
    assert f"<li>{says}" in ask(owner_client, **asked)
    owner_client.post("/rush/", asked)
    assert not Declined.objects.exists()


def test_a_closed_day_is_told(owner_client, rules):
    page = ask(owner_client, day="2026-03-07", hours="3")
    assert "The studio is closed on Sat 7 Mar." in page


def test_today_after_the_hour_of_promises(owner_client, rules):
    with time_machine.travel("2026-03-02 17:30Z", tick=False):
        page = ask(owner_client, day="2026-03-02", hours="1")
    assert "No bench time is left before the hour of the promise." in page


def test_no_bench_time_at_all(owner_client, studio, promise):
    promise(4, 60)
    WorkingDay.objects.update(minutes=0)
    page = ask(owner_client, day="2026-03-06", hours="3")
    assert "There is no bench time to sew it in." in page
    assert 'href="/studio/week/"' in page
    assert "Accept as a rush" not in page


def test_work_without_minutes(owner_client, rules, work):
    work.minutes = 0
    work.save()
    page = ask(owner_client, day="2026-03-06", works=work.pk)
    assert "No bench minutes are noted for this work" in page


def test_eight_times_out_of_ten_once_five_jobs_are_timed(owner_client, rules):
    page = ask(owner_client, day="2026-03-02", hours="7")
    assert "is a guess until 5 jobs are timed" in page
    for minutes in (40, 45, 50, 45, 40):
        line = factories.LineFactory(done_at=clock.now(), garment__ticket__state="collected")
        factories.BenchTimeFactory(line=line, minutes=minutes)
    page = ask(owner_client, day="2026-03-02", hours="7")
    # 30 minutes took half as long again, so 7 h are likely more than the 8 h of Monday.
    assert "8 times out of 10: <strong>Tue 3 Mar</strong>." in page


@pytest.mark.parametrize("rows", [1, 3])
def test_the_page_asks_as_often_for_one_as_for_three(
    owner_client, promise, work, rows, django_assert_num_queries
):
    for number in range(rows):
        promise(4, 1200 + number)
        factories.DeclinedFactory()
        factories.OperationFactory(garment_kind=work.garment_kind)
    # The session, the user and the profile; the price list in two and its rules; what was declined;
    # the book of work in eight, whose garments they are, and how long work really took.
    with django_assert_num_queries(20):
        ask(owner_client, day="2026-03-04", hours="9", amount="50")
