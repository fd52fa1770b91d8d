"""Shoes and underwear of the fitting stand in the agreement; other shoes stop the hem."""

from decimal import Decimal

import pytest
from django.urls import reverse

from jobs.planning import actions as planning
from jobs.planning.models import ReadyToCut
from jobs.planning.plan.workload import TO_MARK, work_of
from jobs.planning.queries import read_lines
from jobs.planning.ticket_plan import ticket_plan
from jobs.tickets import actions
from jobs.tickets.actions import WornWith
from jobs.tickets.actions.agree import draft_of
from jobs.tickets.agreements import latest_agreement
from jobs.tickets.facts import on_paper
from studio.shop.history import of, undoable
from tests.drafts import hem, received, trousers

PUMPS = WornWith(Decimal(70), "7 cm", "black pumps", "low-backed bodice")
FLATS = WornWith(Decimal(10), "1 cm", "flats", "low-backed bodice")


@pytest.fixture
def ticket(studio, owner):
    return received(studio, owner, trousers(hem(fitting_first=True)))


@pytest.fixture
def garment(ticket):
    return ticket.garments.get()


@pytest.fixture
def wear(garment, owner, watch):
    def note(worn: WornWith):
        watch.shift(60)
        return actions.note_worn(garment=garment, worn=worn, by=owner)

    return note


def noted(ticket) -> list[str]:
    ticket.refresh_from_db()
    return on_paper(latest_agreement(ticket).data["garments"][0])


@pytest.mark.postgres
def test_what_is_worn_stands_in_a_version_of_its_own(ticket, wear):
    for _ in range(2):
        wear(PUMPS)
    first, second = ticket.agreements.order_by("version")
    assert second.delta == (
        "Heel height of A: 7 cm; shoes of A: black pumps; underwear of A: low-backed bodice"
    )
    assert noted(ticket) == ["Heel 7 cm", "Shoes: black pumps", "Underwear: low-backed bodice"]
    worn = ["heel", "shoes", "underwear"]
    assert [first.data["garments"][0][key] for key in worn] == ["", "", ""]
    assert second.data["gross"] == first.data["gross"]


def test_a_change_of_the_work_keeps_what_is_worn(ticket, wear, studio, owner):
    wear(PUMPS)
    ticket.refresh_from_db()
    draft = draft_of(ticket)
    draft.garments[0].lines[0].unit_price = 5000
    actions.change(ticket=ticket, draft=draft, studio=studio, by=owner, reason="")
    assert WornWith.of(ticket.garments.get()) == PUMPS
    assert "Shoes: black pumps" in noted(ticket)
    assert latest_agreement(ticket).delta == "price €24.00 → €50.00"


def test_an_agreement_from_before_shoes_were_noted_is_no_other_agreement(ticket, studio, owner):
    agreement = latest_agreement(ticket)
    for key in ("heel_was", "shoes", "underwear"):
        del agreement.data["garments"][0][key]
    agreement.save()
    same = actions.change(ticket=ticket, draft=draft_of(ticket), studio=studio, by=owner, reason="")
    assert same.version == 1


@pytest.mark.parametrize("first", [True, False], ids=["after a fitting", "pinned at drop-off"])
def test_other_shoes_leave_no_hem_ready_until_it_is_marked_in_them(
    studio, owner, ticket, garment, wear, first
):
    """Needs D8: a heel height other than the recorded one blocks until it is confirmed."""
    line = garment.lines.get()
    line.fitting_first = first
    line.save()
    wear(PUMPS)
    planning.ready_to_cut(line=line, by=owner)
    wear(FLATS)
    words = "was 7 cm, now it is 1 cm: this hem is not ready to cut"
    for marked_at in ("", "7 cm"):
        with pytest.raises(planning.PlanError, match=words):
            planning.ready_to_cut(line=line, by=owner, marked_at=marked_at)
    assert words in ticket_plan(ticket, studio).rows[line.pk].other_shoes
    assert "Heel before 7 cm, so hems are marked anew before they are cut" in noted(ticket)
    (row,) = read_lines([ticket.pk])
    assert row.to_mark

    planning.ready_to_cut(line=line, by=owner, marked_at="1 cm")
    assert not ticket_plan(ticket, studio).rows[line.pk].unmarked
    (row,) = read_lines([ticket.pk])
    assert not row.to_mark
    assert ReadyToCut.objects.count() == 1


def test_a_hem_pinned_in_other_shoes_waits_to_be_marked(ticket, garment, wear):
    garment.lines.update(fitting_first=False)
    wear(PUMPS)
    (row,) = read_lines([ticket.pk])
    assert work_of(row, [], []).waits == ""
    wear(FLATS)
    (row,) = read_lines([ticket.pk])
    work = work_of(row, [], [])
    garment.refresh_from_db()
    assert (work.waits, work.since) == (TO_MARK, garment.heel_changed_at)


@pytest.mark.parametrize(
    ("typed", "mm", "other"),
    [
        # 1 in = 25.4 mm exactly: 2 3/4 in are 69.85 mm, 2 7/8 in are 73.025 mm.
        ('2 3/4"', "69.85", False),
        ("7.2 cm", "72", False),
        ('2 7/8"', "73.025", True),
        ("6.7 cm", "67", True),
    ],
)
def test_two_readings_of_one_heel_are_the_same_shoes(wear, typed, mm, other):
    wear(PUMPS)
    garment = wear(WornWith(Decimal(mm), typed, "black pumps"))
    assert (garment.heel_changed_at is not None) == other


def test_a_mistyped_heel_is_undone_and_the_mark_stands_again(ticket, garment, wear, studio, owner):
    line = garment.lines.get()
    wear(PUMPS)
    planning.ready_to_cut(line=line, by=owner)
    wear(FLATS)
    act = undoable(of(ticket))
    ticket.refresh_from_db()
    actions.undo(ticket=ticket, entry=act, by=owner)
    assert not ticket_plan(ticket, studio).rows[line.pk].unmarked
    assert noted(ticket)[0] == "Heel 7 cm"


def test_nothing_is_noted_on_a_closed_ticket(ticket, wear, owner):
    actions.cancel(ticket=ticket, why="moved away", by=owner)
    with pytest.raises(actions.TicketError, match="no longer in work"):
        wear(PUMPS)


def test_the_pages_form_notes_it_and_says_what_is_wrong(helper_client, ticket, garment):
    address = reverse("garment-worn", args=[garment.pk])
    typed = {"shoes": "black pumps", "heel": "2 3/4 in", "underwear": "bodice"}
    shown = helper_client.post(address, typed, follow=True).text
    for words in ("<dd>black pumps</dd>", "<dd>2 3/4 in</dd>", "<dd>bodice</dd>"):
        assert words in shown
    shown = helper_client.post(address, typed | {"heel": "high"}, follow=True).text
    assert "Heel height: Write one number and one unit" in shown
    helper_client.post(address, typed | {"heel": ""})
    garment.refresh_from_db()
    assert (garment.heel_mm, garment.heel_typed, garment.shoes) == (None, "", "black pumps")


def test_other_shoes_are_asked_about_and_confirmed_on_the_ticket(
    helper_client, ticket, garment, wear
):
    wear(PUMPS)
    line = garment.lines.get()
    address = reverse("line-cut", args=[line.pk])
    page = helper_client.get(f"/t/{ticket.number}/").text
    assert "Same shoes, heel 7 cm? If not, the heel today" in page
    refused = helper_client.post(address, {"heel": "1"}, follow=True).text
    assert "The heel height for A was 7 cm, now it is 1 cm" in refused
    assert '<input type="hidden" name="marked_at" value="1 cm">' in refused
    assert not ReadyToCut.objects.exists()
    assert "is not ready to cut until" in helper_client.get(address).text
    after = helper_client.post(address, {"marked_at": "1 cm"}, follow=True).text
    assert "Ready to cut since" in after
    assert ReadyToCut.objects.get().line == line
