"""The papers of the studio itself: prices, the day's end, who is here, how to measure, cautions.

Their numbers are by hand. What stands on a day-end sheet (float, cash, counted, difference, numbers
from and to, a signature) is common practice of bookkeeping.
"""

from datetime import timedelta
from uuid import uuid4

import pytest
import time_machine
from django.urls import reverse

from jobs.billing.actions import close_day, record_payment
from jobs.billing.sealed_book import last_seal
from studio.shop import clock
from studio.shop.models import Profile
from studio.shop.paper import PAGES
from tests import papers, proofreading
from tests.drafts import hem, paid, received, trousers
from tests.factories import ClientFactory, GarmentKindFactory, OperationFactory
from tests.thorough import thinned

LISTS = [
    "paper-prices", "paper-prices-folded", "paper-day-end", "paper-in-case", "paper-rack",
    "paper-measures", "paper-cautions",
]  # fmt: skip
# Where there is more room, those that it changes; ``make papers`` prints each on every size.
SIZES = {"A5": LISTS, "A4": ["paper-prices", "paper-prices-folded", "paper-rack"]}


@pytest.fixture
def fetch(owner_client):
    def get(name: str, **query: str) -> bytes:
        with papers.no_complaints():
            return owner_client.get(reverse(name), query).content

    return get


@pytest.mark.parametrize("size", thinned(SIZES, {"A5"}.__contains__))
def test_nothing_is_cut_off_or_printed_over(fetch, studio, owner, settings, size):
    settings.ADDRESS = "https://studio.larkfield.example"
    Profile.objects.update(paper=size, name="W" * 60, currency="IQD", terms="Kept. " * 60)
    studio.refresh_from_db()
    kind = GarmentKindFactory(name="Wedding or evening dress"[:60])
    for number in range(30):
        name = f"{number} " + "shorten the sleeves from the shoulder " * 2
        OperationFactory(garment_kind=kind, name=name[:80], price=999_999_999)
    client = ClientFactory(name="Wilhelmina " * 18, phone="085 555 0143")
    piece = trousers(hem(), kind_name="W" * 60, colour="ivory " * 10)
    ticket = received(studio, owner, piece, piece, client=client, event="a wedding " * 11)
    paid(studio, owner, ticket, amount=500)
    for name in SIZES[size]:
        pdf = fetch(name)
        page = "A4-folded" if name == "paper-prices-folded" else size
        letters = [letter for page, _ in papers.letters_and_words(pdf) for letter in page]
        found = {
            "sizes": set(papers.sizes(pdf)) - {(PAGES[page].width, PAGES[page].height)},
            "margins": papers.margins_broken(pdf, page),
            "over": papers.printed_over(pdf),
            "broken": papers.broken_figures(pdf),
            "tags and fonts": proofreading.structure_faults(pdf, usual=True),
            # The numbers on the figure are a picture's.
            "small": [
                it["text"] for it in letters if it["size"] < 7.99 and not it["text"].isdigit()
            ],
        }
        assert {what: bad for what, bad in found.items() if bad} == {}, name
        if name == "paper-day-end":
            assert last_seal().shown in papers.text(pdf)
        code = {code for page in papers.codes(pdf) for code in page}
        assert code == ({f"{settings.ADDRESS}/"} if name.startswith("paper-prices") else set())


def test_the_price_list_shows_what_is_offered_and_no_code_without_an_address(fetch, studio):
    kind = GarmentKindFactory(name="Trousers")
    OperationFactory(garment_kind=kind, name="Hem", price=1200)
    OperationFactory(garment_kind=kind, name="Not any more", price=900, active=False)
    pdf = fetch("paper-prices")
    assert "Trousers Hem \u20ac12.00" in papers.text(pdf)
    assert "Not any more" not in papers.text(pdf)
    assert papers.codes(pdf) == [[]]
    outside, inside = papers.texts(fetch("paper-prices-folded"))
    assert studio.name in outside
    assert "Hem \u20ac12.00" in inside


def test_who_is_here_25_garments_a_page(fetch, studio, owner):
    """One ticket of 26 pieces at 24.00 each, of which one is gone: 25 stand on one page, and what
    is to pay once."""
    client = ClientFactory(name="Maeve Tuohy", phone="085 555 0143")
    ticket = received(
        studio, owner, *[trousers(hem()) for _ in range(26)], client=client, event="a wedding"
    )
    ticket.garments.filter(letter="A").update(handed_over_at=clock.now())
    (text,) = papers.texts(fetch("paper-in-case"))
    assert "25 garments here" in text
    assert text.count("085 555 0143") == 25
    assert text.count("\u20ac624.00") == 1
    assert "a wedding" in text
    (rack,) = papers.texts(fetch("paper-rack"))
    assert rack.count("Maeve Tuohy") == 25
    assert "\u20ac" not in rack
    received(studio, owner, trousers(hem()), client=client)
    assert len(papers.texts(fetch("paper-in-case"))) == 2


@pytest.mark.postgres
def test_the_day_end_sheet_tells_float_cash_counted_and_numbers(fetch, studio, owner):
    """50.00 lay in the box; 24.00 came in cash, 10.00 were taken out: 64.00 should be there, and
    63.00 are: 1.00 short."""
    count = {"pieces": {}, "why": "", "studio": studio, "by": owner}
    with time_machine.travel("2026-03-02 17:00Z", tick=False) as traveller:
        close_day(rest=5000, taken_out=0, expected=None, form_key=uuid4(), **count)
        traveller.shift(timedelta(days=1))
        first = paid(studio, owner, received(studio, owner, trousers(hem(), hem())), amount=2400)
        last = record_payment(
            ticket=first.ticket, amount=1000, method="card", kind="balance",
            by=owner, studio=studio, form_key=uuid4(),
        )  # fmt: skip
        traveller.shift(timedelta(minutes=5))
        count["why"] = "a coin rolled away"
        close_day(rest=6300, taken_out=1000, expected=7400, form_key=uuid4(), **count)
    text = papers.text(fetch("paper-day-end", day="2026-03-03"))
    for words in (
        "Tue 3 Mar 2026",
        "Cash 1 \u20ac24.00",
        "In all 2 \u20ac34.00",
        f"Receipts {first.number} to {last.number} 2",
        "Float, left on Mon 2 Mar 2026 \u20ac50.00",
        "Cash since, less what was given back \u20ac24.00",
        "Taken out \u20ac10.00",
        "Should be there \u20ac64.00",
        "\u20ac63.00 Difference, short: a coin rolled away \u20ac1.00",
        "Signature",
    ):
        assert words in text
    empty = papers.text(fetch("paper-day-end", day="2026-03-04"))
    assert "Receipts none 0" in empty
    assert "Counted" in empty
