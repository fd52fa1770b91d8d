"""A ticket's way over the bench, and the way back from its last step."""

import pytest

from jobs.tickets import actions
from jobs.tickets.models import State
from studio.shop.history import of, undoable
from tests.drafts import hem, received, take_in, trousers
from tests.histories import sentences, undo_last


@pytest.fixture
def ticket(studio, owner):
    return received(studio, owner, trousers(take_in(), hem()), trousers(colour="grey"))


def lines(ticket):
    return [line for garment in ticket.garments.all() for line in garment.lines.all()]


def undo(ticket, studio, owner):
    return undo_last(ticket, owner)


def test_the_first_tick_starts_the_work(ticket, owner):
    after = actions.tick(line=lines(ticket)[0], by=owner)
    assert after.state == State.IN_WORK
    assert after.started_at is not None
    assert [line.name for line in actions.open_lines(after)] == ["Hem", "Hem"]


def test_ticking_twice_is_ticking_once(ticket, owner):
    for _ in range(2):
        actions.tick(line=lines(ticket)[0], by=owner)
    assert sentences(ticket) == [
        "Done: A Take in sides.",
        "Received, 2 garments.",
    ]


def test_ready_asks_for_every_operation(ticket, owner):
    actions.tick(line=lines(ticket)[0], by=owner)
    with pytest.raises(actions.TicketError, match=r"Still open: A Hem, B Hem\."):
        actions.mark_ready(ticket=ticket, by=owner)
    ticket.refresh_from_db()
    assert ticket.state == State.IN_WORK


def test_a_reason_stands_in_for_a_tick(ticket, owner):
    first, second, third = lines(ticket)
    actions.tick(line=first, by=owner)
    actions.tick(line=second, by=owner)
    actions.why_not_done(line=third, why="too frayed", by=owner)
    assert actions.mark_ready(ticket=ticket, by=owner).state == State.READY


def test_a_reason_must_say_something(ticket, owner):
    with pytest.raises(actions.TicketError, match="Say why it was not done"):
        actions.why_not_done(line=lines(ticket)[0], why="  ", by=owner)


def test_unticking_takes_a_ready_ticket_back_to_the_bench(ticket, owner):
    actions.tick_all(ticket=ticket, by=owner)
    actions.mark_ready(ticket=ticket, by=owner)
    after = actions.untick(line=lines(ticket)[0], by=owner)
    assert (after.state, after.ready_at) == (State.IN_WORK, None)


def test_pieces_may_leave_one_after_the_other(ticket, owner):
    actions.tick_all(ticket=ticket, by=owner)
    first, second = ticket.garments.all()
    after = actions.hand_over(ticket=ticket, garments=[first], tried_on=[first], by=owner)
    assert after.state == State.IN_WORK
    after = actions.hand_over(ticket=ticket, garments=[second], tried_on=[], by=owner)
    assert after.state == State.COLLECTED
    assert [g.tried_on for g in ticket.garments.all()] == [True, False]


def test_nothing_leaves_with_an_open_operation(ticket, owner):
    with pytest.raises(actions.TicketError, match="Still open"):
        actions.hand_over(ticket=ticket, garments=ticket.garments.all(), tried_on=[], by=owner)
    assert ticket.garments.filter(handed_over_at=None).count() == 2


def test_cancelling_keeps_number_and_reason(ticket, owner):
    after = actions.cancel(ticket=ticket, why="client changed her mind", by=owner)
    assert (after.state, after.cancelled_why) == (State.CANCELLED, "client changed her mind")
    with pytest.raises(actions.TicketError, match="is cancelled"):
        actions.start(ticket=ticket, by=owner)


def test_cancelling_needs_a_reason(ticket, owner):
    with pytest.raises(actions.TicketError, match="Say why"):
        actions.cancel(ticket=ticket, why=" ", by=owner)


STEPS = {
    "start": lambda t, o, s: actions.start(ticket=t, by=o),
    "tick": lambda t, o, s: actions.tick(line=lines(t)[0], by=o),
    "tick all": lambda t, o, s: actions.tick_all(ticket=t, by=o),
    "why not": lambda t, o, s: actions.why_not_done(line=lines(t)[0], why="torn", by=o),
    "cancel": lambda t, o, s: actions.cancel(ticket=t, why="moved away", by=o),
}


@pytest.mark.parametrize("step", STEPS)
def test_every_step_is_undone_exactly(ticket, owner, studio, step):
    before = facts(ticket)
    STEPS[step](ticket, owner, studio)
    assert facts(ticket) != before
    undo(ticket, studio, owner)
    assert facts(ticket) == before
    assert sentences(ticket)[0].startswith("Undone: ")


def test_undo_goes_back_step_by_step(ticket, owner, studio):
    start = facts(ticket)
    actions.tick_all(ticket=ticket, by=owner)
    done = facts(ticket)
    actions.mark_ready(ticket=ticket, by=owner)
    actions.hand_over(ticket=ticket, garments=ticket.garments.all(), tried_on=[], by=owner)
    undo(ticket, studio, owner)
    undo(ticket, studio, owner)
    assert facts(ticket) == done
    undo(ticket, studio, owner)
    assert facts(ticket) == start


def test_an_undone_change_is_a_version_of_its_own(ticket, owner, studio):
    draft = actions.draft_of(ticket)
    draft.garments[0].lines[0].unit_price = 5000
    draft.garments.append(trousers(colour="red"))
    actions.change(ticket=ticket, draft=draft, studio=studio, by=owner, reason="")
    after = undo(ticket, studio, owner)
    first, second, third = after.agreements.all()
    assert (after.version, after.gross) == (3, 7800)
    assert (first.data["gross"], second.data["gross"], third.data["gross"]) == (7800, 12200, 7800)
    assert [g["letter"] for g in third.data["garments"]] == ["A", "B"]
    assert after.garments.filter(removed_at=None).count() == 2


def test_only_the_last_step_is_undone(ticket, owner, studio):
    actions.start(ticket=ticket, by=owner)
    seen = undoable(of(ticket))
    actions.tick_all(ticket=ticket, by=owner)
    with pytest.raises(actions.TicketError, match="not the last step any more"):
        actions.undo(ticket=ticket, entry=seen, by=owner)


def test_undoing_twice_undoes_once(ticket, owner, studio):
    actions.start(ticket=ticket, by=owner)
    actions.tick_all(ticket=ticket, by=owner)
    act = undoable(of(ticket))
    for _ in range(2):
        act.refresh_from_db()
        actions.undo(ticket=ticket, entry=act, by=owner)
    ticket.refresh_from_db()
    assert ticket.state == State.IN_WORK
    assert len(actions.open_lines(ticket)) == 3


def facts(ticket):
    """What a step may change, as comparable data."""
    ticket.refresh_from_db()
    rows = [
        (line.done_at, line.not_done_why, line.removed_at, line.unit_price)
        for line in lines(ticket)
    ]
    pieces = [(g.handed_over_at, g.removed_at, g.tried_on) for g in ticket.garments.all()]
    when = (ticket.started_at, ticket.ready_at, ticket.collected_at, ticket.cancelled_at)
    return ticket.state, when, ticket.cancelled_why, ticket.gross, pieces, rows
