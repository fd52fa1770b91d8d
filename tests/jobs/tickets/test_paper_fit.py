"""Nothing is cut off: every paper of a ticket at every size, with the longest texts."""

import io
import re
from decimal import Decimal
from functools import cache

import pytest
from PIL import Image

from jobs.tickets.documents.layouts import (
    claim_ticket,
    large_claim_ticket,
    slip,
    tags,
    ticket_facts,
    work_sheet,
)
from studio.shop import paper
from studio.shop.paper import typesetting
from tests import papers, proofreading
from tests.papers_data import (
    ADDRESS,
    ARABIC_NAME,
    EMOJI_NAME,
    HEBREW_NAME,
    LONG_NAME,
    a_client,
    a_line,
    a_piece,
    a_studio,
    agreed,
    heavy,
    wedding,
)
from tests.thorough import rounds, thinned

WIDE = "W" * 200
FOOT = re.compile(r"26-0143 page \d+ of \d+")


def named(name: str):
    """Everything that a person can name is named ``name``, as far as its field is long."""
    lines = [a_line(name=name[:80], note=name[:200]) for _ in range(3)]
    piece = a_piece(
        *lines, kind_name=name[:60], colour=name[:60], description=name[:200],
        condition=name[:200], things_left=name[:200],
    )  # fmt: skip
    studio = a_studio(name=name[:120], street=name[:200], terms=name[:200])
    return agreed(piece, client=a_client(name=name), studio=studio, event=name[:120], note=name)


CASES = {
    "usual": lambda: agreed(*wedding(), rush_percent=Decimal(20)),
    "long name": lambda: named(LONG_NAME),
    "unbroken": lambda: named(WIDE),
    "right to left": lambda: named(f"{HEBREW_NAME} {ARABIC_NAME}"),
    "emoji": lambda: named(EMOJI_NAME),
    "twelve lines": lambda: agreed(*heavy(12, 1), studio=a_studio(terms="Terms. " * 285)),
    "many figures": lambda: agreed(
        a_piece(a_line(unit_price=10_000_000_000)),
        number="26-123456",
        studio=a_studio(currency="IQD", country="IQ", tax_mode="added"),
    ),
}


def facts(case: str, **more):
    return {**ticket_facts(CASES[case](), address=ADDRESS), "delta": "", "reason": "", **more}


@cache
def claim_pdf(case: str, page: str) -> bytes:
    return paper.write([claim_ticket(facts(case), page=page)], title="Claim ticket")


@cache
def tags_pdf(case: str, page: str) -> bytes:
    return paper.write(tags(facts(case, figures=False), page=page), title="Tags")


@cache
def work_pdf(case: str, page: str) -> bytes:
    document = work_sheet(facts(case, figures=False), page=page, pictures={}, care={})
    return paper.write([document], title="Work sheet")


@cache
def slip_pdf(case: str, page: str) -> bytes:
    return paper.write([slip(facts(case))], title="Claim ticket")


SMALL = [(claim_pdf, "A5"), (work_pdf, "A5"), (tags_pdf, "A7"), (slip_pdf, "roll")]
# Where there is more room, what fills it; ``make papers`` prints every case on every size. Letter
# holds what A4 holds, line for line; see tests/studio/shop/test_paper.py.
LARGE = [
    (claim_pdf, "A4"), (work_pdf, "A4"), (tags_pdf, "A6"),
    (claim_pdf, "Letter"), (work_pdf, "Letter"),
]  # fmt: skip
EVERY = [
    *((case, make, size) for make, size in SMALL for case in CASES),
    *((case, make, size) for make, size in LARGE for case in ("usual", "twelve lines")),
]
# Each paper with plain texts and with words that cannot be broken; of the rest those in which the
# papers differ most.
USUALLY = {
    *((case, make, size) for make, size in SMALL for case in ("usual", "unbroken")),
    ("twelve lines", claim_pdf, "A5"), ("twelve lines", work_pdf, "Letter"),
    ("right to left", tags_pdf, "A7"), ("right to left", claim_pdf, "A5"),
    ("long name", tags_pdf, "A7"), ("emoji", work_pdf, "A5"), ("emoji", slip_pdf, "roll"),
    ("many figures", claim_pdf, "A5"), ("many figures", slip_pdf, "roll"),
    ("usual", claim_pdf, "A4"), ("usual", tags_pdf, "A6"),
}  # fmt: skip


@pytest.mark.parametrize(("case", "make", "size"), thinned(EVERY, USUALLY.__contains__))
def test_nothing_is_cut_off_or_printed_over(case, make, size):
    """Looked at and read in one test, so that no paper is printed twice."""
    context = facts(case)
    with papers.no_complaints():
        pdf = make(case, size)
    assert proofreading.size_faults(pdf, size) == []
    assert proofreading.text_faults(pdf, size) == []
    assert proofreading.structure_faults(pdf, usual=case == "usual") == []
    if size == "roll":
        assert len(papers.sizes(pdf)) == 1
    if make is tags_pdf:
        assert len(papers.sizes(pdf)) == len(context["garments"])
    if case == "usual":
        assert proofreading.code_faults(pdf) == []
    decoded = papers.codes(pdf)
    assert {code for codes in decoded for code in codes} == {ADDRESS}
    assert decoded[0]
    if case not in {"right to left", "many figures"}:
        text = squeezed(FOOT.sub("", papers.text(pdf)))
        assert [words for words in texts(context, make) if squeezed(words) not in text] == []


# On a label and on a sheet of four; the others are larger.
SMALLEST = {"label-62", "A4"}


def everything(**studio: str) -> dict:
    """One ticket with a piece for each kind of hard text, and amounts as long as they get."""
    pieces = wedding()
    for letter, name in zip("DEF", (LONG_NAME, WIDE, f"{HEBREW_NAME} {EMOJI_NAME}"), strict=True):
        told = {"kind_name": name[:60], "description": name[:200], "things_left": name[:200]}
        line = a_line(name=name[:80], note=name[:200], unit_price=10_000_000_000)
        pieces.append(a_piece(line, line, letter=letter, **told))
    ((_, lines),) = heavy(12, 1)
    pieces.append(a_piece(*lines, letter="G"))
    data = agreed(
        *pieces, client=a_client(name=LONG_NAME), number="26-123456", studio=a_studio(**studio)
    )
    return {**ticket_facts(data, address=ADDRESS), "delta": "", "reason": ""}


@pytest.mark.parametrize(
    "size", thinned(["3x5", "4x6", "label-62", "A4", "Letter"], SMALLEST.__contains__)
)
def test_tags_for_other_printers_hold_hard_texts(size):
    """Seven pieces: a card each, or four on a sheet. All of one size."""
    with papers.no_complaints():
        documents = tags({**everything(), "figures": False}, page=size, named=True)
        pdf = paper.write(documents, title="Tags")
    on_sheets = size in {"A4", "Letter"}
    page = paper.PAGES[size]
    assert papers.sizes(pdf) == [(page.width, page.height)] * (2 if on_sheets else 7)
    assert papers.margins_broken(pdf, size) == []
    assert papers.printed_over(pdf) == []
    codes = papers.codes(pdf)
    assert codes == ([[ADDRESS] * 4, [ADDRESS] * 3] if on_sheets else [[ADDRESS]] * 7)


@pytest.mark.parametrize("size", thinned(["A4", "A5"], {"A5"}.__contains__))
def test_large_print_holds_hard_texts_in_letters_of_14_points(size):
    with papers.no_complaints():
        context = everything(currency="IQD", country="IQ", tax_mode="added")
        pdf = paper.write([large_claim_ticket(context, page=size)], title="Claim ticket")
    assert papers.margins_broken(pdf, size) == []
    assert papers.printed_over(pdf) == []
    assert papers.broken_figures(pdf) == []
    assert papers.codes(pdf)[0] == [ADDRESS]
    letters = [letter for page, _ in papers.letters_and_words(pdf) for letter in page]
    assert min(letter["size"] for letter in letters) >= 13.99


@pytest.mark.parametrize("pieces", [6, 7])
def test_large_print_parts_no_heading_from_its_work_and_no_sums_from_the_last_of_it(pieces):
    """With six the sums alone would be over the page, with seven the work of the last piece."""
    trousers = [
        a_piece(a_line(), a_line(name="Take in"), letter=letter) for letter in "ABCDEFG"[:pieces]
    ]
    context = {**ticket_facts(agreed(*trousers), address=ADDRESS), "delta": "", "reason": ""}
    pdf = paper.write([large_claim_ticket(context, page="A4")], title="Claim ticket")
    pages = [page.extract_text() for page in papers.reader(pdf).pages]
    first, last = ([line for line in page.splitlines() if line.strip()][:-1] for page in pages)
    assert "Trousers, navy" not in first[-1]
    assert "What we do" in last[0]
    (sums,) = (at for at, line in enumerate(last) if line.startswith("Total"))
    assert any("Take in" in line for line in last[:sums])
    (words,) = (at for at, line in enumerate(last) if line.startswith("Received"))
    (to_pay,) = (at for at, line in enumerate(last) if line.startswith("To pay"))
    assert sums < to_pay < words


def test_the_narrow_roll_holds_hard_texts():
    with papers.no_complaints():
        laid = slip(everything(currency="IQD", country="IQ", tax_mode="added"), page="roll-58")
        pdf = paper.write([laid], title="Claim ticket")
    ((width, _),) = papers.sizes(pdf)
    assert width == 58
    assert papers.margins_broken(pdf, "roll-58") == []
    assert papers.printed_over(pdf) == []
    assert papers.broken_figures(pdf) == []
    assert papers.codes(pdf) == [[ADDRESS]]


def squeezed(words: str) -> str:
    """Letters and figures alone: lines break where they like, and at a hyphen."""
    return "".join(letter for letter in words if letter.isalnum())


def texts(context, make) -> list[str]:
    """What is printed to its end; on the tag only as far as it says itself: see the work sheet."""
    texts = [context["number"]]
    for garment in context["garments"]:
        texts += [garment["letter"]]
        if make is not tags_pdf:
            texts += [garment["name"], *garment["noted"]]
            texts += [line["name"] for line in garment["lines"]]
            texts += [line["note"] for line in garment["lines"]]
            texts += [line["amount"] for line in garment["lines"]]
    if make is not tags_pdf:
        texts += [context["client"]["name"], context["event"]]
    if make in {claim_pdf, slip_pdf}:
        texts += [context["studio"].name, context["studio"].terms, *context["studio"].address_lines]
    return texts


def test_the_check_sees_ink_in_the_margin():
    pdf = tags_pdf("usual", "A7")
    assert papers.margins_broken(pdf, "A7") == []
    assert papers.margins_broken(pdf, "A4") == [0, 1, 2]


def test_the_check_sees_words_on_top_of_each_other():
    word = {"text": "hem", "x0": 10, "x1": 20, "top": 10, "bottom": 14}
    assert papers.shared(word, word | {"x0": 16, "x1": 26}) > papers.area(word) / 3
    assert papers.shared(word, word | {"top": 15, "bottom": 19}) == 0


def test_letters_are_where_pdfplumber_finds_them():
    pdf = work_pdf("usual", "A5")
    for (page, _), other in zip(
        papers.letters_and_words(pdf), papers.letters_by_pdfplumber(pdf), strict=True
    ):
        assert len(page) == len(other) > 500
        for letter, as_found in zip(page, other, strict=True):
            assert letter == pytest.approx(as_found, abs=0.01)


def test_the_check_sees_a_figure_that_is_broken():
    """A column of 17 mm holds no KWD 1,234,567.900 in one line, and one of 20 mm no day."""
    words = "<p style='width:17mm'>KWD\N{NO-BREAK SPACE}1,234,567.900</p>"
    words += "<p style='width:20mm'>Ready by Fri 4 Dec 2026, 17:00</p>"
    words += "<p style='margin-top:9mm'>9</p><p>10</p>"
    html = f"<html lang=en><title>Broken</title><body>{words}</body></html>"
    how = {"page_rule": paper.PAGES["A5"].css, "sheet": "sheet", "pictures": {}}
    pdf = paper.write([typesetting.typeset(html, **how)], title="Broken")
    broken = papers.broken_figures(pdf)
    assert broken == [("KWD 1,23", "4,567.900"), ("Ready by Fri", "4 Dec 2026,")]


def test_many_garments_of_six_lines():
    pieces = rounds(5, 9)
    data = agreed(*heavy(6, pieces))
    context = {**ticket_facts(data, address=ADDRESS), "delta": "", "reason": ""}
    with papers.no_complaints():
        cards = tags({**context, "figures": False}, page="A7")
        pdf = paper.write([claim_ticket(context, page="A4"), *cards], title="Claim ticket and tags")
    sheets = len(papers.sizes(pdf)) - pieces
    assert papers.sizes(pdf) == [(210, 297)] * sheets + [(74, 105)] * pieces
    assert papers.text(pdf).count("6: shorten the sleeves") >= pieces
    assert sheets > 1


def test_the_check_sees_what_the_renderer_leaves_open():
    """A heading in a heading, headings of a table that head nothing, a margin that is read out,
    a picture of a code that is none."""
    words = "<h1><span style='display:block'>Invoice</span> 26-0143</h1><h3>Work</h3>"
    words += "<table><tr><th>Work</th></tr><tr><td>Hem</td></tr></table>"
    words += "<img src='memory:blank' alt='Code that leads to nothing'>"
    html = f"<html lang=en><title>Plain</title><body>{words}</body></html>"
    blank = io.BytesIO()
    Image.new("L", (80, 80), 255).save(blank, "png")
    how = {"page_rule": paper.PAGES["A5"].css, "sheet": "sheet"}
    laid = typesetting.typeset(html, **how, pictures={"blank": blank.getvalue()})
    faults = proofreading.faults(laid.write_pdf(pdf_variant="pdf/ua-1"), "A4")
    assert [fault for fault in faults if "code" not in fault] == [
        "pages of {(148.0, 210.0)} instead of {(210, 297)}",
        "ink in the margin of page 1",
        "H1 has blocks inside",
        "a heading of level 3 after one of level 1",
        "a heading of a table on page 1 does not say what it heads",
        "page 1: 1 not tagged, ['words']",
    ]
    assert "page 1: 0 of 1 codes read at 203 dpi" in faults
    tidied = proofreading.structure_faults(paper.write([laid], title="Plain"))
    assert tidied == ["a heading of level 3 after one of level 1"]
