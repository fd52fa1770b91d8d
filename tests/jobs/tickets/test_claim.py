"""The claim ticket and the slip: what a client takes home, what the studio keeps."""

from datetime import UTC, datetime
from decimal import Decimal
from types import SimpleNamespace
from typing import Any

import pytest

from jobs.tickets.documents import layouts
from jobs.tickets.documents.layouts import claim_ticket, slip, ticket_facts
from studio.shop import paper
from tests import papers
from tests.papers_data import (
    ADDRESS,
    REPAIRS,
    a_line,
    a_piece,
    a_studio,
    agreed,
    wedding,
)
from tests.proofreading import BROUGHT_ALONG, Structure, font_faults

TIMES = "\N{MULTIPLICATION SIGN}"
STUDIO_PART = "Studio\N{RIGHT SINGLE QUOTATION MARK}s part"


def claim(data: dict[str, Any], size: str = "A4", **facts: Any) -> bytes:
    figures = facts.pop("figures", True)
    context = ticket_facts(data, address=ADDRESS, figures=figures) | facts
    with papers.no_complaints():
        return paper.write([claim_ticket(context, page=size)], title="Claim ticket 26-0143")


def parts(pdf: bytes) -> tuple[str, str]:
    """The client's part and the studio's."""
    client, _, studio = papers.text(pdf).partition(STUDIO_PART)
    return client, studio


def test_the_client_takes_home_everything_that_was_agreed():
    client, _ = parts(claim(agreed(*wedding(), rush_percent=Decimal(20))))
    for words in (
        "Larkfield Sewing Room 3 Mill Lane, X00 XX00 Larkfield 01 555 0100",
        "Claim ticket 26-0143",
        "Ready by Fri 4 Dec 2026, 17:00",
        "For Maeve Tuohy",
        "Pieces 3",
        "A Evening dress, bottle green long, boat neck, covered buttons at the back",
        "Take in side seams, take off 2 cm, each side",
        "Take in side seams €30.00, lined +25 % €7.50, rush +20 % €7.50",
        "Hem, blind stitch, take off 4.5 cm, total (keep the original edge)",
        "Noted: small pull in the cloth at the left hip · Left with it: belt, shoes · Heel 7 cm",
        "Heel 7 cm · Not yet washed",
        "B Trousers, navy wool, straight leg",
        f"C Coat, camel 4 {TIMES} Replace button",
        f"Replace button 4 {TIMES} €2.50 = €10.00, rush +20 % €2.00 €12.00",
        "Received Fri 27 Nov 2026, 10:05. Wanted by Sat 5 Dec 2026 for a wedding.",
        "Please try everything on before you leave.",
        "Total €121.80 of which Standard 23 % on €9.76 €2.24",
        "of which Repairs 13.5 % on €96.74 €13.06 Deposit asked €20.00 To pay €121.80",
    ):
        assert words in client


def test_the_studio_keeps_who_it_is_and_a_place_to_sign():
    client, studio = parts(claim(agreed(*wedding())))
    assert "085 555 0143" not in client
    for words in (
        "Maeve Tuohy 085 555 0143",
        "3 pieces 26-0143",
        "Ready by Fri 4 Dec 2026, 17:00",
        f"C Coat, camel 4 {TIMES} Replace button €10.00",
        "Noted: small pull in the cloth at the left hip",
        "I agree to the work, the prices, the state of the pieces as noted and the terms.",
        "Signature Day",
        "Deposit asked €20.00 To pay €101.50",
    ):
        assert words in studio


def test_without_figures_there_is_no_money_on_it():
    data = agreed(*wedding(), rush_percent=Decimal(20))
    with_money, without = (papers.text(claim(data, figures=shown)) for shown in (True, False))
    assert with_money.count("€") > 20
    for words in ("€", "rush", "Total", "Deposit", "To pay", "121.80", "prices"):
        assert words not in without
    assert without.count("Take in side seams, take off 2 cm, each side") == 2


@pytest.mark.parametrize(("size", "half"), [("A4", 148.5), ("Letter", 139.7), ("A5", 105)])
def test_a_short_ticket_is_cut_in_the_middle_of_the_sheet(size, half):
    pdf = claim(agreed(studio=a_studio(terms="")), size)
    (words,) = papers.words(pdf)
    crossing = [word["text"] for word in words if word["top"] < half < word["bottom"]]
    assert not crossing
    assert not list(font_faults(Structure(pdf), BROUGHT_ALONG))
    left = min(word["x0"] for word in words)  # the scissors lie on the line
    _, top, _, bottom = papers.inked(pdf, 0, (left, half - 2.5, left + 5, half + 2.5))
    assert top < half < bottom
    assert bottom - top > 2
    below = [word["text"] for word in words if word["top"] > half]
    assert " ".join(below).startswith(STUDIO_PART)


def test_a_long_ticket_gets_a_sheet_for_each_part():
    pdf = claim(agreed(*(a_piece(letter=letter) for letter in "ABCDEFGHIJ")))
    client, studio = papers.texts(pdf)
    assert STUDIO_PART not in client
    assert studio.startswith(STUDIO_PART)
    assert "page 2 of 2" in studio


def test_a_later_version_says_what_it_replaces():
    facts = {
        "version": 2,
        "replaces": 1,
        "agreed_at": datetime(2026, 11, 30, 9, 0, tzinfo=UTC),
        "delta": "price €24.00 → €30.00",
        "reason": "lace edge",
    }
    version = (
        "Version 2, agreed Mon 30 Nov 2026, 09:00, replaces version 1: "
        "price €24.00 → €30.00 (lace edge)."
    )
    assert papers.text(claim(agreed(), **facts)).count(version) == 2
    assert "replaces" not in papers.text(claim(agreed()))


def test_tax_added_on_letter():
    studio = a_studio(country="US", currency="USD", time_zone="America/New_York", tax_mode="added")
    data = agreed(studio=studio, deposit=0, promise_at=datetime(2026, 12, 4, 22, 0, tzinfo=UTC))
    client, _ = parts(claim(data, "Letter"))
    # 13.5 % of 24.00 is 3.24.
    assert "Without tax $24.00 Repairs 13.5 % on $24.00 $3.24 Total $27.24" in client
    assert "Ready by Fri, Dec 4, 2026, 5:00 PM" in client
    assert "Deposit" not in client


def test_a_studio_without_tax_speaks_of_none():
    studio = a_studio(tax_mode="none", country="JP", currency="JPY", time_zone="Asia/Tokyo")
    data = agreed(a_piece(a_line(tax=None)), studio=studio)
    client, _ = parts(claim(data))
    assert "Total ¥2,400 Deposit asked ¥2,000 To pay ¥2,400" in client
    assert "tax" not in client
    assert "of which" not in client


def test_exempt_work_says_so():
    exempt = REPAIRS | {"percent": "0", "exempt": True}
    client, _ = parts(claim(agreed(a_piece(a_line(tax=exempt)))))
    assert "of which Repairs exempt on €24.00 €0.00" in client


def test_a_minimum_charge_is_a_line_of_its_own():
    data = agreed(
        a_piece(a_line(unit_price=500)),
        terms={
            "currency": "EUR",
            "tax_mode": "included",
            "rounding_step": 1,
            "minimum_charge": 1200,
            "deposit_percent": "0",
        },
        deposit=0,
    )
    client, _ = parts(claim(data))
    assert "Minimum charge €7.00" in client
    assert "Total €12.00" in client


def test_the_slip_is_the_clients_part_alone():
    with papers.no_complaints():
        context = ticket_facts(agreed(*wedding()), address=ADDRESS)
        pdf = paper.write([slip(context)], title="Claim ticket 26-0143")
    text = papers.text(pdf)
    for words in (
        "Claim ticket 26-0143 Maeve Tuohy 3 pieces, received Fri 27 Nov 2026, 10:05",
        "Ready by Fri 4 Dec 2026, 17:00",
        "Wanted by Sat 5 Dec 2026 for a wedding",
        "Total €101.50 of which",
        "Bring this slip when you collect.",
    ):
        assert words in text
    assert "085 555 0143" not in text
    assert "Signature" not in text
    assert text.endswith("26-0143")
    ((_, height),) = papers.sizes(pdf)
    numbers = [word for page in papers.words(pdf) for word in page if word["text"] == "26-0143"]
    assert numbers[0]["top"] < 40
    assert numbers[-1]["bottom"] > height - 10


@pytest.mark.parametrize(
    ("pages", "signed_at", "tried"),
    [
        (1, 0.9, ["halves"]),
        (2, 0.14, ["halves", "tight"]),
        (2, 0.3, ["halves", "apart"]),
        (3, 0.1, ["halves", "apart"]),
    ],
)
def test_it_is_laid_out_again_only_where_that_may_save_a_sheet(
    monkeypatch, pages, signed_at, tried
):
    """Each layout takes a sixth of a second while the client waits."""
    asked = []

    def lay_out(template, facts, page):
        asked.append(facts["placed"])
        count = pages if facts["placed"] == "halves" else 1
        last = SimpleNamespace(height=800, anchors={"end": (0, 800 * signed_at)})
        return SimpleNamespace(pages=[last] * count)

    monkeypatch.setattr(layouts, "_lay_out_claim", lay_out)
    claim_ticket({}, page="A5")
    assert asked == tried
