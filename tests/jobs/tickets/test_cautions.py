"""Cautions of a garment on its ticket: shown, read once, printed on the work sheet."""

import pytest
from django.urls import reverse

from jobs.tickets import actions
from jobs.tickets.cautions import bench_care, care_of
from jobs.tickets.models import CautionRead
from jobs.tickets.queries import ticket_or_404
from jobs.tickets.quoting import tax_place
from studio.shop.history import of, undoable
from tests import factories as f
from tests import papers
from tests.drafts import hem, received, trousers
from tests.histories import sentences, undo_last


@pytest.fixture
def night(studio):
    return f.GarmentKindFactory(name="Night dress", concern="child_night")


@pytest.fixture
def ticket(studio, owner, night):
    dress = trousers(kind_name="Night dress", kind_id=night.pk, colour="white")
    return received(studio, owner, dress, trousers(hem(name="New drawstring"), worn="new"))


@pytest.fixture
def dress(ticket):
    return ticket.garments.get(letter="A")


def page(client, ticket) -> str:
    return client.get(ticket.get_absolute_url()).text


def sheet(client, ticket) -> str:
    with papers.no_complaints():
        pdf = client.get(reverse("ticket-work-sheet", args=[ticket.number])).content
    return papers.text(pdf)


def press(client, garment, key="night"):
    return client.post(reverse("caution-read", args=[garment.pk]), {"caution": key}, follow=True)


def test_the_page_shows_each_caution_with_its_source(helper_client, ticket):
    shown = page(helper_client, ticket)
    assert "Children&#x27;s night clothes" in shown
    assert "Source: 16 CFR 1120 and ASTM F1816; EN 14682 (read in the source)." in shown
    assert shown.count("I have read this") == 2
    assert "modifying used clothing carries the reduced rate" in shown
    assert "Is it for a child?" in shown


def test_a_caution_is_read_once_by_whoever_was_first(ticket, dress, owner, helper):
    first = actions.read_caution(garment=dress, key="night", by=helper)
    assert actions.read_caution(garment=dress, key="night", by=owner) == first
    assert CautionRead.objects.get().by == helper
    words = sentences(ticket)
    assert words.count("Caution of A read: Children's night clothes.") == 1


def test_read_on_the_page_it_says_by_whom_and_asks_no_more(owner_client, owner, ticket, dress):
    shown = press(owner_client, dress).text
    assert f"Read by {owner.shown_name}" in shown
    assert shown.count("I have read this") == 1


@pytest.mark.parametrize("key", ["flame", "new_tax", "nonsense", ""])
def test_what_the_garment_does_not_call_for_is_not_read(owner_client, dress, key):
    assert "This garment has no such caution." in press(owner_client, dress, key).text
    assert not CautionRead.objects.exists()


def test_nothing_is_read_on_a_closed_ticket(ticket, dress, owner):
    actions.cancel(ticket=ticket, why="moved away", by=owner)
    with pytest.raises(actions.TicketError, match="no longer in work"):
        actions.read_caution(garment=dress, key="night", by=owner)


def test_reading_is_no_step_to_undo(ticket, dress, owner):
    actions.read_caution(garment=dress, key="night", by=owner)
    assert undoable(of(ticket)) is None


def test_the_label_is_noted_once_and_can_be_taken_back(owner_client, ticket, dress, studio, owner):
    label = {"fibre": "80 % wool 20 % polyamide", "iron": "2"}
    for _ in range(2):
        shown = owner_client.post(reverse("garment-care", args=[dress.pk]), label, follow=True).text
    assert "Press at most 110 °C (1 dot, no steam): polyamide, the least of 2 fibres" in shown
    words = sentences(ticket)
    assert words[0] == "Care label of A: 80 % wool 20 % polyamide; Two dots."
    assert len(words) == 2
    undo_last(ticket, owner)
    dress.refresh_from_db()
    assert (dress.fibre, dress.iron) == ("", "")


def test_a_label_too_long_to_keep_is_refused_in_words(owner_client, dress):
    label = {"fibre": "wool " * 40, "iron": ""}
    shown = owner_client.post(reverse("garment-care", args=[dress.pk]), label, follow=True).text
    assert "Fibres on the label: Ensure this value has at most 120 characters" in shown


def test_no_label_is_noted_on_a_closed_ticket(ticket, dress, owner):
    actions.cancel(ticket=ticket, why="moved away", by=owner)
    with pytest.raises(actions.TicketError, match="no longer in work"):
        actions.note_care(garment=dress, fibre="wool", iron="2", by=owner)


def test_the_work_sheet_prints_cautions_and_the_pressing_limit(owner_client, ticket, dress, owner):
    actions.note_care(garment=dress, fibre="cotton", iron="3", by=owner)
    text = sheet(owner_client, ticket)
    assert "Caution, children's night clothes: Do not let it out or trim it" in text
    assert "Not read by anybody yet." in text
    assert "Press at most 200 °C (3 dots)" in text
    assert text.count("Pins out, needle whole") == 2
    assert "Is it for a child?" not in text
    for key in ("night", "cords"):
        actions.read_caution(garment=dress, key=key, by=owner)
    text = sheet(owner_client, ticket)
    assert f"Read by {owner.shown_name}" in text
    assert "Not read by anybody yet." not in text


def test_cautions_by_letter_leave_out_what_was_taken_off(ticket, dress, studio):
    type(dress).objects.filter(pk=dress.pk).update(removed_at=ticket.received_at)
    assert list(bench_care(ticket, studio)) == ["B"]


@pytest.mark.postgres
def test_a_studio_that_charges_no_tax_has_no_note_on_it(ticket, studio):
    studio.tax_mode = "none"
    assert tax_place(studio) is None
    notes = [note.key for care in bench_care(ticket, studio).values() for note in care.notes]
    assert notes == ["cord_hint"]


@pytest.mark.parametrize("count", [1, 3])
def test_one_query_for_any_number_of_garments(
    studio, owner, night, django_assert_num_queries, count
):
    dresses = [trousers(kind_name="Night dress", kind_id=night.pk) for _ in range(count)]
    shown = ticket_or_404(received(studio, owner, *dresses).number)
    garments = list(shown.garments.all())
    with django_assert_num_queries(1):
        assert len(care_of(garments, studio)) == count


def test_no_query_where_nothing_is_to_be_read(studio, owner, django_assert_num_queries):
    shown = ticket_or_404(received(studio, owner).number)
    garments = list(shown.garments.all())
    with django_assert_num_queries(0):
        (care,) = care_of(garments, studio).values()
    assert (care.safety, care.notes, care.press) == ([], [], None)
