"""Each verb of the pages where the rooms meet, done once."""

from uuid import uuid4

from jobs.counter import verbs
from jobs.counter.pick_up import PickUp, hand_over
from jobs.counter.privacy.actions import erase
from jobs.tickets import actions
from tests.history_cases import House, case


@case(verbs.CLIENT_ERASED)
def erase_a_client(house: House):
    actions.cancel(ticket=house.ticket, why="moved away", by=house.owner)
    yield
    erase(client=house.ticket.client, studio=house.studio, by=house.owner)


def _answers(house: House, *, done: bool = True, **more: object) -> PickUp:
    """Everything leaves, done or not; it is paid later."""
    here = house.ticket.garments.all()
    lines = [line.pk for garment in here for line in garment.lines.all()]
    return PickUp(
        done=frozenset(lines if done else ()),
        reasons={},
        tried_on=frozenset(),
        leaving=frozenset(garment.pk for garment in here),
        form_key=uuid4(),
        pays_later="pays on Friday",
        **more,
    )


@case(verbs.PAYS_LATER)
def hand_over_with_money_open(house: House):
    answers = _answers(house)
    yield
    hand_over(ticket=house.ticket, answers=answers, studio=house.studio, by=house.owner)


@case(verbs.NOT_RIGHT)
def say_what_is_not_right(house: House):
    answers = _answers(house, done=False, wrong="dips at the back")
    yield
    hand_over(ticket=house.ticket, answers=answers, studio=house.studio, by=house.owner)


@case(verbs.GIVEN_BACK)
def give_back_what_was_left_with_it(house: House):
    house.ticket.garments.update(things_left="belt")
    answers = _answers(house, given_back=True)
    yield
    hand_over(ticket=house.ticket, answers=answers, studio=house.studio, by=house.owner)
