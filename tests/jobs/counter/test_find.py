"""One box: a ticket's number, a phone's last digits, part of a name, a scanned address."""

import pytest

from jobs.tickets.models import State
from studio.shop.locales import show_day
from tests import factories

pytestmark = pytest.mark.postgres


@pytest.fixture
def mary(studio):
    return factories.ClientFactory(name="Máire Larkin", phone="086 555 0177")


@pytest.fixture
def ticket(mary):
    return factories.TicketFactory(number="26-0143", client=mary)


def find(client, q: str, **kwargs):
    return client.get("/find/", {"q": q}, **kwargs)


@pytest.mark.parametrize(
    "typed",
    ["26-0143", "0143", "143", "26-0143-B", "/0143", "http://studio.local/t/26-0143/"],
)
def test_a_number_leads_straight_to_its_ticket(owner_client, ticket, typed):
    factories.TicketFactory(number="26-0144")

    response = find(owner_client, typed)

    assert response.url == "/t/26-0143/"


def test_of_the_same_number_in_two_years_the_open_ticket_is_meant(owner_client, ticket):
    factories.TicketFactory(number="25-0143", state=State.COLLECTED)

    assert find(owner_client, "0143").url == "/t/26-0143/"


def test_two_open_tickets_of_one_number_are_listed(owner_client, ticket):
    factories.TicketFactory(number="25-0143")

    page = find(owner_client, "0143").content.decode()

    assert 'href="/t/26-0143/"' in page
    assert 'href="/t/25-0143/"' in page


def test_the_last_digits_lead_to_the_one_open_ticket(owner_client, ticket):
    assert find(owner_client, "0177").url == "/t/26-0143/"


def test_a_number_that_is_also_somebodys_phone_is_listed(owner_client, ticket):
    other = factories.ClientFactory(name="Tom Field", phone="087 555 0143")
    factories.TicketFactory(number="26-0200", client=other)

    page = find(owner_client, "0143").content.decode()

    assert 'href="/t/26-0143/"' in page
    assert f'href="/drop-off/?client={other.pk}"' in page


def test_a_client_without_an_open_ticket_is_listed_with_a_drop_off(owner_client, ticket, mary):
    ticket.state = State.COLLECTED
    ticket.save()

    page = find(owner_client, "maire lar").content.decode()

    assert f'href="/drop-off/?client={mary.pk}"' in page
    assert "26-0143" not in page


def test_what_is_not_found_goes_along_to_a_new_client(owner_client, studio):
    page = find(owner_client, "Zoë O'Hara & 086").content.decode()

    assert "Nothing found" in page
    assert 'href="/drop-off/?new=Zo%C3%AB%20O%27Hara%20%26%20086"' in page


@pytest.mark.parametrize("typed", ["0143", "26-0143"])
def test_a_whole_number_leads_to_its_ticket_as_soon_as_it_is_typed(owner_client, ticket, typed):
    response = find(owner_client, typed, headers={"HX-Request": "true"})

    assert response["HX-Redirect"] == "/t/26-0143/"


@pytest.mark.parametrize("typed", ["143", "26-143"])
def test_while_typing_the_list_comes_alone_and_leads_nowhere(owner_client, ticket, typed):
    response = find(owner_client, typed, headers={"HX-Request": "true"})

    assert response.status_code == 200
    assert response.content.decode().lstrip().startswith("<div")
    assert 'href="/t/26-0143/"' in response.content.decode()
    day = show_day(ticket.promise_at, "en_IE", year=False)
    assert f" · by {day}" in response.text.replace("\N{NO-BREAK SPACE}", " ")


@pytest.mark.parametrize("typed", ["", "   ", "<script>alert(1)</script>", "9" * 500, "مريم", "🧵"])
def test_anything_may_be_typed(owner_client, ticket, typed):
    page = find(owner_client, typed).content.decode()

    assert "<script>alert" not in page
    assert "26-0143" not in page


def test_a_helper_finds_too(helper_client, ticket):
    assert find(helper_client, "0143").url == "/t/26-0143/"


@pytest.mark.parametrize("each", [1, 3])
def test_finding_asks_the_database_as_often_for_one_as_for_three(
    owner_client, studio, each, django_assert_num_queries
):
    for n in range(each):
        client = factories.ClientFactory(name=f"Larkin {n}", phone="086 555 0143")
        for number in (f"{26 - n}-0143", f"26-08{n:02d}", f"26-09{n:02d}"):
            factories.LineFactory(garment__ticket__number=number, garment__ticket__client=client)

    # The profile, the session, the user; tickets by number, clients, their open tickets; and of
    # all of these the garments, lines, photographs and waits.
    with django_assert_num_queries(10):
        find(owner_client, "0143", headers={"HX-Request": "true"})


def test_the_owner_finds_own_cloth_and_makes_in_a_last_group(owner_client, helper_client):
    factories.ClothFactory(name="Rust corduroy")
    make = factories.MakeFactory(words="Corduroy pinafore")
    factories.ClientFactory(name="Corduroy Lane")
    page = find(owner_client, "corduroy").content.decode()
    places = [page.index(words) for words in ("Corduroy Lane", "Rust corduroy", make.words)]
    assert places == sorted(places)
    assert f'href="{make.get_absolute_url()}"' in page
    assert "Nothing found" not in find(owner_client, "pinafore").content.decode()
    assert "Rust corduroy" not in find(helper_client, "corduroy").content.decode()
