"""The work sheet: all that is to be done, without a price."""

import pytest

from clients.cautions.garments import cautions_for
from clients.cautions.pressing import press_limit
from jobs.tickets.cautions import GarmentCare, ShownCaution
from jobs.tickets.documents.layouts import ticket_facts, work_sheet
from studio.shop import paper
from studio.shop.paper import code_png
from tests import papers
from tests.papers_data import ADDRESS, agreed, wedding


def sheet(size: str = "A5", pictures=None, care=None, **facts) -> bytes:
    context = ticket_facts(agreed(*wedding()), address=ADDRESS) | facts
    with papers.no_complaints():
        document = work_sheet(context, page=size, pictures=pictures or {}, care=care or {})
        return paper.write([document], title="Work sheet 26-0143")


def test_it_says_everything_that_is_to_be_done():
    text = papers.text(sheet("A4"))
    for words in (
        "Ready by Fri 4 Dec 2026, 17:00 Wanted by Sat 5 Dec 2026 for a wedding",
        "Maeve Tuohy, 3 pieces, 2 h 55",
        "Work sheet 26-0143",
        "Sister of the bride; call before cutting.",
        "A Evening dress, bottle green long, boat neck",
        "Noted: small pull in the cloth at the left hip Left with it: belt, shoes",
        "Heel 7 cm Not yet washed",
        "fitting first Take in side seams, take off 2 cm, each side lined 301 75",
        "Hem, blind stitch, take off 4.5 cm, total (keep the original edge) lined 103 38",
        "C Coat, camel New, never worn",
        "4 \N{MULTIPLICATION SIGN} Replace button 32",
    ):
        assert words in text


def test_a_hem_that_hangs_says_so():
    context = ticket_facts(agreed(*wedding()), address=ADDRESS)
    lines = [dict(line) for line in context["garments"][0]["lines"]]
    lines[-1]["hang_days"] = 1
    garments = [context["garments"][0] | {"lines": lines}, *context["garments"][1:]]
    assert "Let it hang for 1 day before it is levelled." in papers.text(sheet(garments=garments))
    assert "hang" not in papers.text(sheet())


def test_it_shows_no_money():
    text = papers.text(sheet())
    assert "€" not in text
    for amount in ("37.50", "30.00", "24.00", "10.00", "20.00"):
        assert amount not in text


def test_a_later_version_is_named():
    assert "Work sheet, version 3 26-0143" in papers.text(sheet(version=3))


def test_photographs_stand_beside_their_garment():
    shown = {"A": [code_png("front"), code_png("back")], "C": [code_png("collar")]}
    decoded = [set(codes) for codes in papers.codes(sheet("A4", shown))]
    assert decoded == [{ADDRESS, "front", "back", "collar"}]


@pytest.mark.parametrize("size", ["A4", "A5"])
def test_cautions_and_the_pressing_limit_stand_above_the_work(size):
    night = tuple(ShownCaution(caution) for caution in cautions_for(concern="child_night"))
    press = press_limit(iron="2", fibre="80 % wool 20 % polyamide " * 4)
    pdf = sheet(size, care={letter: GarmentCare(night, press) for letter in "ABC"})
    text = papers.text(pdf)
    assert text.count("Caution, children's night clothes: Do not let it out") == 3
    assert text.count("Press at most 110 °C (1 dot, no steam): polyamide, the least of 2") == 3
    assert text.count("Pins out, needle whole") == 3
    assert papers.margins_broken(pdf, size) == []
    assert papers.printed_over(pdf) == []
    assert papers.broken_figures(pdf) == []
