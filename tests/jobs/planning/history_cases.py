"""Each verb of the week, done once."""

from datetime import timedelta

from jobs.planning import actions, verbs
from jobs.planning.models import AfterFitting, Appointment, Fitting, PlanRules
from studio.shop import clock
from tests import factories
from tests.history_cases import House, case
from tests.own_factories import MakeFactory, StageFactory


def moment(days: int, hour: int = 10):
    """That hour of the first open day at least so many days ahead."""
    day = clock.today() + timedelta(days=days)
    while day.weekday() > 4:
        day += timedelta(days=1)
    return clock.at(day, clock.now().time().replace(hour=hour, minute=0, second=0, microsecond=0))


def book(house: House, days: int = 7) -> Fitting:
    return actions.book_fitting(
        ticket=house.ticket,
        starts_at=moment(days),
        minutes=30,
        kind=Fitting.Kind.FIRST,
        studio=house.studio,
        by=house.owner,
    )


@case(verbs.BOOKED)
def book_a_fitting(house: House):
    """Work that stood after a missed one goes along."""
    missed = book(house)
    actions.work_after(line=house.line(), fitting=missed, by=house.owner)
    actions.miss_fitting(fitting=missed, by=house.owner)
    yield
    fitting = book(house, 14)
    assert AfterFitting.objects.get().fitting == fitting


@case(verbs.MOVED)
def move_a_fitting(house: House):
    fitting = book(house)
    yield
    actions.move_fitting(fitting=fitting, starts_at=moment(14), studio=house.studio, by=house.owner)


@case(verbs.MOVED)
def move_a_missed_fitting(house: House):
    fitting = book(house)
    actions.miss_fitting(fitting=fitting, by=house.owner)
    yield
    actions.move_fitting(fitting=fitting, starts_at=moment(14), studio=house.studio, by=house.owner)


@case(verbs.KEPT)
def keep_a_fitting(house: House):
    fitting = book(house)
    yield
    actions.keep_fitting(fitting=fitting, by=house.owner)


@case(verbs.MISSED)
def miss_a_fitting(house: House):
    fitting = book(house)
    yield
    actions.miss_fitting(fitting=fitting, by=house.owner)


@case(verbs.CANCELLED)
def cancel_a_fitting(house: House):
    fitting = book(house)
    yield
    actions.cancel_fitting(fitting=fitting, by=house.owner)


@case(verbs.AFTER_FITTING)
def put_work_after_a_fitting(house: House):
    fitting, _ = book(house), book(house, 14)
    yield
    actions.work_after(line=house.line(), fitting=fitting, by=house.owner)


@case(verbs.AFTER_FITTING)
def put_work_after_no_fitting(house: House):
    actions.work_after(line=house.line(), fitting=book(house), by=house.owner)
    yield
    actions.work_after(line=house.line(), fitting=None, by=house.owner)


def hold(house: House):
    return actions.hold(
        line=house.line(),
        what="client",
        question="Which buttons?",
        expected=clock.today() + timedelta(days=3),
        by=house.owner,
    )


@case(verbs.HELD)
def hold_a_line(house: House):
    house.line()
    yield
    hold(house)


@case(verbs.RESUMED)
def resume_a_line(house: House):
    wait = hold(house)
    yield
    actions.end_wait(wait=wait, studio=house.studio, by=house.owner)


@case(verbs.READY_TO_CUT)
def mark_a_hem(house: House):
    line = house.ticket.garments.all()[0].lines.get(name="Hem")
    yield
    actions.ready_to_cut(line=line, by=house.owner)


@case(verbs.TIME_NOTED)
def note_minutes_of_a_line(house: House):
    line = house.line()
    yield
    actions.log_time(line=line, purpose="client", minutes=35, by=house.owner)


@case(verbs.TIME_NOTED)
def note_minutes_of_a_make(house: House):
    make = MakeFactory()
    yield
    actions.log_time(line=None, make=make, purpose="own", minutes=35, by=house.owner)


@case(verbs.TIME_NOTED)
def note_own_minutes(house: House):
    yield
    actions.log_time(line=None, purpose="own", minutes=35, by=house.owner)


@case(verbs.TIME_TRIMMED)
def trim_a_forgotten_clock(house: House):
    factories.BenchTimeFactory(
        line=house.line(),
        minutes=None,
        started_at=clock.now() - timedelta(hours=5),
        by=house.owner,
    )
    yield
    actions.stop_clock(by=house.owner, minutes=40)


@case(verbs.TIME_REMOVED)
def remove_minutes_of_a_stage(house: House):
    time = factories.BenchTimeFactory(
        line=None, purpose="release", stage=StageFactory(), minutes=50, by=house.owner
    )
    yield
    actions.take_minutes_off(time=time, by=house.owner)


@case(verbs.RULES)
def plan_by_other_rules(house: House):
    actions.set_rules(rules=PlanRules(own_percent=30), by=house.owner)
    yield
    actions.set_rules(rules=PlanRules(own_percent=40, min_piece=20), by=house.owner)


def visit(house: House, days: int = 7) -> Appointment:
    return actions.put_appointment(
        kind="other", name="Accounts", starts_at=moment(days), minutes=60, studio=house.studio,
        by=house.owner,
    )  # fmt: skip


@case(verbs.APPOINTMENT_PUT)
def put_an_appointment(house: House):
    visit(house)
    yield
    visit(house, 14)


@case(verbs.APPOINTMENT_CHANGED)
def change_an_appointment(house: House):
    appointment = visit(house)
    yield
    actions.change_appointment(
        appointment=appointment, name="Visit", starts_at=moment(8), minutes=30,
        studio=house.studio, by=house.owner,
    )  # fmt: skip


@case(verbs.APPOINTMENT_REMOVED)
def remove_an_appointment(house: House):
    appointment = visit(house)
    yield
    actions.take_off_appointment(appointment=appointment, by=house.owner)


@case(verbs.OWN_WEEKS)
def choose_own_hours(house: House):
    today = clock.today()
    weeks = [today + timedelta(weeks=ahead) for ahead in range(3)]
    actions.set_own_weeks(minutes={weeks[0]: 240, weeks[1]: 300}, by=house.owner)
    yield
    actions.set_own_weeks(minutes={weeks[0]: None, weeks[1]: 60, weeks[2]: 90}, by=house.owner)


def open_day(days: int):
    return clock.local(moment(days)).date()


@case(verbs.PUT_ON_DAY)
def put_two_lines_on_a_day(house: House):
    """One of them was on another day before."""
    lines = list(house.ticket.garments.all()[0].lines.all())
    facts = {"studio": house.studio, "by": house.owner}
    actions.put_on_day(lines=lines[:1], day=open_day(2), **facts)
    yield
    actions.put_on_day(lines=lines, day=open_day(3), **facts)


@case(verbs.LET_LOOSE)
def let_a_line_loose(house: House):
    line = house.line()
    actions.put_on_day(lines=[line], day=open_day(2), studio=house.studio, by=house.owner)
    yield
    actions.let_loose(lines=[line], by=house.owner)


@case(verbs.OWN_ON_DAY)
def put_own_minutes_on_a_day(house: House):
    make, facts = MakeFactory(), {"studio": house.studio, "by": house.owner}
    actions.put_own_on_day(day=open_day(2), minutes=60, make=make, **facts)
    yield
    actions.put_own_on_day(day=open_day(3), minutes=90, make=make, taken_from=open_day(2), **facts)


@case(verbs.OWN_LET_LOOSE)
def let_own_minutes_loose(house: House):
    actions.put_own_on_day(day=open_day(2), minutes=60, studio=house.studio, by=house.owner)
    yield
    actions.let_own_loose(day=open_day(2), by=house.owner)


@case(verbs.LONGER_DAYS)
def sew_longer_on_days(house: House):
    facts = {"studio": house.studio, "by": house.owner}
    actions.set_longer_days(minutes={open_day(2): 30, open_day(3): 60}, **facts)
    yield
    actions.set_longer_days(minutes={open_day(2): 0, open_day(3): 45, open_day(4): 15}, **facts)


@case(verbs.TOLD_NEW_DAY)
def tell_of_a_new_day(house: House):
    yield
    actions.tell_new_day(ticket=house.ticket, by=house.owner)


@case(verbs.TODO_ADDED)
def add_a_line_to_the_to_do(house: House):
    ticket = house.ticket
    yield
    actions.add_todo(words="Black buttons", side="studio", on=ticket, by=house.owner)


@case(verbs.TODO_DONE)
def tick_a_line(house: House):
    line = factories.TodoFactory(ticket=house.ticket)
    yield
    actions.tick_todo(line=line, done=True, by=house.owner)


@case(verbs.TODO_OPEN)
def take_a_tick_back(house: House):
    line = factories.TodoFactory(done_at=clock.now())
    yield
    actions.tick_todo(line=line, done=False, by=house.owner)


@case(verbs.TODO_FIRST)
def put_a_line_first(house: House):
    _, line = factories.TodoFactory(), factories.TodoFactory(side="studio")
    yield
    actions.put_todo_first(line=line, by=house.owner)


@case(verbs.TODO_MOVED)
def a_line_is_to_buy(house: House):
    line = factories.TodoFactory(ticket=house.ticket)
    yield
    actions.move_todo(line=line, side=line.Side.BUY, by=house.owner)


@case(verbs.NO_CLOTH)
def no_cloth_is_to_buy(house: House):
    make = MakeFactory()
    yield
    actions.want_no_cloth(make=make, by=house.owner)


@case(verbs.TODO_REMOVED)
def remove_a_line(house: House):
    line = factories.TodoFactory(side="mine", make=MakeFactory())
    yield
    actions.remove_todo(line=line, by=house.owner)


@case(verbs.BOUGHT)
def buy_a_notion(house: House):
    make = MakeFactory()
    yield
    actions.buy(make=make, notion="Zip 22 cm", bought=True, by=house.owner)


@case(verbs.TO_BUY)
def a_notion_is_still_to_buy(house: House):
    make = MakeFactory()
    actions.buy(make=make, notion="Zip 22 cm", bought=True, by=house.owner)
    yield
    actions.buy(make=make, notion="zip  22 CM", bought=False, by=house.owner)
