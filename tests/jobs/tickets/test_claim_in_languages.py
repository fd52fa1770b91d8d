"""The claim ticket laid out in other languages: nothing is cut off or breaks within a figure."""

import pytest

from jobs.tickets.documents.layouts import claim_ticket, slip, ticket_facts
from studio.shop import paper
from studio.shop.models import PaperPhrase, Profile
from studio.shop.words import words_for
from tests import papers
from tests.papers_data import agreed, wedding
from tests.proofreading import BROUGHT_ALONG, Structure, font_faults
from tests.thorough import thinned

ADDRESS = "http://studio.example/t/26-0143/"
# German and Polish have the longest words, Irish the longest days.
CASES = [("de", "A4"), ("pl", "A5"), ("ga", "roll-58"), ("fr", "Letter"), ("es", "roll")]


def laid(code: str, size: str) -> bytes:
    words = words_for(code, Profile.objects.get())
    facts = ticket_facts(agreed(*wedding()), address=ADDRESS, words=words)
    lay_out = slip if size.startswith("roll") else claim_ticket
    with papers.no_complaints():
        document = lay_out({**facts, "delta": "", "reason": ""}, page=size)
        return paper.write([document], title=words("Claim ticket {number}", number="26-0143"))


@pytest.mark.parametrize(
    ("code", "size"), thinned(CASES, {("de", "A4"), ("ga", "roll-58")}.__contains__)
)
def test_nothing_is_cut_off(studio, code, size):
    pdf = laid(code, size)
    assert not papers.margins_broken(pdf, size)
    assert not papers.printed_over(pdf)
    assert not papers.broken_figures(pdf)
    assert not list(font_faults(Structure(pdf), BROUGHT_ALONG))
    assert {read for here in papers.codes(pdf) for read in here} == {ADDRESS}
    words = words_for(code, studio)
    text = papers.text(pdf)
    for phrase in ("Claim ticket", "Ready by", "What we do", "Total", "To pay"):
        assert words(phrase) in text
    assert papers.reader(pdf).trailer["/Root"]["/Lang"] == code
    if size == "A4":
        assert "Seite 1 von" in text
        assert "page 1" not in text


def test_what_is_written_from_the_right_begins_there(studio):
    """Arabic and Hebrew with a few phrases of the owner's; the rest is English. A number and a
    phone number keep their order."""
    for code, ready in (("ar", "جاهز في"), ("he", "מוכן עד")):
        PaperPhrase.objects.create(code=code, phrase="Ready by", form="other", text=ready)
    for code in ("ar", "he"):
        pdf = laid(code, "A4")
        assert not papers.margins_broken(pdf, "A4")
        assert not papers.printed_over(pdf)
        assert {read for here in papers.codes(pdf) for read in here} == {ADDRESS}
        assert "26-0143" in papers.text(pdf)
        assert "What we do" in papers.text(pdf)
        words = papers.letters_and_words(pdf)[0][1]
        middle = 210 / papers.MM_PER_POINT / 2
        name = next(word for word in words if word["text"].startswith("Larkfield"))
        number = next(word for word in words if word["text"] == "26-0143")
        assert number["x1"] < middle < name["x0"]
