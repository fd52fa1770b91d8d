"""The engine of papers: sizes, tags, language, nothing fetched, no complaint of the renderer."""

import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pypdfium2
import pytest
from django.contrib.staticfiles import finders
from weasyprint import CSS

from studio.shop import paper
from tests import papers
from tests.papers_data import a_studio

TEMPLATES = {
    "words.html": "{% extends 'shop/papers/base.html' %}{% block paper %}<h1>Hem</h1>"
    "<p>{{ words }}</p><p id='end'></p>{% endblock %}",
    "clock.html": "{% extends 'shop/papers/base.html' %}{% load studio %}"
    "{% block paper %}<p>{% clock at %}</p>{% endblock %}",
    "picture.html": "{% extends 'shop/papers/base.html' %}"
    "{% block paper %}<img src='{{ source }}' alt='A hem'>{% endblock %}",
}


@pytest.fixture(autouse=True)
def _templates(settings):
    """These few templates beside the program's own."""
    (engine,) = settings.TEMPLATES
    memory = ("django.template.loaders.locmem.Loader", TEMPLATES)
    disk = ("django.template.loaders.filesystem.Loader", engine["DIRS"])
    options = {**engine["OPTIONS"], "loaders": [memory, disk]}
    settings.TEMPLATES = [{"BACKEND": engine["BACKEND"], "DIRS": [], "OPTIONS": options}]


def rendered(template: str = "words.html", *, page: str = "A4", pictures=None, **context) -> bytes:
    return paper.render(
        template,
        {"studio": a_studio(), **context},
        title="A hem & more",
        language="en-IE",
        page=page,
        pictures=pictures,
    )


# ISO 216 for the A sizes; ANSI/ASME Y14.1 size A (8.5 x 11 in) for Letter.
STANDARD = {
    "A4": (210.0, 297.0),
    "Letter": (215.9, 279.4),
    "A5": (148.0, 210.0),
    "A6": (105.0, 148.0),
    "A7": (74.0, 105.0),
}


@pytest.fixture(autouse=True)
def _printed_anew(press, monkeypatch):
    """What is looked at here is the renderer itself."""
    monkeypatch.setattr(press, "on", False)


@pytest.mark.parametrize("page", STANDARD)
def test_a_page_has_the_size_of_its_standard(page):
    with papers.no_complaints():
        assert papers.sizes(rendered(page=page)) == [STANDARD[page]]


def test_a4_and_letter_hold_the_same():
    """What is left of both with half an inch of margin: 184 mm of A4's width (210 - 2 x 12.7), 254
    mm of Letter's height (279.4 - 2 x 12.7)."""
    held = {
        (round(page.width - 2 * page.side, 2), round(page.height - 2 * page.top, 2))
        for page in (paper.PAGES["A4"], paper.PAGES["Letter"])
    }
    assert held == {(184, 254)}
    assert min(paper.PAGES[name].side for name in ("A4", "Letter")) >= 12.7
    assert min(paper.PAGES[name].top for name in ("A4", "Letter")) >= 12.7


def test_the_roll_is_as_long_as_its_text():
    with papers.no_complaints():
        short, long = (rendered(page="roll", words="hem " * count) for count in (3, 300))
    for pdf in (short, long):
        ((width, height),) = papers.sizes(pdf)
        bottom = max(word["bottom"] for word in papers.words(pdf)[0])
        assert width == 80
        assert 3 < height - bottom < 8
        assert all(word["x0"] > 3.9 and word["x1"] < 76.1 for word in papers.words(pdf)[0])
    assert papers.sizes(short)[0][1] < 25 < papers.sizes(long)[0][1]


def test_an_endless_slip_is_refused():
    with pytest.raises(paper.PaperError, match="longer than 5 metres"):
        rendered(page="roll", words="hem " * 20_000)


def test_a_paper_says_its_language_and_title_and_is_tagged():
    """PDF/UA-1 (ISO 14289-1): clause 7.1 asks for tags and a title that is shown, 7.2 for a
    language, clause 5 for the mark in the metadata."""
    catalog = papers.reader(rendered(words="by hand")).trailer["/Root"]
    assert catalog["/Lang"] == "en-IE"
    assert catalog["/MarkInfo"]["/Marked"] == True  # noqa: E712 -- pypdf's own kind of boolean
    assert catalog["/ViewerPreferences"]["/DisplayDocTitle"] == True  # noqa: E712 -- as above
    assert b'pdfuaid:part="1"' in catalog["/Metadata"].get_data()
    assert papers.reader(rendered()).metadata.title == "A hem & more"
    (document,) = catalog["/StructTreeRoot"]["/K"]
    assert [kid.get_object()["/S"] for kid in document["/K"]][:2] == ["/H1", "/P"]


def test_times_are_told_in_the_zone_of_the_studio():
    noon = datetime(2026, 7, 1, 12, tzinfo=UTC)
    clocks = [
        papers.text(rendered("clock.html", at=noon, studio=a_studio(time_zone=zone)))
        for zone in ("Europe/Dublin", "Asia/Tokyo")
    ]
    assert [words.split()[0] for words in clocks] == ["13:00", "21:00"]


def test_what_people_write_is_never_markup():
    pdf = rendered(words="<img src='http://larkfield.example/x.png'> & <b>hem</b>")
    assert "<img src='http://larkfield.example/x.png'> & <b>hem</b>" in papers.text(pdf)


@pytest.mark.parametrize(
    "source",
    [
        "http://larkfield.example/hem.png",
        "https://larkfield.example/hem.png",
        "file:///etc/passwd",
        "data:image/png;base64,AAAA",
        "memory:other",
        "hem.png",
        "/static/studio/icon.svg",
    ],
)
def test_nothing_is_fetched(source):
    with pytest.raises(paper.PaperError, match="Error fetching"):
        rendered("picture.html", source=source)


def test_a_picture_that_was_given_is_shown():
    from studio.shop.paper import code_png

    with papers.no_complaints():
        pdf = rendered("picture.html", source="memory:hem", pictures={"hem": code_png("hem")})
    assert papers.codes(pdf) == [["hem"]]


def test_no_complaints_hears_the_renderer():
    heard = pytest.raises(AssertionError, match="Failed to load image")
    with heard, papers.no_complaints():
        rendered("picture.html", source="memory:hem", pictures={"hem": b"no picture"})


SHEETS = sorted(Path(finders.find("studio/paper.css")).parent.glob("paper*.css"))


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.name)
def test_every_rule_of_a_style_sheet_is_understood(sheet):
    with papers.no_complaints():
        CSS(string=sheet.read_text())


def test_every_page_has_its_style_sheet():
    """Some papers name their own instead of their page's."""
    named = {
        f"paper{kind}.css"
        for kind in ("", "-journal", "-card", "-swatch", "-pad", "-day", "-week", "-year")
    }
    pages = {f"paper-{page.sheet}.css" for page in paper.PAGES.values()}
    assert {sheet.name for sheet in SHEETS} == named | pages


def test_the_same_is_written_byte_for_byte():
    laid = paper.lay_out(
        "words.html",
        {"studio": a_studio(), "words": "hem"},
        title="A hem",
        language="en-IE",
        page="A4",
    )
    first, second = (paper.write([laid], title="A hem") for _ in range(2))
    assert first == second


def test_two_papers_at_once_do_not_disturb_each_other():
    asked = [f"hem number {count} " * 40 for count in range(6)]
    with ThreadPoolExecutor(max_workers=3) as workers:
        pdfs = list(workers.map(lambda words: rendered(words=words), asked))
    assert [
        papers.text(pdf).count(words.strip()) for pdf, words in zip(pdfs, asked, strict=True)
    ] == [1] * 6


def test_figures_stand_in_columns_by_the_letters_not_by_each_text(monkeypatch):
    """Features that a text asks for are never given back by the renderer: 80 kB a page. In the rule
    of the font they are told once (CSS Fonts 4, font-feature-settings in @font-face)."""
    from studio.shop.paper import typesetting

    monkeypatch.setattr(typesetting.FONTS, "font_features", {})
    with closing(pypdfium2.PdfDocument(rendered(words="1111111111 8888888888"))) as document:
        page = document[0].get_textpage()
        at = page.get_text_range().index("1111111111 8888888888")
        lefts = [page.get_charbox(at + place, loose=True)[0] for place in (0, 9, 11, 20)]
    assert typesetting.FONTS.font_features == {}
    assert lefts[1] - lefts[0] == pytest.approx(lefts[3] - lefts[2], abs=0.05)


def test_the_program_starts_without_the_renderer():
    """Every page's address is known before WeasyPrint, which takes a second, is looked at."""
    code = (
        "import django, sys, importlib; django.setup(); importlib.import_module('studio.urls');"
        "print('weasyprint' in sys.modules); import studio.shop.paper.typesetting;"
        "print('weasyprint' in sys.modules)"
    )
    started = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    )
    assert started.stdout.split() == ["False", "True"]
