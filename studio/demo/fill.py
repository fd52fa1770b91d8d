"""The demo studio: Larkfield Sewing Room and its last eight months."""

from collections.abc import Iterable, Iterator
from datetime import date, datetime, time, timedelta
from heapq import heapify, heappop, heappush
from random import Random

from django.db import transaction

from clients.models import Client
from jobs.billing import actions as billing
from jobs.billing.models import Invoice
from jobs.pricing.actions import load_starting_list
from jobs.pricing.models import Operation
from jobs.tickets import actions
from studio.demo.bodies import measure
from studio.demo.catalogue import Catalogue
from studio.demo.life import Life
from studio.demo.own import sew_for_oneself
from studio.demo.people import people
from studio.demo.shop import open_shop
from studio.demo.week import arrange
from studio.shop import clock
from studio.shop.models import Profile

CLIENTS = 60
TICKETS = 150
DAYS = 240


class DemoError(RuntimeError):
    """The data folder already belongs to a studio."""


@transaction.atomic
def fill(now: datetime) -> None:
    """Make the whole demo, the same for the same day. Raises DemoError in a used database."""
    if Profile.objects.exists():
        raise DemoError("There is a studio in this database already.")
    dice = Random(20)  # noqa: S311 -- a demo needs the same luck every time, not secrets
    studio, owner, helper = open_shop()
    clock.activate(studio)
    load_starting_list(studio.currency)
    clients = people(CLIENTS, dice)
    for client in clients:
        client.save()
    life = Life(studio, owner, helper, Catalogue.read(), dice, now)
    live(life.lead(_somebody(clients, dice), moment) for moment in _moments(now, dice))
    _credit_one(life)
    _night_dress(life, clients[7])
    arrange(life)
    sew_for_oneself(life)
    measure(life, clients[3])


def live(lives: Iterable[Iterator[datetime]]) -> None:
    """Take the steps of all lives in the order of time, each at its own moment."""
    waiting = [(next(life), place, life) for place, life in enumerate(lives)]
    heapify(waiting)
    while waiting:
        moment, place, life = heappop(waiting)
        with clock.pretend(moment):
            following = next(life, None)
        if following:
            heappush(waiting, (max(following, moment), place, life))


def _moments(now: datetime, dice: Random) -> list[datetime]:
    """When the tickets come in: on working days, more of them lately than long ago."""
    today = clock.local(now).date()
    days = [today - timedelta(days=back) for back in range(DAYS)]
    open_days = [day for day in days if day.weekday() < 5]
    weights = [2 if (today - day).days < 21 else 1 for day in open_days]
    chosen = dice.choices(open_days, weights, k=TICKETS)
    return sorted(_moment(day, now, dice) for day in chosen)


def _moment(day: date, now: datetime, dice: Random) -> datetime:
    """Clients come first thing, at lunch and from four to five."""
    hour = dice.choice([9, 9, 12, 13, 16, 16])
    moment = clock.at(day, time(hour, dice.randrange(0, 60, 5)))
    return min(moment, now - timedelta(minutes=dice.randrange(5, 40)))


def _somebody(clients: list[Client], dice: Random) -> Client:
    """Some clients come often, most once or twice."""
    return clients[min(int(dice.expovariate(1 / 20)), len(clients) - 1)]


def _night_dress(life: Life, client: Client) -> None:
    """A child's night dress has just come in; one of its two cautions was read."""
    work = Operation.objects.select_related("garment_kind")
    hem = work.get(garment_kind__name="Children's night clothes", name="Hem")
    with clock.pretend(life.now - timedelta(minutes=4)):
        garment = life.bring(client, hem).garments.get()
        actions.note_care(garment=garment, fibre="100 % cotton", iron="2", by=life.owner)
        actions.read_caution(garment=garment, key="night", by=life.owner)


def _credit_one(life: Life) -> None:
    """One invoice went to the wrong address and was taken back."""
    invoice = Invoice.objects.order_by("pk").first()
    if invoice:
        billing.credit_invoice(
            invoice=invoice,
            why="made out to the wrong name",
            by=life.owner,
            studio=life.studio,
            form_key=life.key(),
        )
