"""Each verb of the pages where the rooms meet, done once."""

from jobs.counter import verbs
from jobs.counter.privacy.actions import erase
from jobs.tickets import actions
from tests.history_cases import House, case


@case(verbs.CLIENT_ERASED)
def erase_a_client(house: House):
    actions.cancel(ticket=house.ticket, why="moved away", by=house.owner)
    yield
    erase(client=house.ticket.client, studio=house.studio, by=house.owner)
