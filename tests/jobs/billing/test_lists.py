"""The lists of the money room: what stands in them, and that three rows cost what one costs."""

import re
from datetime import timedelta
from uuid import uuid4

import pytest

from jobs.billing import actions
from jobs.tickets import actions as tickets
from jobs.tickets.models import State
from studio.shop import clock
from studio.shop.locales import show_day
from tests.conftest import as_read
from tests.drafts import received, trousers
from tests.factories import ClientFactory, PaymentFactory, TicketFactory
from tests.tables import cells


def ago(days):
    """This time of the day, so many local days ago: in between the clock may have changed."""
    return clock.at(clock.today() - timedelta(days=days), clock.local(clock.now()).time())


def shown(days):
    return show_day(ago(days), "en_IE")


@pytest.fixture
def made_ready(studio, owner):
    def making(name="Client", days=0, pieces=1):
        garments = [trousers() for _ in range(pieces)]
        client = ClientFactory(name=name, phone="087 555 4321")
        with clock.pretend(ago(days)):
            ticket = received(studio, owner, *garments, client=client)
            tickets.tick_all(ticket=ticket, by=owner)
            return tickets.mark_ready(ticket=ticket, by=owner)

    return making


@pytest.fixture
def invoiced(studio, owner):
    """An invoice of 24.00 of which 10.00 was paid before."""

    def invoicing(name="Client"):
        ticket = received(studio, owner, client=ClientFactory(name=name))
        who = {"by": owner, "studio": studio}
        actions.record_payment(
            ticket=ticket, amount=1000, method="card", kind="deposit", form_key=uuid4(), **who
        )
        return actions.issue_invoice(ticket=ticket, form_key=uuid4(), **who)

    return invoicing


@pytest.mark.postgres
def test_ready_by_name(owner_client, made_ready):
    """One hangs at no place that is known; of two garments that hang in a box, the box once."""
    zoe, ake = made_ready("Zoë Quill"), made_ready("Åke Quill", days=3, pieces=2)
    ake.garments.update(hangs="box")
    assert cells(owner_client.get("/ready/")) == [
        [ake.number, "Åke Quill", "087 555 4321", "2", "box", shown(3), "3", "€48.00"],
        [zoe.number, "Zoë Quill", "087 555 4321", "1", "not known", shown(0), "0", "€24.00"],
    ]


def test_whom_to_tell_stands_first_with_every_way(owner_client, helper_client, made_ready):
    """A ``sms:`` link carries its text as ``body`` (RFC 5724)."""
    made_ready("Åke Quill", days=1)
    zoe = made_ready("Zoë Quill")
    for client in (owner_client, helper_client):
        page = client.get("/ready/").text
        part = page[page.index('id="tell"') : page.index("All that is ready")]
        assert "Åke" not in part
        assert f'href="{zoe.get_absolute_url()}"' in part
        assert 'href="tel:0875554321"' in part
        assert f'href="sms:0875554321?body=Your%20ticket%20{zoe.number}%20is%20ready' in part
        assert page.count("btn main") == 1
    zoe.ready_at = ago(1)
    zoe.save()
    page = owner_client.get("/ready/").text
    assert 'id="tell"' not in page
    assert page.count("btn main") == 1


def test_a_number_is_dialled_without_its_brackets(owner_client, made_ready):
    """A ``tel:`` link takes a global number with a plus, else digits (RFC 3966, 3)."""
    ticket = made_ready("Zoë Quill")
    ticket.client.phone = "+353 (0)87 555 4321"
    ticket.client.save()
    for address in ("/ready/", ticket.get_absolute_url()):
        page = owner_client.get(address).text
        assert '<a href="tel:+353875554321">+353 (0)87 555 4321</a>' in page


@pytest.mark.postgres
def test_a_helper_sees_the_ready_list_without_its_money(helper_client, made_ready):
    ticket = made_ready("Zoë Quill")
    response = helper_client.get("/ready/")
    facts = ["087 555 4321", "1", "not known", shown(0), "0"]
    assert cells(response) == [[ticket.number, "Zoë Quill", *facts]]
    for address in ("/ready/", "/uncollected/"):
        page = helper_client.get(address).text
        assert ticket.number in page
        assert "24.00" not in page


def waiting(response):
    """The numbers of the tickets that nobody has collected, as they are listed."""
    return [row.ticket.number for part in response.context["parts"] for row in part.rows]


@pytest.mark.postgres
def test_not_collected_by_age(owner_client, made_ready):
    made_ready("New", days=6)
    old, older = made_ready("Old", days=31), made_ready("Older", days=90)
    response = owner_client.get("/uncollected/?days=30")
    assert waiting(response) == [older.number, old.number]
    page = response.content.decode()
    for words in ("7 days", "30 days", "60 days", "90 days"):
        assert words in page
    assert "120 days" not in page
    assert response.context["ages"] == {7: 2, 30: 2, 60: 1, 90: 1, 120: 0}
    assert len(waiting(owner_client.get("/uncollected/"))) == 3


def test_an_age_that_is_none_shows_everything_and_says_so(owner_client, made_ready):
    made_ready("New", days=6)
    response = owner_client.get("/uncollected/?days=soon")
    assert len(waiting(response)) == 1
    assert "soon is not one of the available choices" in response.content.decode()


@pytest.mark.postgres
@pytest.mark.parametrize(
    ("which", "expected"),
    [("", "gone ready bench back"), ("gone", "gone"), ("ready", "ready"), ("bench", "bench"),
     ("back", "back")],
)  # fmt: skip
def test_who_owes(owner_client, which, expected):
    def owing(name, days, state, paid=400):
        client = ClientFactory(name=name)
        ticket = TicketFactory(received_at=ago(days), client=client, state=state, gross=2400)
        PaymentFactory(ticket=ticket, amount=paid)

    owing("gone", 40, State.COLLECTED)
    owing("ready", 30, State.READY)
    owing("bench", 20, State.IN_WORK)
    owing("back", 10, State.CANCELLED)
    owing("even", 50, State.COLLECTED, paid=2400)
    response = owner_client.get("/money/owing/", {"which": which})
    assert [row[1] for row in cells(response)] == expected.split()
    if which == "gone":
        assert cells(response)[0][2:] == [
            "Collected", shown(40), "40", "€24.00", "€4.00", "€20.00",
        ]  # fmt: skip
    page = response.content.decode()
    assert page.index("€60.00") < page.index("€20.00") < page.index("€4.00")


@pytest.mark.postgres
def test_invoices_and_credit_notes(owner_client, owner, studio, invoiced):
    invoice = invoiced("Zoë Quill")
    note = actions.credit_invoice(
        invoice=invoice, why="Wrong", by=owner, studio=studio, form_key=uuid4()
    )
    other = invoiced("Bo Finch")
    ticket, day, sums = invoice.ticket.number, shown(0), ["€21.15", "€2.85", "€24.00"]
    back = [f"-{amount}" for amount in sums]
    credit = ["Credit note", day, "Zoë Quill", "", ticket]
    expected = [
        [other.number, "Invoice", day, "Bo Finch", "To pay", other.ticket.number, "", *sums],
        [note.number, *credit, invoice.number, *back],
        [invoice.number, "Invoice", day, "Zoë Quill", "Taken back", ticket, "", *sums],
    ]
    assert cells(owner_client.get("/invoices/")) == expected
    assert cells(owner_client.get("/invoices/", {"q": note.number.lower()})) == [expected[1]]
    assert cells(owner_client.get("/invoices/", {"q": "finch"})) == [expected[0]]
    tomorrow = (clock.today() + timedelta(days=1)).isoformat()
    assert cells(owner_client.get("/invoices/", {"first": tomorrow})) == [["No invoice yet."]]
    assert len(cells(owner_client.get("/invoices/", {"last": tomorrow}))) == 3

    # One chip is always marked: a span of its own is one more.
    day = show_day(clock.today() + timedelta(days=1), studio.locale)
    for query, words in [
        ({}, "Ever"),
        ({"q": "finch"}, "Ever"),
        ({"last": tomorrow}, f"Until {day}"),
        ({"first": tomorrow, "last": tomorrow}, f"{day} to {day}"),
    ]:
        page = as_read(owner_client.get("/invoices/", query).content.decode())
        assert re.findall('aria-current="true">([^<]*)</a>', page) == [words]
    assert owner_client.get("/invoices/", {"first": " "}).status_code == 200


@pytest.mark.postgres
def test_payments(owner_client, owner, studio, invoiced):
    ticket = invoiced("Zoë Quill").ticket
    paid = ticket.payments.get()
    mirror = actions.reverse_payment(
        payment=paid, why="Twice", by=owner, studio=studio, form_key=uuid4()
    )
    cash = PaymentFactory(ticket=ticket, amount=500, data={"client": {"name": "Copied Name"}})
    day = shown(0)
    assert cells(owner_client.get("/money/payments/")) == [
        [cash.number, day, "Final payment", "Cash", "Copied Name", ticket.number, "", "€5.00"],
        [mirror.number, day, "Reversal", "Card", "Zoë Quill", ticket.number, "Twice", "-€10.00"],
        [paid.number, day, "Deposit paid", "Card", "Zoë Quill", ticket.number, "", "€10.00"],
    ]
    only = owner_client.get("/money/payments/", {"method": "cash"})
    assert [row[0] for row in cells(only)] == [cash.number]


@pytest.mark.parametrize("count", [1, 3])
@pytest.mark.parametrize(
    ("address", "queries"),
    [
        ("/ready/", 10),
        ("/uncollected/", 9),
        ("/money/owing/", 6),
        ("/invoices/", 7),
        ("/money/payments/", 5),
    ],
)
def test_three_rows_take_as_many_queries_as_one(
    owner_client, owner, invoiced, django_assert_num_queries, address, queries, count
):
    for _ in range(count):
        ticket = invoiced().ticket
        tickets.tick_all(ticket=ticket, by=owner)
        tickets.mark_ready(ticket=ticket, by=owner)
    with django_assert_num_queries(queries):
        response = owner_client.get(address)
    rows = waiting(response) if address == "/uncollected/" else cells(response)
    assert len(rows) == count


def test_a_long_list_has_pages_and_a_wrong_page_number_is_no_error(owner_client, made_ready):
    for _ in range(26):
        made_ready()
    assert len(cells(owner_client.get("/ready/"))) == 25
    assert len(cells(owner_client.get("/ready/?page=2"))) == 1
    assert len(cells(owner_client.get("/ready/?page=soon"))) == 25
    assert len(cells(owner_client.get("/ready/?page=99"))) == 1


@pytest.mark.postgres
def test_a_list_is_sorted_by_its_headings(owner_client, made_ready):
    earlier, later = made_ready("Abe", days=2), made_ready("Bea", days=1)
    for sort, first in {"age": later, "-age": earlier, "client": earlier, "-client": later}.items():
        assert cells(owner_client.get("/ready/", {"sort": sort}))[0][0] == first.number
