"""Initials under an agreement: given once, by drawing or on paper, under the current version."""

import pytest
from django.urls import reverse

from jobs.tickets import actions
from jobs.tickets.actions import WornWith
from jobs.tickets.actions.agree import give_initials
from jobs.tickets.actions.lock import TicketError
from jobs.tickets.forms import first_letters
from jobs.tickets.models import Initials
from tests.drafts import received, trousers
from tests.factories import ClientFactory
from tests.histories import sentences
from tests.studio.shop.test_pictures_ink import address as drawing
from tests.studio.shop.test_pictures_ink import drawn, hollow


@pytest.fixture
def ticket(studio, owner):
    return received(studio, owner, trousers(), client=ClientFactory(name="Maeve Tuohy"))


@pytest.fixture
def agreement(ticket):
    return ticket.agreements.get()


@pytest.fixture
def give(agreement, owner):
    def initials(**changes) -> Initials:
        facts = {"agreement": agreement, "way": "paper", "letters": "MT", "by": owner}
        return give_initials(**facts | changes)

    return initials


def page_of(ticket, version=1) -> str:
    return reverse("agreement-initials", args=[ticket.number, version])


def test_what_was_given_first_stays(give, ticket):
    first = give()
    assert give(way="glass", letters="XX", ink=drawn()) == first
    given = Initials.objects.get()
    assert (given.way, given.letters, given.file.name) == ("paper", "MT", "")
    assert sentences(ticket)[0] == "Version 1 signed on paper: MT."


def test_a_new_version_needs_new_initials(give, ticket, owner):
    give()
    garment = ticket.garments.get()
    actions.note_worn(garment=garment, worn=WornWith(shoes="flats"), by=owner)
    second = ticket.agreements.get(version=2)
    assert not Initials.objects.filter(agreement=second).exists()
    assert give(agreement=second).agreement == second


def test_only_the_current_version_is_initialled(give, ticket, owner):
    actions.note_worn(garment=ticket.garments.get(), worn=WornWith(shoes="flats"), by=owner)
    with pytest.raises(TicketError, match="Version 2 has been agreed since"):
        give()


def test_a_closed_ticket_is_not_initialled(give, ticket, owner):
    actions.cancel(ticket=ticket, why="moved away", by=owner)
    with pytest.raises(TicketError, match="is cancelled"):
        give()


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"letters": "  "}, "Write the client's initials"),
        ({"way": "glass"}, "are drawn"),
        ({"ink": b"PNG"}, "are drawn"),
    ],
)
def test_initials_without_letters_or_ink_are_none(give, typed, says):
    with pytest.raises(TicketError, match=says):
        give(**typed)
    assert not Initials.objects.exists()


@pytest.mark.parametrize(
    ("name", "letters"),
    [("Maeve Tuohy", "MT"), ("anna-lena de Wit", "ALDW"), ("Zoë", "Z"), (" ", "")],
)
def test_the_likely_letters_are_offered(name, letters):
    assert first_letters(name) == letters


def test_the_page_shows_what_is_agreed_and_takes_a_drawing(owner_client, ticket):
    page = owner_client.get(page_of(ticket)).text
    for words in ("agreed as version 1", "take off 4.5", "€24.00", 'value="MT"'):
        assert words in page
    typed = {"letters": "MT", "way": "glass", "drawing": drawing(drawn())}
    page = owner_client.post(page_of(ticket), typed, follow=True).text
    assert "Signed on screen: <strong>MT</strong>" in page
    given = Initials.objects.get()
    ink = owner_client.get(reverse("drawn-initials", args=[given.pk]))
    assert ink.headers["Content-Type"] == "image/png"
    assert b"".join(ink.streaming_content).startswith(b"\x89PNG")
    assert "data-glass" not in owner_client.get(page_of(ticket)).text


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"way": "glass", "drawing": ""}, "Nothing is drawn on the screen yet."),
        ({"way": "glass", "drawing": drawing(hollow(9999, 9999))}, "cannot be read"),
        ({"way": "glass", "drawing": "data:text/html;base64,PGI+"}, "cannot be read"),
        ({"way": "paper", "letters": ""}, "Write the client&#x27;s initials."),
        ({"way": "wax"}, "Select a valid choice."),
        ({"way": "paper", "letters": "MAEVETUOHY"}, "at most 8"),
    ],
)
def test_what_is_wrong_is_said_on_the_page(owner_client, ticket, typed, says):
    answer = owner_client.post(page_of(ticket), {"letters": "MT"} | typed)
    assert says in answer.text
    assert not Initials.objects.exists()


def test_an_old_version_says_that_it_is_too_late(owner_client, ticket, owner):
    actions.note_worn(garment=ticket.garments.get(), worn=WornWith(shoes="flats"), by=owner)
    assert "data-glass" not in owner_client.get(page_of(ticket)).text
    typed = {"letters": "MT", "way": "paper"}
    assert (
        "Version 2 has been agreed since"
        in owner_client.post(page_of(ticket), typed, follow=True).text
    )


def test_initials_on_paper_have_no_picture(owner_client, give):
    given = give()
    assert owner_client.get(reverse("drawn-initials", args=[given.pk])).status_code == 404


@pytest.mark.postgres
@pytest.mark.parametrize("count", [1, 3])
def test_the_ticket_shows_initials_without_asking_for_each(
    owner_client, ticket, owner, count, django_assert_num_queries
):
    for number in range(count):
        if number:
            worn = WornWith(shoes=f"pair {number}")
            actions.note_worn(garment=ticket.garments.get(), worn=worn, by=owner)
        latest = ticket.agreements.order_by("-version")[0]
        give_initials(agreement=latest, way="paper", letters="MT", by=owner)
    with django_assert_num_queries(18):
        page = owner_client.get(f"/t/{ticket.number}/").text
    assert page.count("<strong>MT</strong>") == count
