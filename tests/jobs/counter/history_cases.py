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


@case(verbs.PAYS_LATER)
def hand_over_with_money_open(house: House):
    here = house.ticket.garments.all()
    lines = [line.pk for garment in here for line in garment.lines.all()]
    answers = PickUp(
        done=frozenset(lines),
        reasons={},
        tried_on=frozenset(),
        leaving=frozenset(garment.pk for garment in here),
        form_key=uuid4(),
        pays_later="pays on Friday",
    )
    yield
    hand_over(ticket=house.ticket, answers=answers, studio=house.studio, by=house.owner)
