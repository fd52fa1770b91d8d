"""Pads of paper tickets: one series, no gap and no twin, however they are typed in.

The reckoning is by hand: of N reserved numbers each is used, void or open; the next drop-off takes
the number after the last pad.
"""

from datetime import timedelta
from uuid import uuid4

import pytest
import time_machine
from django.db import transaction
from django.urls import reverse

from jobs.counter.sums import number_sums
from jobs.tickets import actions
from jobs.tickets.actions import pads
from jobs.tickets.models import PadNumber, Ticket
from jobs.tickets.queries import numbers_of_year, open_numbers
from studio.shop import clock, history
from studio.shop.models import Profile
from tests import factories, papers, proofreading
from tests.drafts import draft, received
from tests.jobs.counter.html_form import Counter
from tests.studio.shop.rush_hour import at_once
from tests.thorough import thinned

pytestmark = pytest.mark.usefixtures("wednesday")


def pad(owner, count):
    return pads.reserve(count=count, form_key=uuid4(), by=owner)


def numbers(of):
    return [str(one) for one in of.numbers.all()]


def typed_in(studio, owner, number):
    client = factories.ClientFactory()
    return actions.receive(client=client, draft=draft(number=number), studio=studio, by=owner)


def dropped_off(browser):
    """The counter's page up to its Save: a hem for somebody who is known."""
    hem = factories.OperationFactory()
    client = factories.ClientFactory()
    page = Counter(browser, f"/drop-off/?client={client.pk}")
    return page.put(hem)


@pytest.mark.postgres
def test_two_pads_typed_in_out_of_order_and_one_spoilt(owner_client, studio, owner):
    """1 at the counter, 2 to 4 and 5 to 6 on pads, 7 at the counter: 6, 2 and 3 are typed in."""
    assert received(studio, owner).number == "26-0001"
    first, second = pad(owner, 3), pad(owner, 2)
    assert numbers(first) == ["26-0002", "26-0003", "26-0004"]
    assert numbers(second) == ["26-0005", "26-0006"]
    assert received(studio, owner).number == "26-0007"
    for number in ("26-0006", "26-0002", "26-0003"):
        assert typed_in(studio, owner, number).number == number
    assert open_numbers() == ["26-0004", "26-0005"]
    pads.void(pad=first, numbers=["26-0004"], why=" spoilt ", by=owner)

    proof = numbers_of_year(2026)
    assert (proof.last, proof.used, proof.open) == (7, 5, ["26-0005"])
    assert [(one.number, one.voided_why) for one in proof.void] == [("26-0004", "spoilt")]
    assert proof.proves
    assert all(row.right for row in number_sums())
    assert received(studio, owner).number == "26-0008"

    year = owner_client.get(reverse("year")).text
    assert "8 given, 6 tickets, 1 open on pads, 1 void (26-0004: spoilt)" in year
    day = papers.text(owner_client.get(reverse("paper-day-end")).content)
    assert "Tickets 26-0001 to 26-0008 6" in day
    assert "26-0004: spoilt" in day
    today = owner_client.get(reverse("day-end"), {"day": f"{clock.today()}"}).text
    assert "26-0004</span> (spoilt)" in today


@pytest.mark.parametrize(
    ("number", "why"),
    [("26-0001", "typed in already"), ("26-0002", "voided"), ("26-0009", "on no pad")],
)
def test_a_number_is_used_once(studio, owner, number, why):
    made = pad(owner, 3)
    typed_in(studio, owner, "26-0001")
    pads.void(pad=made, numbers=["26-0002"], why="lost", by=owner)
    with pytest.raises(actions.TicketError, match=why):
        typed_in(studio, owner, number)
    assert Ticket.objects.count() == 1
    with pytest.raises(actions.TicketError, match="Typed in already: 26-0001"):
        pads.void(pad=made, numbers=["26-0001", "26-0003"], why="lost", by=owner)
    with pytest.raises(actions.TicketError, match="Say why"):
        pads.void(pad=made, numbers=["26-0003"], why=" ", by=owner)


def test_a_pad_of_the_old_year_keeps_its_numbers_in_the_new_one(studio, owner):
    with time_machine.travel("2026-12-31 23:45Z", tick=False):
        made = pad(owner, 2)
    with time_machine.travel("2027-01-01 00:15Z", tick=False):
        assert typed_in(studio, owner, "26-0001").number == "26-0001"
        assert received(studio, owner).number == "27-0001"
        assert open_numbers() == ["26-0002"]
        pads.void(pad=made, numbers=["26-0002"], why="old year", by=owner)
        assert all(row.right for row in number_sums())


def test_printing_twice_gives_the_same_numbers_and_none_that_is_used(owner_client, studio, owner):
    owner_client.post(reverse("pads"), {"count": "3", "form_key": (key := uuid4())})
    owner_client.post(reverse("pads"), {"count": "3", "form_key": key})
    made = PadNumber.objects.first().pad
    assert PadNumber.objects.count() == 3
    paper = reverse("pad-paper", args=[made.pk])
    printed = papers.text(owner_client.get(paper).content)
    assert [printed.count(number) >= 2 for number in numbers(made)] == [True] * 3
    assert papers.text(owner_client.get(paper).content) == printed
    typed_in(studio, owner, "26-0002")
    again = papers.text(owner_client.get(paper).content)
    assert "26-0002" not in again
    assert again.count("26-0003") == printed.count("26-0003")
    pads.void(pad=made, numbers=["26-0001", "26-0003"], why="not used", by=owner)
    assert owner_client.get(paper).status_code == 302


def test_the_drop_off_offers_the_first_open_first(owner_client, studio, owner):
    assert "From the pad" not in owner_client.get("/drop-off/").text
    made = pad(owner, 3)
    page = dropped_off(owner_client)
    assert "From the pad" in page.text
    assert page.form.fields["number"] == [""]
    page.type(number="26-0003").press("save")
    assert Ticket.objects.get().number == "26-0003"
    assert "?pad=26-0003" in page.response["Location"]
    slip = owner_client.get(page.response["Location"]).text
    assert 'href="/drop-off/?pad=26-0001"' in slip
    named = owner_client.get("/drop-off/?pad=26-0001").text
    assert named.index("From the pad: 26-0001") < named.index("Who brings it?")
    entry = history.of(Ticket.objects.get()).get(verb="ticket.receive")
    assert history.sentence(entry, "en_IE") == "Received, 1 garment, from the pad."
    listed = owner_client.get(made.get_absolute_url()).text
    assert listed.index("26-0001") < listed.index("26-0002") < listed.index("26-0003")

    # The same form again is the same ticket, though its number is open no more.
    page.response = owner_client.post("/drop-off/", {**page.form.fields, "intent": ["save"]})
    assert page.response.status_code == 302
    assert Ticket.objects.count() == 1


def test_the_day_on_the_paper_is_the_day_of_receipt(owner_client, studio, owner):
    """Today unless the paper says another day, and never one to come."""
    pad(owner, 2)
    today = clock.today()
    page = Counter(owner_client, "/drop-off/?pad=26-0002")
    assert page.form.fields["received_on"] == [f"{today}"]
    page = dropped_off(owner_client)
    page.type(number="26-0002", received_on=f"{today + timedelta(days=1)}").press("save")
    assert "This day is still to come." in page.text
    yesterday = today - timedelta(days=1)
    page.type(received_on=f"{yesterday}").press("save")
    assert clock.local(Ticket.objects.get().received_at).date() == yesterday
    one = draft(number="26-0001", received_on=today + timedelta(days=1))
    with pytest.raises(actions.TicketError, match="a day to come"):
        actions.receive(client=factories.ClientFactory(), draft=one, studio=studio, by=owner)


def test_a_number_that_was_used_meanwhile_is_refused_in_words(owner_client, studio, owner):
    pad(owner, 1)
    page = dropped_off(owner_client).type(number="26-0001")
    typed_in(studio, owner, "26-0001")
    page.press("save")
    assert "26-0001 is not open any more" in page.text
    assert Ticket.objects.count() == 1


def test_voiding_is_one_act_with_its_undo(owner_client, studio, owner):
    made = pad(owner, 4)
    to = reverse("pad-void", args=[made.pk])
    page = owner_client.post(
        to, {"number": ["26-0002", "26-0003"], "why": "spoilt"}, follow=True
    ).text
    assert "Void: 26-0002, 26-0003." in page
    assert open_numbers() == ["26-0001", "26-0004"]
    entry = history.undoable(history.of(studio), owner)
    owner_client.post(reverse("studio-undo"), {"entry": entry.pk})
    assert len(open_numbers()) == 4


@pytest.mark.parametrize("count", [1, 3])
def test_queries_of_the_pads(owner_client, studio, owner, django_assert_num_queries, count):
    for _ in range(count):
        made = pad(owner, count)
        typed_in(studio, owner, numbers(made)[0])
    with django_assert_num_queries(8):
        owner_client.get(reverse("pads"))
    with django_assert_num_queries(5):
        owner_client.get(made.get_absolute_url())


@pytest.mark.paper
@pytest.mark.parametrize(
    ("size", "pages"), thinned([("A4", 2), ("Letter", 2), ("A5", 3)], {("A5", 3)}.__contains__)
)
def test_paper_tickets_at_every_size(owner_client, studio, owner, size, pages):
    Profile.objects.update(paper=size, name="Wilhelmina " * 9, street="W" * 60)
    made = pad(owner, 3)
    pdf = owner_client.get(reverse("pad-paper", args=[made.pk])).content
    assert len(papers.texts(pdf)) == pages
    assert papers.margins_broken(pdf, size) == []
    assert papers.printed_over(pdf) == []
    assert proofreading.structure_faults(pdf, usual=True) == []
    codes = [code.rpartition("/t/")[2] for page in papers.codes(pdf) for code in page]
    assert codes == [f"{number}/" for number in numbers(made)]
    letters = [letter for page, _ in papers.letters_and_words(pdf) for letter in page]
    assert min(letter["size"] for letter in letters) >= 7.99


@pytest.mark.postgres
def test_two_hands_and_one_number(transactional_db, studio, owner):
    """Two take the same number of a pad and two others the next: four distinct, or a refusal."""
    with transaction.atomic():
        made = pad(owner, 1)
        client = factories.ClientFactory()

    def hand(number=""):
        one = draft(number=number)
        try:
            return actions.receive(client=client, draft=one, studio=studio, by=owner).number
        except actions.TicketError as wrong:
            return str(wrong)

    answers = at_once(lambda: hand("26-0001"), lambda: hand("26-0001"), hand, hand)
    assert sorted(answers) == [
        "26-0001", "26-0001 was typed in already. Choose another number.", "26-0002", "26-0003",
    ]  # fmt: skip
    assert numbers(made) == ["26-0001"]
    assert numbers_of_year(clock.today().year).proves
