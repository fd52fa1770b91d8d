"""Fittings booked, moved, kept, missed; the work around them; and the hem that waits for shoes."""

from datetime import date, time, timedelta
from decimal import Decimal

import pytest

from jobs.planning import actions
from jobs.planning.models import Fitting, ReadyToCut
from jobs.planning.queries import read_week
from jobs.tickets import actions as tickets
from studio.shop import clock, history
from studio.shop.models import WorkingDay
from tests.drafts import hem, received, take_in, trousers
from tests.factories import AppointmentFactory, DayOffFactory
from tests.histories import sentences
from tests.jobs.planning.books import at


def waits_of(studio, name):
    jobs = read_week(studio).book.jobs
    return next(work.waits for job in jobs for work in job.works if work.name == name)


def test_a_booking_is_written_down(book_at, ticket):
    fitting = book_at(1)
    assert (fitting.state, fitting.sequence, fitting.ends_at) == ("booked", 0, at(1, "10:30"))
    assert sentences(ticket)[0] == "First fitting booked: Tue 3 Mar 10:00."


def test_the_same_booking_twice_is_one_fitting(book_at, ticket):
    assert book_at(1) == book_at(1)
    assert len(sentences(ticket)) == 2


@pytest.mark.parametrize(
    ("day", "hour", "field", "message"),
    [
        (-1, "10:00", "time", "This time is over. Choose a later one."),
        (5, "10:00", "day", "The studio is closed on Sat 7 Mar 2026."),
        (8, "10:00", "day", "The studio is closed on Tue 10 Mar 2026."),
        (2, "10:00", "time", "That clashes with: First fitting of 26-0002, Wed 4 Mar 10:00."),
        (2, "09:45", "time", "That clashes with: First fitting of 26-0002, Wed 4 Mar 10:00."),
        (3, "23:30", "time", "That clashes with: Moving house, Thu 5 Mar 09:00."),
    ],
)
def test_a_time_that_cannot_be(book_at, studio, owner, ticket, day, hour, field, message):
    DayOffFactory(day=at(8).date())
    other = received(studio, owner, promise_at=at(10))
    book_at(2, ticket=other, minutes=60)
    AppointmentFactory(name="Moving house", starts_at=at(3, "09:00"), minutes=1440)
    with pytest.raises(actions.PlanError) as refused:
        book_at(day, hour)
    assert str(refused.value).startswith(message)
    assert refused.value.field == field
    assert not ticket.fittings.exists()


def test_one_after_the_other_is_no_clash(book_at):
    book_at(2, "10:00")
    assert book_at(2, "10:30", kind="next").starts_at == at(2, "10:30")


def test_the_time_of_a_cancelled_ticket_or_fitting_is_free(book_at, studio, owner, ticket):
    other = received(studio, owner, promise_at=at(10))
    book_at(2, ticket=other)
    tickets.cancel(ticket=other, why="moved away", by=owner)
    fitting = book_at(2)
    actions.cancel_fitting(fitting=fitting, by=owner)
    assert book_at(2, kind="next").kind == "next"
    assert [fitting.ticket for fitting in read_week(studio).fittings] == [ticket.pk]


def test_a_closed_ticket_has_no_fitting(book_at, ticket, owner):
    tickets.cancel(ticket=ticket, why="moved away", by=owner)
    with pytest.raises(actions.PlanError, match="is cancelled"):
        book_at(1)


def test_a_fitting_keeps_its_row_when_it_moves(book_at, ticket, studio, owner):
    fitting = book_at(1)
    facts = {"fitting": fitting, "starts_at": at(2, "15:30"), "studio": studio, "by": owner}
    for _ in range(2):
        moved = actions.move_fitting(**facts)
    assert (moved.pk, moved.sequence, moved.uid) == (fitting.pk, 1, fitting.uid)
    assert sentences(ticket)[0] == "First fitting moved: Tue 3 Mar 10:00 → Wed 4 Mar 15:30."
    assert len(sentences(ticket)) == 3


def test_a_small_move_does_not_clash_with_itself(book_at, studio, owner):
    fitting = book_at(1, "10:00", minutes=60)
    moved = actions.move_fitting(
        fitting=fitting, starts_at=at(1, "10:30"), studio=studio, by=owner
    )  # fmt: skip
    assert moved.starts_at == at(1, "10:30")


def test_kept_and_missed_are_said_once(book_at, ticket, owner, on):
    fitting = book_at(1)
    with on(1, "10:05"):
        for _ in range(2):
            actions.keep_fitting(fitting=fitting, by=owner)
        with pytest.raises(actions.PlanError, match="was kept already"):
            actions.miss_fitting(fitting=fitting, by=owner)
    assert sentences(ticket)[0] == "First fitting kept."
    assert len(sentences(ticket)) == 3


def test_a_missed_fitting_holds_up_its_work_until_it_has_a_new_day(
    book_at, studio, owner, on, hem_line
):
    fitting = book_at(1)
    actions.work_after(line=hem_line, fitting=fitting, by=owner)
    assert waits_of(studio, "Hem") == ""
    with on(1, "11:00"):
        actions.miss_fitting(fitting=fitting, by=owner)
        assert waits_of(studio, "Hem") == "A new day for the missed fitting"
        actions.move_fitting(fitting=fitting, starts_at=at(2, "10:00"), studio=studio, by=owner)
        assert waits_of(studio, "Hem") == ""
    assert Fitting.objects.get().state == "booked"


def test_another_fitting_takes_over_the_work_of_a_missed_one(book_at, owner, on, hem_line):
    first = book_at(1)
    actions.work_after(line=hem_line, fitting=first, by=owner)
    with on(1, "11:00"):
        actions.miss_fitting(fitting=first, by=owner)
        second = book_at(2, kind="next")
    hem_line.refresh_from_db()
    assert hem_line.gate.fitting == second


def test_a_kept_fitting_leaves_the_hem_to_be_marked(book_at, studio, owner, on):
    assert waits_of(studio, "Hem") == "A fitting to be booked"
    fitting = book_at(1)
    with on(1, "11:00"):
        actions.keep_fitting(fitting=fitting, by=owner)
        assert waits_of(studio, "Hem") == "The hem to be marked"
    with on(2):
        assert waits_of(studio, "Hem") == "The hem to be marked"


@pytest.mark.postgres
def test_work_is_put_after_a_fitting_and_taken_back(book_at, ticket, owner, hem_line):
    first, last = book_at(1), book_at(2, kind="final")
    for fitting in (first, first, last, None, None):
        actions.work_after(line=hem_line, fitting=fitting, by=owner)
    assert sentences(ticket)[:3] == [
        "A Hem: after no fitting in particular.",
        "A Hem: after the final fitting.",
        "A Hem: after the first fitting.",
    ]
    assert not type(first).objects.filter(work_after__line=hem_line).exists()


def test_a_fitting_of_somebody_else_is_refused(book_at, studio, owner, hem_line):
    other = book_at(1, ticket=received(studio, owner, promise_at=at(10)))
    with pytest.raises(actions.PlanError, match="belongs to another ticket"):
        actions.work_after(line=hem_line, fitting=other, by=owner)


def test_a_hem_is_not_cut_before_the_heel_is_known(hem_line, ticket, owner, studio, book_at, on):
    with pytest.raises(actions.PlanError, match="Write the heel height of garment A first"):
        actions.ready_to_cut(line=hem_line, by=owner)
    assert not ReadyToCut.objects.exists()
    fitting = book_at(1)
    with on(1, "11:00"):
        actions.keep_fitting(fitting=fitting, by=owner)
        tickets.note_heel(
            garment=hem_line.garment, heel_mm=Decimal(70), heel_typed="7 cm", by=owner
        )
        for _ in range(2):
            actions.ready_to_cut(line=hem_line, by=owner)
        assert waits_of(studio, "Hem") == ""
    assert sentences(ticket)[:2] == ["Ready to cut: A Hem.", "Heel height of A: 7 cm."]


def test_other_work_is_ready_without_a_heel(ticket, owner):
    body = ticket.garments.get().lines.get(name="Take in sides")
    assert actions.ready_to_cut(line=body, by=owner).line == body


@pytest.mark.parametrize(
    ("zone", "night"),
    [
        # The clocks change on these nights of 2026 (IANA time zone data, tzdata 2025b).
        ("Europe/Dublin", "2026-03-29"),
        ("Europe/Dublin", "2026-10-25"),
        ("America/New_York", "2026-03-08"),
        ("America/New_York", "2026-11-01"),
        ("Pacific/Auckland", "2026-04-05"),
        ("Pacific/Auckland", "2026-09-27"),
    ],
)
def test_a_fitting_at_four_is_at_four_across_a_change_of_clocks(
    db, studio, owner, zone, night, time_machine
):
    """Sunday is a working day here; booked the day before, a day later it is still at four."""
    studio.time_zone = zone
    studio.save()
    clock.activate(studio)
    WorkingDay.objects.update(minutes=480)
    day = date.fromisoformat(night)
    time_machine.move_to(clock.at(day - timedelta(days=1), time(12)), tick=False)
    ticket = received(studio, owner)
    fitting = actions.book_fitting(
        ticket=ticket, starts_at=clock.at(day, time(16)), minutes=60, kind="first",
        studio=studio, by=owner,
    )  # fmt: skip
    assert sentences(ticket)[0].endswith("16:00.")
    bench = read_week(studio).book.bench
    # Eight hours from nine, an hour of them the fitting, a tenth of each stretch lost.
    assert bench.minutes_on(day) == 7 * 60 * 9 // 10
    assert clock.local(fitting.ends_at).time() == time(17)


def undo_last(ticket, owner):
    return history.undo(entry=history.undoable(history.of(ticket)), by=owner)


def test_a_cancelled_fitting_comes_back(book_at, ticket, owner):
    fitting = book_at(2)
    actions.cancel_fitting(fitting=fitting, by=owner)
    undo_last(ticket, owner)
    fitting.refresh_from_db()
    assert fitting.state == "booked"


def test_it_does_not_come_back_to_a_time_that_is_taken_by_now(book_at, studio, ticket, owner):
    fitting = book_at(2)
    actions.cancel_fitting(fitting=fitting, by=owner)
    other = received(studio, owner, promise_at=at(10))
    book_at(2, ticket=other)
    with pytest.raises(history.HistoryError, match="taken by now: First fitting of 26-0002"):
        undo_last(ticket, owner)
    fitting.refresh_from_db()
    assert fitting.state == "cancelled"


def test_it_does_not_move_back_to_a_time_that_is_taken_by_now(book_at, studio, ticket, owner):
    fitting = book_at(2)
    actions.move_fitting(fitting=fitting, starts_at=at(3, "10:00"), studio=studio, by=owner)
    other = received(studio, owner, promise_at=at(10))
    book_at(2, ticket=other)
    with pytest.raises(history.HistoryError, match="taken by now"):
        undo_last(ticket, owner)


def test_a_move_that_is_undone_counts_as_another(book_at, studio, ticket, owner):
    """RFC 5545, 3.8.7.4: a calendar drops what has a smaller number than it knows."""
    fitting = book_at(2)
    actions.move_fitting(fitting=fitting, starts_at=at(3, "10:00"), studio=studio, by=owner)
    undo_last(ticket, owner)
    fitting.refresh_from_db()
    assert (fitting.starts_at, fitting.sequence) == (at(2, "10:00"), 2)


def test_booking_is_not_undone_under_work_that_stands_after_it(book_at, hem_line, ticket, owner):
    book_at(2)
    booked = history.undoable(history.of(ticket))
    actions.work_after(line=hem_line, fitting=ticket.fittings.get(), by=owner)
    with pytest.raises(history.HistoryError, match="Something else stands on this"):
        history.undo(entry=booked, by=owner)


def windows(studio, name):
    """(first, last day) in which the plan may put an operation."""
    book = read_week(studio).book
    named = {stage: work.name for stage, work in book.load.works.items()}
    (stage,) = (stage for stage in book.stages if named[stage.id] == name)
    return book.day_of(stage.release), book.day_of(stage.due)


def test_work_comes_after_the_first_fitting_unless_somebody_says_before(book_at, studio, owner, on):
    """By hand: 2 h 49 of taking in, a fitting on Tuesday at ten, promised for Thursday week.

    Before there is a fitting it may be sewn at any time; with one from Tuesday on; if the owner
    says so, only until then. A missed fitting holds it up until there is a new one.
    """
    line = take_in(name="Taking in", minutes_each=169, fitting_place="after")
    ticket = received(studio, owner, trousers(line), promise_at=at(10))
    monday, tuesday, thursday = (at(day).date() for day in (0, 1, 10))
    assert windows(studio, "Taking in") == (monday, thursday)
    fitting = book_at(1, ticket=ticket)
    assert windows(studio, "Taking in") == (tuesday, thursday)
    sides = ticket.garments.get().lines.get()
    actions.work_after(line=sides, fitting=None, place="before", by=owner)
    assert windows(studio, "Taking in") == (monday, tuesday)
    assert sentences(ticket)[0] == "A Taking in: before the fitting."
    actions.work_after(line=sides, fitting=None, by=owner)
    assert windows(studio, "Taking in") == (tuesday, thursday)
    with on(1, "11:00"):
        actions.miss_fitting(fitting=fitting, by=owner)
        assert waits_of(studio, "Taking in") == "A new day for the missed fitting"
        book_at(3, ticket=ticket, kind="next")
        assert windows(studio, "Taking in") == (at(3).date(), thursday)
        assert waits_of(studio, "Taking in") == ""


def test_between_two_fittings_it_is_done_by_the_second(book_at, studio, owner, on):
    ticket = received(
        studio, owner, trousers(take_in(name="Taking in", fitting_place="after")), promise_at=at(10)
    )  # fmt: skip
    first, _ = book_at(1, ticket=ticket), book_at(3, ticket=ticket, kind="final")
    assert windows(studio, "Taking in") == (at(1).date(), at(3).date())
    with on(1, "11:00"):
        actions.keep_fitting(fitting=first, by=owner)
        assert windows(studio, "Taking in") == (at(1).date(), at(3).date())


def test_a_hem_on_the_circle_hangs_before_it_is_levelled(studio, owner, on, monday):
    """By hand: brought on Monday to hang for two days, it is levelled from Wednesday on."""
    line = hem(name="Circle hem", hang_days=2)
    received(studio, owner, trousers(line), promise_at=at(10))
    assert windows(studio, "Circle hem") == (at(2).date(), at(10).date())
    assert waits_of(studio, "Circle hem") == "The hem to hang before it is levelled"
    with on(1):
        assert windows(studio, "Circle hem")[0] == at(2).date()
    with on(2):
        assert waits_of(studio, "Circle hem") == ""
        assert windows(studio, "Circle hem")[0] == at(2).date()
