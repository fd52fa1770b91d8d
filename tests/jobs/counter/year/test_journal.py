"""The journal of a year as a PDF, read back by others than the program that wrote it."""

import os
from datetime import date
from decimal import Decimal
from unittest.mock import patch

import pypdf
import pytest
import time_machine
from django.core.management import call_command
from django.urls import reverse
from lxml import html

from jobs.counter.year import bookbinder
from jobs.counter.year.journal import read_journal
from jobs.makes.models import JournalBook, Make
from studio.backup.running import one_at_a_time
from studio.shop import clock
from tests import factories as f
from tests import papers, proofreading
from tests.jobs.counter.year.making import at, finished, full_make, photograph
from tests.thorough import thinned

# ISO 216 for A5 and A4; ANSI/ASME Y14.1 for Letter, 8.5 by 11 inches of 25.4 mm.
SIZES = {"A5": (148, 210), "A4": (210, 297), "Letter": (215.9, 279.4)}


@pytest.fixture(autouse=True)
def _november(studio):
    with time_machine.travel("2026-11-25 09:30Z", tick=False):
        yield


def journal(client, paper="A5", year=2026) -> bytes:
    with papers.no_complaints():
        client.post(reverse("journal-build", args=[year]), {"paper": paper})
    response = client.get(reverse("journal-file", args=[year, paper]))
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


def without_number(pdf) -> list[int]:
    """Pages that are one picture to the edge: no number stands at their foot."""
    texts = papers.texts(pdf)
    return [n for n, text in enumerate(texts) if not text.strip().endswith(str(n + 1))]


@pytest.mark.parametrize("paper", thinned(SIZES, {"A5"}.__contains__))
def test_it_is_on_the_paper_that_was_asked_for(year, paper):
    pdf = journal(year, paper)
    assert set(papers.sizes(pdf)) == {SIZES[paper]}
    assert set(papers.margins_broken(pdf, paper)) <= set(without_number(pdf))
    assert papers.printed_over(pdf) == []
    assert proofreading.structure_faults(pdf, usual=True) == []
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
        page = max(place for place, text in enumerate(texts, 1) if text.startswith(words))
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


@pytest.mark.postgres
def test_a_photograph_goes_before_a_sketch_and_the_newest_before_the_others(owner_client):
    make = finished(date(2026, 3, 1))
    old, new, sketch = (photograph(n, drawn=n == 3, size=(20, 20)) for n in (1, 2, 3))
    make.pictures.add(old, new, sketch)
    only_drawn = finished(date(2026, 3, 2))
    only_drawn.pictures.add(sketch)
    assert [entry.picture for entry in read_journal(2026, 1).entries] == [new, sketch]


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
    cloths = read_journal(2026, 1).entries[0].cloths
    assert [(used.cloth.name, used.mm) for used in cloths] == [
        (cloth.name, 1500), ("Only meant", None),
    ]  # fmt: skip


def test_very_long_words_go_on_over_the_page(owner_client):
    long = "A long line about a seam that took some thought. " * 40
    finished(date(2026, 3, 1), changes=long, learnt=long + "The end.").pictures.add(photograph(1))
    pdf = journal(owner_client)
    assert "The end." in papers.text(pdf)
    assert set(papers.margins_broken(pdf, "A5")) <= set(without_number(pdf))


def test_an_empty_year_says_so(owner_client):
    assert "Nothing was finished in 2020." in papers.text(journal(owner_client, year=2020))


def test_the_helper_gets_it_too_for_there_is_no_money_in_it(helper_client):
    f.ClothPlanFactory(make=finished(date(2026, 3, 1)), cloth__price=4200)
    assert "42" not in papers.text(journal(helper_client))


@pytest.mark.parametrize("makes", [1, 3])
def test_a_journal_takes_as_many_queries_for_any_number(studio, makes, django_assert_num_queries):
    for number in range(makes):
        full_make(date(2026, 3, 1 + number), number)
    f.MakeFactory(state="let_go", let_go_at=at(date(2026, 5, 5)))
    with django_assert_num_queries(34):
        read_journal(2026, 1)


def page(client, **headers) -> str:
    return client.get(reverse("journal", args=[2026]), headers=headers).text


def test_before_it_is_built_its_cover_and_one_spread_of_each_season_lie_open(owner_client):
    for number, month in enumerate((2, 3, 5)):
        full_make(date(2026, month, 1), number)
    (book,) = html.fromstring(page(owner_client)).find_class("journal-book")
    last = Make.objects.get(words="Number 2 of the year").pictures.get()
    assert book.xpath(".//*[contains(@class, 'of-cover')]//img/@src") == [last.small_address]
    assert len(book.xpath(".//*[@id='contents']/following-sibling::ul/li")) == 3
    spreads = book.find_class("of-make")
    titles = [spread.findtext(".//h2/a") for spread in spreads]
    assert titles == ["Number 0 of the year", "Number 2 of the year"]
    assert "1.35 m" in spreads[0].text_content()
    assert "journal-book" not in page(owner_client, **{"HX-Request": "true"})


def test_it_is_asked_for_built_and_built_again(owner_client, studio):
    finished(date(2026, 3, 1), words="Coat")
    assert "Build A5" in page(owner_client)
    assert owner_client.get(reverse("journal-file", args=[2026, "A5"])).status_code == 404
    journal(owner_client)
    book = JournalBook.objects.get()
    first = book.file.name
    assert (book.state, book.done, book.file.size) == ("done", 1000, book.size)
    assert f"{book.pages} pages" in page(owner_client)
    finished(date(2026, 3, 2), words="Vest")
    assert "Vest" in papers.text(journal(owner_client))
    book.refresh_from_db()
    assert not book.file.storage.exists(first)


def test_who_is_not_logged_in_gets_none(client, owner_client):
    journal(owner_client)
    assert client.get(reverse("journal-file", args=[2026, "A5"])).status_code == 302


def test_one_at_a_time_and_it_says_how_far_it_is(owner_client, studio, settings):
    """Another process is at work, as by its lock."""
    settings.IN_THE_BACKGROUND = True
    begun = JournalBook.objects.create(
        year=2026, page="A5", state="building", done=300, asked_at=clock.now()
    )
    with one_at_a_time(bookbinder.JOURNALS, wait=False):
        bookbinder.ask_for(year=2026, page="A5")
        bookbinder.ask_for(year=2026, page="A4")
        with pytest.raises(BlockingIOError), one_at_a_time(bookbinder.JOURNALS, wait=False):
            pass
        text = page(owner_client)
    assert ("Reading the pictures" in text, "Waiting for its turn" in text) == (True, True)
    assert '<meta http-equiv="refresh"' in text
    begun.refresh_from_db()
    assert begun.done == 300
    assert JournalBook.objects.count() == 2


def test_what_was_cut_short_is_begun_again_and_given_up_after_three_times(owner_client, studio):
    """No process holds the lock: the one that began this is gone, with the machine perhaps."""
    book = JournalBook.objects.create(
        year=2026, page="A5", state="building", done=300, tries=1, asked_at=clock.now()
    )
    page(owner_client)
    book.refresh_from_db()
    assert book.state == "done"
    JournalBook.objects.update(state="building", tries=3)
    assert "Being built" not in page(owner_client)
    book.refresh_from_db()
    assert book.state == "failed"
    assert "It could not be built." in page(owner_client)


def test_what_fails_is_told_and_the_next_is_built(owner_client, studio, monkeypatch, caplog):
    """The book of before stays."""
    journal(owner_client)
    monkeypatch.setattr(bookbinder, "journal_pdf", lambda *args, **facts: 1 / 0)
    owner_client.post(reverse("journal-build", args=[2026]), {"paper": "A5"})
    assert "could not be built" in caplog.text
    assert "Open the A5" in page(owner_client)


def test_one_process_at_most_is_begun_and_it_looks_again_before_it_ends(
    studio, settings, monkeypatch
):
    """Each that waited took 80 MB; what is asked for in the last moment is built too."""
    settings.IN_THE_BACKGROUND = True
    begun, take_up, late = [], bookbinder._take_up, ["A4"]

    def begin(command: list[str], *, pass_fds: list[int], **options: object) -> None:
        assert command[-2:] == ["--lock", str(pass_fds[0])]
        begun.append(os.dup(pass_fds[0]))  # what the process keeps of it

    monkeypatch.setattr(bookbinder.subprocess, "Popen", begin)
    bookbinder.ask_for(year=2026, page="A5")
    with one_at_a_time(bookbinder.JOURNALS, wait=False):
        bookbinder.start()
        bookbinder.build_all()
    assert (begun, JournalBook.objects.get().state) == ([], "waiting")
    for _ in range(6):  # taps while it starts
        bookbinder.start()
    assert len(begun) == 1
    bookbinder.let_go(begun[0])  # it ended while somebody asked
    assert len(begun) == 2

    def meanwhile():
        book = take_up()
        if not book and late:
            bookbinder.ask_for(year=2026, page=late.pop())
        return book

    monkeypatch.setattr(bookbinder, "_take_up", meanwhile)
    bookbinder.build_all()
    assert set(JournalBook.objects.values_list("page", "state")) == {("A5", "done"), ("A4", "done")}
    bookbinder.let_go(begun[1])
    assert len(begun) == 2


def test_the_command_builds_what_waits(studio):
    bookbinder.ask_for(year=2026, page="Letter")
    with patch("os.nice") as nice:
        call_command("journal")
    assert nice.called
    assert JournalBook.objects.get().state == "done"
