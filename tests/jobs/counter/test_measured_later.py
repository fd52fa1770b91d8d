"""Work that asks how far is saved with an amount or to be measured later, never in silence."""

import io
from decimal import Decimal
from importlib import import_module

import pdfplumber
import pytest
from django.apps import apps
from django.db import connection
from django.urls import reverse

from jobs.tickets import actions
from jobs.tickets.models import Line, Ticket
from studio.shop import clock
from tests import factories, papers
from tests.drafts import gone, hem, received, take_in, trousers
from tests.jobs.counter.html_form import Counter
from tests.jobs.planning.pages import beside, drawer, words
from tests.thorough import thinned

ASK = "Write how far, or tick “Measure later”."


@pytest.fixture
def work(studio):
    kind = factories.GarmentKindFactory(name="Trousers")
    return factories.OperationFactory(
        garment_kind=kind, name="Hem", takes_amount=True, usual_basis="leg",
        usual_measure="take_off",
    )  # fmt: skip


def bare(work, **facts):
    """The hem without an amount; the usual words stand."""
    details = {"operation_id": work.pk, "amount_mm": None, "amount_typed": "", "basis": "leg"}
    return hem(**details | facts)


def later(work, **facts):
    return bare(work, measure_later=True, **facts)


def piece(work, *lines):
    return trousers(*lines, kind_id=work.garment_kind_id)


@pytest.fixture
def ticket(studio, owner, work):
    """One hem to be measured later."""
    return received(studio, owner, piece(work, later(work)))


def change_page(client, ticket) -> Counter:
    return Counter(client, f"/t/{ticket.number}/change/")


@pytest.fixture
def counter(owner_client, work):
    page = Counter(owner_client, f"/drop-off/?client={factories.ClientFactory().pk}")
    page.press(f"add-garment:{work.garment_kind_id}").press(f"add-line:0:{work.pk}")
    return page.type(g0_l0_amount="", g0_colour="navy")


def test_a_hem_without_an_amount_is_asked_about(counter):
    counter.press("save")

    assert not Ticket.objects.exists()
    assert beside(counter.response, "g0-l0-amount") == ASK
    assert counter.form.focus == ["g0-l0-amount"]
    assert counter.form.fields["g0-colour"] == ["navy"]


def test_the_tick_beside_the_field_saves_it_to_be_measured_later(counter):
    counter.press("save").type(g0_l0_measure_later="on").press("save")

    line = Line.objects.get()
    assert (line.measure_later, line.amount_typed, line.pinned) == (True, "", "not measured")


def test_an_amount_counts_whatever_is_ticked(counter):
    counter.type(g0_l0_amount="4.5", g0_l0_measure_later="on").press("save")

    line = Line.objects.get()
    assert (line.measure_later, line.amount_typed) == (False, "4.5 cm")


def test_same_as_last_time_asks_for_the_amount_that_was_not_there(owner_client, work, ticket):
    page = Counter(owner_client, f"/drop-off/?client={ticket.client.pk}").press("again")
    assert page.form.focus == ["g0-l0-amount"]
    page.press("save")

    assert Ticket.objects.count() == 1
    assert beside(page.response, "g0-l0-amount") == ASK


def test_a_ticket_loses_no_amount_in_silence(owner_client, studio, owner, work):
    ticket = received(studio, owner, piece(work, hem(operation_id=work.pk)))
    page = change_page(owner_client, ticket).type(g0_l0_amount="").press("save")
    assert beside(page.response, "g0-l0-amount") == ASK

    page.type(g0_l0_measure_later="on").press("save")

    ticket.refresh_from_db()
    assert ticket.version == 2
    assert ticket.agreements.get(version=2).delta == (
        "A: Hem take off 4.5 cm, total is now A: Hem not measured"
    )


def test_a_line_that_is_added_is_asked_the_same(owner_client, work, ticket):
    page = change_page(owner_client, ticket).press(f"add-line:0:{work.pk}")
    page.type(g0_l1_amount="").press("save")

    assert beside(page.response, "g0-l1-amount") == ASK
    assert not beside(page.response, "g0-l0-amount")
    assert Line.objects.count() == 1


def test_what_was_to_be_measured_later_stays_so_on_the_change_page(owner_client, ticket):
    change_page(owner_client, ticket).press("save")

    ticket.refresh_from_db()
    assert (ticket.version, Line.objects.get().measure_later) == (1, True)


def test_what_another_has_measured_meanwhile_is_merged(owner_client, helper_client, ticket):
    page = change_page(helper_client, ticket)
    measure(owner_client, Line.objects.get())
    page.type(event="wedding").press("save")

    ticket.refresh_from_db()
    line = Line.objects.get()
    assert (ticket.event, line.amount_typed, line.measure_later) == ("wedding", "6,5 cm", False)


def test_a_line_put_back_is_still_to_be_measured(owner_client, ticket):
    page = change_page(owner_client, ticket).press("remove-line:0:0").press("put-back-line:0:0")
    page.press("save")

    ticket.refresh_from_db()
    assert (ticket.version, Line.objects.get().measure_later) == (1, True)


def test_work_that_does_not_ask_is_saved_without(owner_client, studio, owner, work):
    work.takes_amount = False
    work.save()
    assert received(studio, owner, piece(work, bare(work))).version == 1


@pytest.mark.postgres
def test_no_action_saves_it_in_silence(studio, owner, work, ticket):
    with pytest.raises(actions.TicketError, match="Hem: say how far, or that it is measured later"):
        received(studio, owner, piece(work, bare(work)))
    measured = received(studio, owner, piece(work, hem(operation_id=work.pk)))
    draft = actions.draft_of(measured)
    draft.lines[0].amount_mm, draft.lines[0].amount_typed = None, ""
    with pytest.raises(actions.TicketError, match="say how far"):
        actions.change(ticket=measured, draft=draft, studio=studio, by=owner, reason="")


PAPERS = ["ticket-tags", "ticket-work-sheet", "ticket-claim", "ticket-papers"]


def on_paper(client, name, ticket) -> str:
    answer = client.get(reverse(name, args=[ticket.number]), follow=True)
    return papers.text(b"".join(answer.streaming_content) if answer.streaming else answer.content)


def where_it_stands(client, ticket) -> dict[str, bool]:
    """Every page and paper, and whether it says that something is not measured."""
    listed = words(client.get(reverse("tickets"), {"state": "all"}).text.split("by-day")[1])
    pages = {
        "ticket": words(client.get(ticket.get_absolute_url()).text),
        "tickets": listed,
        "today": words(client.get(reverse("today")).text),
    }
    pages |= {name: on_paper(client, name, ticket) for name in PAPERS}
    return {name: "not measured" in text.lower() for name, text in pages.items()}


def measure(client, line, **typed):
    facts = {"amount": "6,5", "measure": "take_off", "basis": "leg"} | typed
    return client.post(reverse("line-measure", args=[line.pk]), facts)


def test_it_stands_everywhere_until_an_amount_is_given(owner_client, ticket):
    assert all(where_it_stands(owner_client, ticket).values())
    line = Line.objects.get()

    assert measure(owner_client, line).url == f"{ticket.get_absolute_url()}#A"

    line.refresh_from_db()
    assert (line.amount_mm, line.amount_typed, line.basis) == (Decimal(65), "6,5 cm", "leg")
    assert not line.measure_later
    # Only the history of the ticket and the delta of the new version tell that it once was so.
    stands = where_it_stands(owner_client, ticket)
    assert {name for name, still in stands.items() if still} == {
        "ticket", "ticket-claim", "ticket-papers",
    }  # fmt: skip
    assert "A: Hem not measured is now A: Hem take off 6,5 cm, each leg" in on_paper(
        owner_client, "ticket-claim", ticket
    )


def test_the_amount_can_be_undone(owner_client, ticket):
    measure(owner_client, Line.objects.get())
    page = owner_client.get(ticket.get_absolute_url())
    assert "Measured A Hem: take off 6,5 cm, each leg." in words(page.text)

    entry = page.context["last_step"]
    owner_client.post(reverse("ticket-undo", args=[ticket.number]), {"entry": entry.pk})

    ticket.refresh_from_db()
    assert ticket.version == 3
    assert Line.objects.get().measure_later
    assert drawer(owner_client.get("/"), "Not measured").startswith(f"1 {ticket.number}")


def test_a_wrong_amount_is_said_at_its_field_and_kept(owner_client, ticket):
    line = Line.objects.get()
    answer = measure(owner_client, line, amount="four")

    assert answer.status_code == 200
    assert 'value="four"' in answer.text
    said = answer.text.split(f'id="measure-{line.pk}-amount_said">')[1].split("</div>")[0]
    assert "Write one number and one unit" in said
    assert Line.objects.get().measure_later


def test_a_closed_ticket_is_not_measured_any_more(owner_client, ticket):
    gone(ticket)

    stands = where_it_stands(owner_client, ticket)
    assert not stands["tickets"]
    assert not stands["today"]
    assert ">Measure<" not in owner_client.get(ticket.get_absolute_url()).text
    measure(owner_client, Line.objects.get())
    assert Line.objects.get().measure_later


def test_the_tag_has_a_line_to_write_on(owner_client, work, ticket, studio, owner):
    """What is drawn across 24 mm right of the words, where a measured hem has nothing."""
    measured = received(studio, owner, piece(work, hem(operation_id=work.pk)))
    sheets = {
        other.number: owner_client.get(reverse("ticket-tags", args=[other.number])).content
        for other in (ticket, measured)
    }
    lines = {number: ruled(pdf, 24) for number, pdf in sheets.items()}
    assert lines == {ticket.number: 1, measured.number: 0}


def ruled(pdf: bytes, wide: int) -> int:
    """How many thin shapes as ``wide`` as this, in mm, are drawn on the first page."""
    with pdfplumber.open(io.BytesIO(pdf)) as document:
        page = document.pages[0]
        thin = [shape for shape in [*page.rects, *page.lines] if shape["height"] < 3]
    widths = [float(shape["width"]) * 25.4 / 72 for shape in thin]
    return sum(abs(width - wide) < 0.5 for width in widths)


@pytest.mark.parametrize("count", [1, 3])
def test_the_pages_ask_the_same_for_any_number(
    owner_client, studio, owner, work, count, watch, django_assert_num_queries
):
    """In the morning: a day that is over asks Today for less."""
    watch.move_to(clock.local(clock.now()).replace(hour=10, minute=30))
    for _ in range(count):
        ticket = received(studio, owner, piece(work, *[later(work) for _ in range(count)]))
    with django_assert_num_queries(18):
        owner_client.get(ticket.get_absolute_url())
    with django_assert_num_queries(11):
        listed = owner_client.get(reverse("tickets"), {"state": "unmeasured"})
    assert listed.context["page"].paginator.count == count
    with django_assert_num_queries(25):  # three of them for the first steps
        owner_client.get("/")


@pytest.mark.postgres
def test_open_tickets_of_before_are_to_be_measured(studio, owner, work):
    """Only open work that asks, has no amount and is not done; whatever came in before."""
    open_one = received(
        studio, owner, piece(work, later(work), hem(operation_id=work.pk), take_in(amount_typed=""))
    )
    closed = gone(received(studio, owner, piece(work, later(work))))
    done = received(studio, owner, piece(work, later(work)))
    actions.tick_all(ticket=done, by=owner)
    Line.objects.update(measure_later=False)

    update = import_module("jobs.tickets.migrations.0012_measure_later").say_what_is_not_measured
    update(apps, connection.schema_editor())

    marked = Line.objects.filter(measure_later=True)
    assert [(line.garment.ticket, line.name) for line in marked] == [(open_one, "Hem")]
    assert closed.garments.get().lines.get().pinned == ""


# By hand: 77 cm now and 5 turned up end at 82, of which 1/4 in (0.635) has to stay: 4.365 cm.
AMOUNTS = [
    ("let_out", "4.3", ""),
    ("let_out", "4.4", "4.4 cm longer is wanted, at most 4.3 cm can be let down."),
    ("let_out", "10", "10 cm longer is wanted, at most 4.3 cm can be let down."),
    ("finished", "81.3", ""),
    ("finished", "82", "5 cm longer is wanted, at most 4.3 cm can be let down."),
    ("take_off", "10", ""),
]


@pytest.mark.parametrize(
    ("measure", "amount", "caution"),
    thinned(AMOUNTS, {*AMOUNTS[:2], AMOUNTS[4]}.__contains__),
)
def test_an_amount_by_hand_is_checked_against_the_cloth(
    owner_client, ticket, measure, amount, caution
):
    garment = ticket.garments.get()
    garment.cloth_ends = {"trousers": {"now": "77 cm", "turned_up": "5 cm"}}
    garment.save()
    page = change_page(owner_client, ticket)
    page.type(g0_l0_amount=amount, g0_l0_measure=measure).press("enter")
    said = page.text.split('id="g0-l0-too-long">')[1].split("</div>")[0]
    assert words(said) == caution

    page.press("save")

    # It is a caution: what was agreed is saved, and the ticket says it on.
    shown = owner_client.get(ticket.get_absolute_url()).text
    assert Line.objects.get().measure == measure
    assert ("can be let down" in shown) == bool(caution)
    assert caution in words(shown)


@pytest.mark.parametrize(
    ("ends", "order", "caution"),
    [
        ({"sleeve": {"now": "60 cm", "turned_up": "3 cm"}}, 40, False),
        ({"sleeve": {"now": "60 cm", "turned_up": "3 cm"}}, 20, True),
        ({"trousers": {"now": "77 cm", "turned_up": "5 cm"}}, 10, False),
        ({"trousers": {"now": "77 cm"}}, 40, False),
        ({"dress": {"now": "99 cm", "turned_up": "9 cm"},
          "skirt": {"now": "55 cm", "turned_up": "1 cm"}}, 40, False),
    ],
)  # fmt: skip
def test_only_the_edge_that_is_meant_counts(
    owner_client, studio, owner, work, ends, order, caution
):
    """Letting out a waist is no hem, a sleeve no leg; of two edges one may be meant."""
    down = hem(
        operation_id=work.pk, work_order=order, measure="let_out", amount_mm=Decimal(60),
        amount_typed="6 cm",
    )  # fmt: skip
    ticket = received(studio, owner, piece(work, down))
    ticket.garments.update(cloth_ends=ends)
    shown = owner_client.get(ticket.get_absolute_url()).text
    assert ("can be let down" in shown) == caution
