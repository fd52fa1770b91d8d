"""The cash box: counted, compared with what should be there, and closed for the day."""

from uuid import uuid4

import pytest
import time_machine
from django.urls import reverse

from jobs.billing import actions
from jobs.billing.cash import cash_box, pieces_of
from jobs.billing.models import CashCount
from studio.shop import history
from studio.shop.models import User
from studio.shop.money import format_money
from tests.drafts import received
from tests.jobs.planning.pages import words

pytestmark = pytest.mark.postgres


PAGE = "/money/day-end/"


@pytest.fixture
def booking(studio, owner):
    return lambda: {"by": owner, "studio": studio, "form_key": uuid4()}


@pytest.fixture
def take(studio, owner, booking):
    def taking(amount, method="cash"):
        return actions.record_payment(
            ticket=received(studio, owner), amount=amount, method=method, kind="part", **booking()
        )

    return taking


@pytest.fixture
def evening(booking):
    """80.00 was left in the box on the last day of June."""
    with time_machine.travel("2026-06-30 17:00Z", tick=False):
        return actions.close_day(
            pieces={5000: 1, 2000: 1, 1000: 1}, rest=0, taken_out=0, expected=None, why="",
            **booking(),
        )  # fmt: skip


COUNT = {
    "piece_5000": "1", "piece_2000": "2", "piece_1000": "2", "piece_500": "2", "piece_200": "5",
    "piece_100": "3", "piece_50": "4", "piece_20": "5", "piece_10": "4", "rest": "0,10",
}  # fmt: skip
"""50 + 40 + 20 + 10 + 10 + 3 + 2 + 1 + 0.40 + 0.10 = 136.50."""


def close(client, **changed):
    return client.post(PAGE, {"form_key": uuid4()} | COUNT | changed, follow=True)


@pytest.fixture
def night(evening, take):
    """57.50 more came in: 20.00 + 24.00 + 13.50 in cash; a card does not lie in the box."""
    with time_machine.travel("2026-07-01 12:00Z", tick=False):
        for amount in (2000, 2400, 1350):
            take(amount)
        take(2400, "card")
    with time_machine.travel("2026-07-01 17:00Z", tick=False):
        yield


def test_what_should_be_there_is_what_was_left_and_the_cash_since(night, owner_client, booking):
    assert cash_box().should_be == 8000 + 5750
    page = words(owner_client.get(PAGE).text)
    assert "Left in the box, Tue 30 Jun €80.00" in page
    assert "Should be there €137.50" in page


def test_a_difference_is_told_before_it_is_saved(night, owner_client):
    asked = close(owner_client)
    assert not CashCount.objects.filter(day="2026-07-01").exists()
    told = words(asked.text)
    assert "counted €136.50 should be there €137.50 short €1.00" in told
    assert "Count again, or close the day with it" in told
    assert 'name="saw" value="-100"' in asked.text
    saved = close(owner_client, saw="-100", why="The till was busy")
    count = CashCount.objects.first()
    assert (count.counted, count.expected, count.difference) == (13650, 13750, -100)
    assert count.pieces == {"5000": 1, "2000": 2, "1000": 2, "500": 2, "200": 5, "100": 3,
                            "50": 4, "20": 5, "10": 4}  # fmt: skip
    assert "€136.50 in the box, €1.00 short: The till was busy" in words(saved.text)
    assert cash_box().should_be == 13650


def test_what_is_right_is_saved_at_once_and_once(night, owner_client, studio):
    key = uuid4()
    for _ in range(2):
        page = close(owner_client, piece_100="4", form_key=key)
    assert CashCount.objects.filter(day="2026-07-01", counted=13750).count() == 1
    assert "Day closed. The next begins with €137.50." in page.text
    entry = history.of(studio)[0]
    assert history.sentence(entry, studio.locale) == "Day closed, €137.50 in the cash box."


def test_what_goes_to_the_bank_is_not_missed(night, owner_client):
    page = close(owner_client, taken_out="1.00")
    assert "€136.50 in the box, €1.00 taken out" in words(page.text)
    assert CashCount.objects.first().difference == 0
    more = close(owner_client, taken_out="200", saw=str(13650 - 13650 + 20000))
    assert "More was taken out than lay there: €136.50." in more.text


def test_the_first_count_only_begins(owner_client, studio, take):
    take(2000)
    page = close(owner_client)
    assert CashCount.objects.get().expected is None
    assert "€136.50 in the box" in words(page.text)
    assert "short" not in words(page.text)


@pytest.mark.parametrize(
    ("typed", "wrong"),
    [
        ({"piece_50": "-1"}, "greater than or equal to 0"),
        ({"piece_50": "1.5"}, "Enter a whole number."),
        ({"rest": "-2"}, "This amount cannot be negative."),
        (dict.fromkeys(COUNT, ""), "Count what lies there; write 0 where it is empty."),
        ({"form_key": ""}, "This page is too old."),
    ],
)
def test_a_wrong_count_says_why(owner_client, studio, typed, wrong):
    assert wrong in close(owner_client, **typed).text
    assert not CashCount.objects.exists()


def test_an_empty_box_is_a_count(owner_client, studio):
    close(owner_client, **dict.fromkeys(COUNT, "") | {"rest": "0"})
    assert CashCount.objects.get().counted == 0


def test_money_booked_while_counting_is_not_lost(night, booking, take):
    with pytest.raises(actions.BillingError, match="Money was booked since"):
        actions.close_day(pieces={}, rest=8000, taken_out=0, expected=8000, why="", **booking())


def test_the_tray_takes_at_most_ten_fields_and_one_button(night, owner_client):
    html = owner_client.get(PAGE).text
    form = html.partition('id="count"')[2].partition('class="drawers"')[0]
    fields = form.count("<input") - form.count('type="hidden"')
    main = html.partition("<main")[2].partition("</main>")[0]
    assert fields == 10
    assert html.count('class="btn main') == 1
    assert 'class="btn main' not in main
    print(f"day-end: {fields} fields and 1 filled button")


@pytest.mark.parametrize(
    ("currency", "worth", "locale"),
    [
        # From common practice: the coins and notes that mostly lie in a box.
        ("EUR", "50 20 10 5 2 1 0.50 0.20 0.10", "en_IE"),
        ("USD", "50 20 10 5 1 0.25 0.10 0.05 0.01", "en_US"),
        ("JPY", "10,000 5,000 1,000 500 100 50 10 5 1", "ja_JP"),
        ("KWD", "", "en_KW"),
    ],
)
def test_pieces_of_a_currency(currency, worth, locale):
    shown = [
        format_money(piece.worth, currency, locale).strip("€$¥￥").removesuffix(".00")
        for piece in pieces_of(currency)
    ]
    assert shown == worth.split()
    assert len(pieces_of(currency)) <= 9


def test_a_count_is_kept(evening):
    with pytest.raises(TypeError):
        evening.delete()
    with pytest.raises(TypeError):
        CashCount.objects.update(counted=1)


def test_a_helper_who_takes_no_money_does_not_count(helper_client, studio):
    assert helper_client.get(PAGE).status_code == 403
    assert helper_client.post(PAGE, COUNT).status_code == 403


RIGHT = COUNT | {"piece_100": "4"}
"""137.50, as the box should have."""


def test_a_helper_counts_her_drawer_by_the_rule_of_the_box(
    night, owner_client, helper_client, helper, owner, studio
):
    """By hand. 57.50 of the owner lie in the box with 80.00. The helper begins with 20.00, takes
    30.00 in cash and 9.00 by card, puts 35.00 into the box and finds 14.00 where 15.00 should be.
    The box should have 80 + 57.50 + 35 = 172.50, and the 14.00 are no part of it.
    """
    User.objects.filter(pk=helper.pk).update(ticks=["drawer"])
    empty = dict.fromkeys(COUNT, "")
    close(helper_client, **empty | {"rest": "20"})
    assert CashCount.objects.get(drawer_of=helper).expected is None
    assert cash_box().should_be == 8000 + 5750

    def hers(amount, method):
        ticket = received(studio, owner)
        actions.record_payment(
            ticket=ticket, amount=amount, method=method, kind="part", by=helper, studio=studio,
            form_key=uuid4(),
        )  # fmt: skip

    with time_machine.travel("2026-07-01 17:30Z", tick=False):
        hers(2000, "cash")
        hers(1000, "cash")
        hers(900, "card")
    with time_machine.travel("2026-07-01 18:00Z", tick=False):
        page = words(helper_client.get(PAGE).text)
        assert "Count your drawer" in page
        assert "Left in the drawer, Wed 1 Jul €20.00" in page
        assert "Should be there €50.00" in page
        for others in ("€57.50", "€137.50", "Another day", "Paid by"):
            assert others not in page
        asked = words(close(helper_client, **empty | {"rest": "14", "taken_out": "35"}).text)
        assert "should be there €15.00 short €1.00" in asked
        typed = empty | {"rest": "14", "taken_out": "35", "saw": "-100", "why": "small change"}
        assert "€14.00 in the drawer, €1.00 short" in words(close(helper_client, **typed).text)
        told = history.sentence(history.of(studio)[0], studio.locale)
        name = helper.shown_name
        assert told == f"Counted, €14.00 in the drawer of {name}, €1.00 short: small change."

        assert cash_box().should_be == 17250
        sheet = words(owner_client.get(PAGE).text)
        assert f"Drawer of {name} €30.00 in cash, €14.00 counted at 19:00" in sheet
        assert "Put in from drawers €35.00" in sheet
        assert helper_client.get(PAGE, {"drawer": owner.pk}).context["drawer"] == helper
        assert owner_client.get(PAGE, {"drawer": helper.pk}).context["box"].should_be == 1400
        assert owner_client.get(PAGE, {"drawer": owner.pk}).status_code == 404
    with time_machine.travel("2026-07-01 18:10Z", tick=False):
        close(owner_client, **RIGHT | {"rest": "35.10"})
        assert CashCount.objects.first().difference == 0
        paper = words(owner_client.get(reverse("paper-day-end")).text)
        row = f"{name} €20.00 €30.00 €35.00 €14.00 short €1.00"
        assert row in paper
        assert "Put in from drawers €35.00" in paper
        assert "Should be there €172.50" in paper
