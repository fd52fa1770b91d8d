"""The journal of a year as a PDF, read back by others than the program that wrote it."""

from datetime import date
from decimal import Decimal

import pypdf
import pytest
import time_machine
from django.urls import reverse

from jobs.counter.year.journal import read_journal
from tests import factories as f
from tests import papers
from tests.jobs.counter.year.making import at, finished, full_make, photograph

# ISO 216 for A5 and A4; ANSI/ASME Y14.1 for Letter, 8.5 by 11 inches of 25.4 mm.
SIZES = {"A5": (148, 210), "A4": (210, 297), "Letter": (215.9, 279.4)}


@pytest.fixture(autouse=True)
def _november(studio):
    with time_machine.travel("2026-11-25 09:30Z", tick=False):
        yield


def journal(client, paper="A5", year=2026) -> bytes:
    with papers.no_complaints():
        response = client.get(reverse("journal", args=[year]), {"paper": paper})
    assert response["Content-Type"] == "application/pdf"
    return response.content


@pytest.fixture
def year(owner_client):
    """Three makes, the last one with little said of it, and one let go."""
    for number in range(2):
        full_make(date(2026, 3, 1 + number), number)
    finished(date(2026, 9, 1), words="Zwölf Säcke", pattern=None, changes="", learnt="", whim=True)
    f.MakeFactory(state="let_go", words="Tweed cape", let_go_at=at(date(2026, 5, 5)))
    return owner_client


@pytest.mark.parametrize("paper", SIZES)
def test_it_is_on_the_paper_that_was_asked_for(year, paper):
    pdf = journal(year, paper)
    assert set(papers.sizes(pdf)) == {SIZES[paper]}
    assert papers.margins_broken(pdf, paper) == []
    assert papers.printed_over(pdf) == []
    assert papers.broken_figures(pdf) == []


def test_everything_that_was_said_of_a_make_is_in_it(year):
    text = papers.text(journal(year))
    for sentence in [
        "What was made in 2026",
        "Number 1 of the year",
        "Finished Mon 2 Mar 2026",
        "What it is Skirt",
        "For whom my sister",
        "Larkfield Sewing Room, size 14",
        "Hours 1 h 35",
        "What became of it Worn rarely",
        "Linen, 1.35 m",
        "What was changed Two centimetres more in the back length",
        "What was learnt Press each seam before the next one.",
        "Zwölf Säcke",
        "Tue 1 Sept 2026, not planned",
        "Let go Tweed cape, Tue 5 May 2026",
    ]:
        assert sentence in text


def test_the_contents_name_the_page_of_each_make(year):
    texts = papers.texts(journal(year))
    for words in ("Number 0 of the year", "Number 1 of the year", "Zwölf Säcke"):
        page = next(place for place, text in enumerate(texts, 1) if text.startswith(words))
        contents = texts[1].replace(".", "").replace(" ", "")
        assert f"{words.replace(' ', '')}{page}" in contents


def test_it_can_be_read_in_twenty_years(year):
    """Every font is inside, and who listens is told title, language and what pictures show."""
    pdf = journal(year)
    document = papers.reader(pdf)
    assert document.metadata.title == "Journal 2026, Larkfield Sewing Room"
    assert document.trailer["/Root"]["/Lang"] == "en-IE"
    assert document.trailer["/Root"]["/MarkInfo"]["/Marked"]
    assert b"Photograph of Number 0 of the year" in b"".join(alternatives(document))
    fonts = list(embedded(document))
    assert fonts
    assert all(fonts)


def embedded(document: pypdf.PdfReader):
    """Whether each font's file is in the document (ISO 32000-1, 9.9)."""
    for page in document.pages:
        for font in page["/Resources"]["/Font"].values():
            descendant = font.get_object()["/DescendantFonts"][0].get_object()
            descriptor = descendant["/FontDescriptor"]
            yield any(key in descriptor for key in ("/FontFile", "/FontFile2", "/FontFile3"))


def alternatives(document: pypdf.PdfReader):
    """The texts that stand for pictures (ISO 32000-1, 14.9.3)."""
    for number in range(1, document.trailer["/Size"]):
        part = document.get_object(pypdf.generic.IndirectObject(number, 0, document))
        if isinstance(part, dict) and "/Alt" in part:
            yield str(part["/Alt"]).encode()


def test_a_photograph_goes_before_a_sketch_and_the_newest_before_the_others(owner_client):
    make = finished(date(2026, 3, 1))
    old, new, sketch = (photograph(n, drawn=n == 3, size=(20, 20)) for n in (1, 2, 3))
    make.pictures.add(old, new, sketch)
    only_drawn = finished(date(2026, 3, 2))
    only_drawn.pictures.add(sketch)
    assert [entry.picture for entry in read_journal(2026).entries] == [new, sketch]


def test_a_picture_whose_file_is_gone_is_left_out(owner_client):
    make = finished(date(2026, 3, 1), words="Still here")
    make.pictures.add(gone := photograph(1, size=(20, 20)))
    gone.file.storage.delete(gone.file.name)
    assert "Still here" in papers.text(journal(owner_client))


def test_cloth_that_was_put_back_is_not_in_the_make(owner_client):
    make, cloth = finished(date(2026, 3, 1)), f.ClothFactory()
    for why, mm in (("cut", -2000), ("back", 500), ("washed", -90)):
        f.ClothMoveFactory(cloth=cloth, make=make, why=why, mm=Decimal(mm))
    f.ClothPlanFactory(make=make, cloth__name="Only meant")
    cloths = read_journal(2026).entries[0].cloths
    assert [(used.cloth.name, used.mm) for used in cloths] == [
        (cloth.name, 1500), ("Only meant", None),
    ]  # fmt: skip


def test_very_long_words_go_on_over_the_page(owner_client):
    long = "A long line about a seam that took some thought. " * 40
    finished(date(2026, 3, 1), changes=long, learnt=long + "The end.").pictures.add(photograph(1))
    pdf = journal(owner_client)
    assert "The end." in papers.text(pdf)
    assert papers.margins_broken(pdf, "A5") == []


def test_an_empty_year_says_so(owner_client):
    assert "Nothing was finished in 2020." in papers.text(journal(owner_client, year=2020))


def test_the_helper_gets_it_too_for_there_is_no_money_in_it(helper_client):
    f.ClothPlanFactory(make=finished(date(2026, 3, 1)), cloth__price=4200)
    assert "42" not in papers.text(journal(helper_client))


@pytest.mark.parametrize("makes", [1, 3])
def test_a_journal_takes_ten_queries(owner_client, makes, django_assert_num_queries):
    for number in range(makes):
        full_make(date(2026, 3, 1 + number), number)
    f.MakeFactory(state="let_go", let_go_at=at(date(2026, 5, 5)))
    with django_assert_num_queries(10):
        owner_client.get(reverse("journal", args=[2026]))
