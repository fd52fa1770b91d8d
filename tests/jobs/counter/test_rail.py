"""Where a garment hangs, and the rail with everything that is here.

What has to be here is reckoned from the steps that the tests take: taken in, and not handed over.
"""

import re

import pytest
from django.urls import reverse

from jobs.tickets import actions
from jobs.tickets.models import Garment
from studio.shop import history
from studio.shop.models import Profile
from tests import papers
from tests.drafts import hem, paid, received, take_in, trousers
from tests.factories import ClientFactory

TAG = re.compile(r'<span class="figure">(\d\d-\d{4}-[A-Z])</span>')


def place(ticket, letters, at, by):
    garments = ticket.garments.filter(letter__in=letters)
    return actions.hang(ticket=ticket, garments=garments, place=at, by=by)


def finished(ticket, by):
    actions.tick_all(ticket=ticket, by=by)
    return actions.mark_ready(ticket=ticket, by=by)


@pytest.mark.postgres
@pytest.mark.parametrize("by", ["place", "promise"])
def test_everything_taken_in_and_not_handed_over_is_there_once(
    owner_client, helper_client, studio, owner, by
):
    two = [trousers(), trousers(colour="red")]
    fresh, part, ready, gone, cancelled, back = (received(studio, owner, *two) for _ in range(6))
    actions.tick_all(ticket=part, by=owner)
    actions.hand_over(ticket=part, garments=[part.garments.first()], tried_on=[], by=owner)
    place(finished(ready, owner), "AB", "shelf", owner)
    finished(gone, owner)
    actions.hand_over(ticket=gone, garments=gone.garments.all(), tried_on=[], by=owner)
    actions.cancel(ticket=cancelled, why="moved away", by=owner)
    actions.cancel(ticket=back, why="moved away", by=owner, leaves=True)
    smaller = actions.draft_of(fresh)
    smaller.garments.pop()
    actions.change(ticket=fresh, draft=smaller, studio=studio, by=owner, reason="")

    here = [
        f"{fresh.number}-A", f"{part.number}-B", f"{ready.number}-A", f"{ready.number}-B",
        f"{cancelled.number}-A", f"{cancelled.number}-B",
    ]  # fmt: skip
    page = owner_client.get(reverse("rail"), {"by": by}).text
    assert sorted(TAG.findall(page)) == sorted(here)
    assert "6 garments here" in page
    assert page.count("<b>Hand over</b>") == page.count("<b>Hand back</b>") == 2
    waiting = TAG.findall(owner_client.get(reverse("rail"), {"by": "collect"}).text)
    assert sorted(waiting) == sorted(here)
    assert waiting[:2] == [f"{ready.number}-A", f"{ready.number}-B"]
    helped = helper_client.get(reverse("rail"), {"by": by}).text
    assert TAG.findall(helped) == TAG.findall(page)
    assert helped.count("<b>Hand over</b>") == helped.count("<b>Hand back</b>") == 2

    for name in ("paper-rack", "paper-in-case"):
        paper = papers.text(owner_client.get(reverse(name)).content)
        assert "6 garments here" in paper
        assert [paper.count(f"{one.number} ") for one in (fresh, part, ready, gone, back)] == [
            1, 1, 2, 0, 0,
        ]  # fmt: skip

    to = ["rail-went-back"] if by == "place" else ["ticket-hand-back", cancelled.number]
    owner_client.post(reverse(to[0], args=to[1:]))
    page = owner_client.get(reverse("rail"), {"by": by}).text
    assert sorted(TAG.findall(page)) == sorted(here[:4])


def test_ready_ones_come_first_and_cancelled_ones_last(owner_client, studio, owner):
    cancelled, fresh, ready = (received(studio, owner, trousers()) for _ in range(3))
    actions.cancel(ticket=cancelled, why="moved away", by=owner)
    finished(ready, owner)
    order = [f"{ticket.number}-A" for ticket in (ready, fresh, cancelled)]
    for by in ("place", "promise"):
        assert TAG.findall(owner_client.get(reverse("rail"), {"by": by}).text) == order
    assert f'href="{reverse("rail")}">Where they hang' in owner_client.get(reverse("pick-up")).text


def test_from_the_rail_one_comes_back_to_the_same_garment(owner_client, studio, owner):
    client = ClientFactory(name="Una Fennimore")
    received(studio, owner)
    ticket = received(studio, owner, trousers(colour="black"), client=client)
    garment = ticket.garments.get()
    page = owner_client.get(reverse("rail"), {"by": "promise"}).text
    assert f'<li id="garment-{garment.pk}">' in page
    to = reverse("garment-hangs", args=[garment.pk])
    address = re.search(rf'href="({to}[^"]+)"', page)[1]
    form = owner_client.get(address).text
    back = re.search(r'name="back" value="([^"]+)"', form)[1]
    answer = owner_client.post(to, {"place": "rail  2", "back": back})
    assert answer.url == f"{reverse('rail')}?by=promise#garment-{garment.pk}"
    assert "Trousers, black, Una Fennimore: rail 2." in owner_client.get(answer.url).text


def test_what_is_next_of_each(owner_client, studio, owner):
    ticket = received(studio, owner, trousers(take_in()), trousers(hem(measure_later=True,
        amount_mm=None, amount_typed="")), trousers(take_in(), colour="red"))  # fmt: skip
    actions.tick(line=ticket.garments.get(letter="A").lines.get(), by=owner)
    page = owner_client.get(reverse("rail")).text
    assert "done, waits for B and C" in page
    assert page.count("<b>Measure</b>") == page.count("<b>Take in sides</b>") == 1
    assert page.count("Place not known") == 1


def test_places_in_the_owners_order_and_the_unknown_last(owner_client, studio, owner):
    Profile.objects.update(places="window\nrail 9")
    ticket = received(studio, owner, *[trousers() for _ in range(4)])
    for letter, at in zip("ABC", ("attic", "rail 9", "window"), strict=True):
        place(ticket, letter, at, owner)
    parts = owner_client.get(reverse("rail")).context["parts"]
    assert [part.words for part in parts] == ["window", "rail 9", "attic", "Place not known"]
    paper = papers.text(owner_client.get(reverse("paper-rack")).content)
    heads = ["window 1", "rail 9 1", "attic 1", "Place not known 1"]
    at = [paper.index(words) for words in heads]
    assert at == sorted(at)
    assert "Missing" in paper
    assert "Hangs here and is not on the list" in paper


@pytest.mark.parametrize("count", [1, 3])
def test_queries_of_the_rail(owner_client, studio, owner, django_assert_num_queries, count):
    for _ in range(count):
        ticket = received(studio, owner, trousers(), trousers())
        finished(ticket, owner)
        actions.cancel(ticket=received(studio, owner), why="moved away", by=owner)
        received(studio, owner, trousers(take_in()))
    with django_assert_num_queries(10):
        owner_client.get(reverse("rail"))
    with django_assert_num_queries(5):
        owner_client.get(reverse("paper-rack"))


def test_the_place_is_one_tap_when_the_work_is_done(owner_client, studio, owner):
    ticket = received(studio, owner, trousers(), trousers())
    address = ticket.get_absolute_url()
    assert 'id="to-hang"' not in owner_client.get(address).text
    actions.tick_all(ticket=ticket, by=owner)
    page = owner_client.get(address).text
    assert "Where do A, B hang?" in page
    offered = re.findall(r'name="place" value="([^"]+)"', page)
    assert offered == ["rail 1", "rail 2", "shelf", "box"]

    first = ticket.garments.get(letter="A")
    to = reverse("garment-hangs", args=[first.pk])
    page = owner_client.post(to, {"place": "shelf", "all": "1"}, follow=True).text
    assert page.count("hangs: shelf") >= 2
    assert "A and B hang: shelf." in page
    assert 'id="to-hang"' not in page
    assert [one.hangs for one in ticket.garments.all()] == ["shelf", "shelf"]

    one = reverse("garment-hangs", args=[ticket.garments.get(letter="B").pk])
    offered = re.findall(r'name="place" value="([^"]+)"', owner_client.get(one).text)
    assert offered == ["shelf", "rail 1", "rail 2", "box"]
    owner_client.post(one, {"other": "  by the   door "})
    assert [one.hangs for one in ticket.garments.all()] == ["shelf", "by the door"]

    entry = history.undoable(history.of(ticket), owner)
    owner_client.post(reverse("ticket-undo", args=[ticket.number]), {"entry": entry.pk})
    assert [one.hangs for one in ticket.garments.all()] == ["shelf", "shelf"]


def test_the_same_place_again_is_no_step_and_what_left_hangs_nowhere(studio, owner):
    ticket = received(studio, owner)
    assert place(ticket, "A", "box", owner)
    before = history.of(ticket).count()
    assert place(ticket, "A", "box", owner) == []
    assert history.of(ticket).count() == before
    actions.cancel(ticket=ticket, why="moved away", by=owner, leaves=True)
    with pytest.raises(actions.TicketError, match="no longer here"):
        place(ticket, "A", "box", owner)


def test_it_is_large_at_pick_up_and_on_no_paper_of_the_client(owner_client, studio, owner):
    ticket = received(studio, owner, trousers(hangs="under the stairs"))
    finished(ticket, owner)
    assert (
        "hangs: under the stairs</p>"
        in owner_client.get(reverse("ticket-pick-up", args=[ticket.number])).text
    )
    assert "under the stairs" in owner_client.get(reverse("pick-up")).text
    found = owner_client.get(reverse("tickets"), {"q": ticket.number, "state": "all"})
    assert '<b class="hangs">under the stairs</b>' in found.text
    agreement = ticket.agreements.get()
    assert "under the stairs" not in str(agreement.data)
    for name in ("ticket-claim", "ticket-large", "ticket-roll"):
        paper = owner_client.get(reverse(name, args=[ticket.number]))
        assert "stairs" not in papers.text(paper.content)


def test_drop_off_can_say_it_and_settings_name_the_places(owner_client, studio, owner):
    owner_client.post(reverse("studio-places"), {"places": " rail 3 \nrail 3\n\nloft"})
    studio.refresh_from_db()
    assert studio.places == "rail 3\nloft"
    page = owner_client.get(reverse("drop-off")).text
    assert '<datalist id="places"><option value="rail 3"></option>' in page
    page = owner_client.post(reverse("studio-places"), {"places": "x" * 41}).text
    assert "At most 40 letters for one place." in page


def test_deposits_of_cancelled_tickets_are_to_give_back_and_net_nothing(
    owner_client, helper_client, studio, owner
):
    """24.00 to pay on one ticket, 10.00 to give back of another: never 14.00."""
    reed = ClientFactory()
    received(studio, owner, trousers(hem()), client=reed)
    cancelled = received(studio, owner, trousers(hem()), trousers(hem()), client=reed)
    paid(studio, owner, cancelled, amount=1000)
    actions.cancel(ticket=cancelled, why="moved away", by=owner)
    page = owner_client.get(reverse("rail")).text
    assert page.count("€10.00 to give back") == 2  # above, and once at the ticket
    assert "to give back" not in helper_client.get(reverse("rail")).text
    client = owner_client.get(reverse("client", args=[reed.pk]))
    assert (client.context["to_pay"], client.context["back"]) == (2400, 1000)
    assert "€14.00" not in client.text
    assert len(client.context["here"]) == Garment.objects.count() == 3
    paper = papers.text(owner_client.get(reverse("paper-in-case")).content)
    assert re.search(r"€10\.00\s*to give back", paper)
    assert "-€" not in paper
    money = owner_client.get(reverse("owing"))
    assert (money.context["open"].owed, money.context["open"].to_give_back) == (2400, 1000)
