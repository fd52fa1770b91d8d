"""Two people have the same ticket open: neither loses a word, and nobody is told "saved" wrongly.

The rule is that of any three-way merge, common practice in version control (GNU diff3, "Merging
From a Common Ancestor"): a change on one side is taken, equal changes are one, two different
changes of one place are a conflict that a person decides.
"""

import pytest
from django.contrib.messages import get_messages

from jobs.tickets import actions
from jobs.tickets.actions.agree import draft_of
from jobs.tickets.models import Ticket
from tests.drafts import hem, received, trousers
from tests.jobs.counter.html_form import Counter


@pytest.fixture
def ticket(studio, owner, work):
    line = {"operation_id": work.pk, "amount_mm": 40, "amount_typed": "4 cm"}
    return received(
        studio, owner,
        trousers(
            hem(**line, basis="total", measure="take_off"), hem(name="Taper"),
            kind_id=work.garment_kind_id,
        ),
        trousers(hem(name="Mend"), kind_name="Coat", kind_id=work.garment_kind_id),
    )  # fmt: skip


@pytest.fixture
def pages(owner_client, ticket):
    address = f"/t/{ticket.number}/change/"
    return Counter(owner_client, address), Counter(owner_client, address)


def said(page: Counter) -> list[str]:
    return [str(message) for message in get_messages(page.response.wsgi_request)]


def line(ticket: Ticket, name: str = "Hem"):
    return next(row for row in draft_of(ticket).lines if row.name == name)


def test_what_only_one_of_them_touched_is_kept_from_both(pages, ticket):
    mine, other = pages
    other.type(event="the wedding", g0_l0_note="by hand", g0_l0_price="26").press("save")
    mine.type(note="ring first", g0_colour="black", g0_l0_amount="5").press("save")

    assert mine.response.status_code == 302
    ticket.refresh_from_db()
    assert (ticket.event, ticket.note) == ("the wedding", "ring first")
    hem = line(ticket)
    assert (hem.note, hem.unit_price, hem.amount_mm) == ("by hand", 2600, 50)
    assert ticket.garments.first().colour == "black"
    assert said(mine)[-1] == (
        "You, in another window, changed meanwhile: For which event: the wedding; "
        "A Hem, price for one: 26.00; A Hem, note: by hand. Both are saved."
    )


def test_what_both_touched_is_asked_at_the_field_and_one_press_chooses(pages, ticket):
    mine, other = pages
    other.type(g0_l0_amount="3", event="the wedding").press("save")
    mine.type(g0_l0_amount="5", note="ring first").press("save")

    assert mine.response.status_code == 200
    assert line(ticket).amount_mm == 30
    assert mine.form.fields["g0-l0-amount"] == ["5"]
    assert mine.form.fields["note"] == ["ring first"]
    # What nobody has to be asked about stands on the page already.
    assert mine.form.fields["event"] == ["the wedding"]
    words = "You, in another window, changed this since you opened the page, to: 3 cm."
    assert mine.text.count(words) == 2  # above the form, and at the field
    assert {"take:g0-l0-amount", "hold:g0-l0-amount"} <= {*mine.form.intents}
    assert "Use 3 cm" in mine.text
    assert "Keep 5" in mine.text

    # Saving once more decides nothing.
    mine.press("save")
    assert line(ticket).amount_mm == 30

    mine.press("hold:g0-l0-amount")
    assert mine.response.status_code == 302
    ticket.refresh_from_db()
    assert (line(ticket).amount_mm, ticket.note, ticket.event) == (50, "ring first", "the wedding")


def test_the_others_word_can_be_taken(pages, ticket):
    mine, other = pages
    other.type(g0_l0_price="26", g0_colour="green").press("save")
    mine.type(g0_l0_price="28", g0_colour="black").press("save").press("take:g0-l0-price")
    assert mine.response.status_code == 200  # the colour is asked still
    assert mine.form.fields["g0-colour"] == ["black"]
    mine.press("take:g0-colour")

    assert mine.response.status_code == 302
    assert (line(ticket).unit_price, ticket.garments.first().colour) == (2600, "green")


def test_the_same_change_made_twice_is_no_question(pages, ticket):
    mine, other = pages
    for page in (other, mine):
        page.type(g0_l0_amount="5,0", g0_l0_price="26", g0_colour="green").press("save")
    assert mine.response.status_code == 302
    ticket.refresh_from_db()
    assert (ticket.version, line(ticket).amount_mm) == (2, 50)


def test_rows_that_came_and_went_do_so_for_both(pages, ticket, work):
    mine, other = pages
    other.press(f"add-line:1:{work.pk}").press("remove-line:0:1").press("save")
    mine.press(f"add-garment:{work.garment_kind_id}").press(f"add-line:2:{work.pk}").press("save")

    assert mine.response.status_code == 302
    names = [
        (row.kind_name, [line.name for line in row.lines]) for row in draft_of(ticket).garments
    ]
    assert names == [("Trousers", ["Hem"]), ("Coat", ["Mend", "Hem"]), ("Trousers", ["Hem"])]
    assert said(mine)[-1].endswith("A Taper taken off; B Hem added. Both are saved.")


def test_work_that_one_took_off_and_the_other_changed_is_asked(pages, ticket):
    mine, other = pages
    other.press("remove-line:0:1").press("save")
    mine.type(g0_l1_note="by hand").press("save")
    assert "took this off since you opened the page" in mine.text
    mine.press("hold:g0-l1-gone")
    assert mine.response.status_code == 302
    assert line(ticket, "Taper").note == "by hand"
    assert line(ticket, "Taper").unit_price == 2400


def test_a_garment_that_one_changed_and_the_other_took_off_is_asked(pages, ticket):
    mine, other = pages
    other.type(g1_colour="grey").press("save")
    mine.press("remove-garment:1").press("save")
    assert "changed this since you opened the page, and you took it off" in mine.text
    assert ticket.garments.filter(removed_at=None).count() == 2
    mine.press("hold:g1-gone")
    assert mine.response.status_code == 302
    assert ticket.garments.filter(removed_at=None).count() == 1


def test_a_helper_is_shown_no_money_by_a_merge(helper_client, owner_client, ticket):
    address = f"/t/{ticket.number}/change/"
    mine, other = Counter(helper_client, address), Counter(owner_client, address)
    assert "24.00" not in mine.text
    other.type(g0_l0_price="26", event="the wedding").press("save")
    mine.type(note="ring first").press("save")
    assert (
        said(mine)[-1] == "Owner changed meanwhile: For which event: the wedding. Both are saved."
    )
    ticket.refresh_from_db()
    assert (line(ticket).unit_price, ticket.note) == (2600, "ring first")


@pytest.mark.parametrize("opened", ["", "no page of ours", '{"entry": 1, "rows": [1]}'])
def test_a_page_that_does_not_say_what_it_opened_overwrites_nothing(owner_client, ticket, opened):
    page = Counter(owner_client, f"/t/{ticket.number}/change/")
    page.type(opened=opened, form_key="", note="ring first").press("save")
    assert "This page is too old" in page.text
    assert page.form.fields["note"] == ["ring first"]
    ticket.refresh_from_db()
    assert ticket.note == ""


def test_a_promise_moved_meanwhile_keeps_what_was_agreed_meanwhile(studio, owner, ticket):
    """The promise is moved by somebody whose page has read the ticket before the change."""
    read_before = Ticket.objects.get(pk=ticket.pk)
    list(read_before.garments.prefetch_related("lines"))
    draft = draft_of(ticket)
    draft.event = "the wedding"
    actions.change(ticket=ticket, draft=draft, studio=studio, by=owner, reason="")
    day = read_before.promise_at.replace(hour=9)
    actions.move_promise(
        ticket=read_before, promise_at=day, studio=studio, by=owner, reason="earlier"
    )
    ticket.refresh_from_db()
    assert (ticket.event, ticket.promise_at) == ("the wedding", day)
