"""Garment tags: read at two metres, one for each piece, never a price."""

from itertools import groupby

import pytest

from jobs.tickets.documents.layouts import card_texts, tags, ticket_facts
from studio.shop import paper
from studio.shop.paper import code_png
from tests import papers
from tests.papers_data import ADDRESS, a_line, a_piece, agreed, heavy, wedding
from tests.thorough import thinned

SIZES = ["A6", "A7"]
CARDS = [*SIZES, "3x5", "4x6", "label-62", "A4"]
# 16 minutes of arc, the least that ISO 9241-303 asks of a letter (from memory), at two metres:
# 2000 mm x tan(16 / 60 degrees) = 9.3 mm.
LEAST_MM = 9.3


def cards(*pieces, size: str = "A6", pictures=None, **facts) -> bytes:
    context = ticket_facts(agreed(*pieces, **facts), address=ADDRESS, figures=False)
    with papers.no_complaints():
        return paper.write(tags(context, page=size, pictures=pictures), title="Tags 26-0143")


def height(pdf: bytes, page: int, word: str) -> float:
    """How tall the ink of a word is, in mm: the longest run of rows that hold any of it."""
    boxes = [printed for printed in papers.words(pdf)[page] if printed["text"] == word]
    box = max(boxes, key=lambda printed: printed["bottom"] - printed["top"])
    left, top, right, bottom = (
        round(box[side] * papers.DOTS_PER_MM) for side in ("x0", "top", "x1", "bottom")
    )
    drawn = papers.picture(pdf, page).crop((left, top, right, bottom))
    rows = (drawn.crop((0, row, drawn.width, row + 1)) for row in range(drawn.height))
    inked = (row.getextrema()[0] < 128 for row in rows)
    runs = [len(list(run)) for ink, run in groupby(inked) if ink]
    return max(runs) / papers.DOTS_PER_MM


@pytest.mark.parametrize("size", thinned(CARDS, {"A7", "label-62"}.__contains__))
def test_number_and_letter_are_read_at_two_metres(size, record_property):
    pdf = cards(*wedding(), size=size)
    heights = {word: height(pdf, 0, word) for word in ("26-0143", "A")}
    record_property("figure", f"tag {size}: number {heights['26-0143']:.1f} mm tall")
    assert min(heights.values()) > LEAST_MM
    others = [word for word in papers.words(pdf)[0] if word["text"] not in {*heights, "B", "C"}]
    assert max(word["bottom"] - word["top"] for word in others) < min(heights.values())


@pytest.mark.parametrize("size", SIZES)
def test_each_piece_has_its_card_and_its_code(size):
    pdf = cards(*wedding(), size=size)
    assert papers.codes(pdf) == [[ADDRESS]] * 3
    assert [text.split()[:4] for text in papers.texts(pdf)] == [
        [str(place), "of", "3", "26-0143" if place > 1 else "Fitting"] for place in (1, 2, 3)
    ]


@pytest.mark.parametrize("size", CARDS)
def test_the_hole_is_five_millimetres_from_the_edge_with_room_for_a_ring(size):
    """Nothing is printed above it, nor within 3 mm of it: a ring of 12 mm lies flat. The first card
    of a sheet begins where its marks are, 13 mm from the left and 21.5 mm from the top of A4."""
    (hole_left, hole_right) = (-3, 3)
    left, top = (13, 21.5) if size == "A4" else (0, 0)
    page = paper.PAGES["quarter" if size == "A4" else size]
    pdf, middle = cards(*wedding(), size=size), left + page.width / 2
    box = (middle + hole_left - 2.9, top + 0.5, middle + hole_right + 2.9, top + 11 + 2.9)
    assert papers.inked(pdf, 0, box) == pytest.approx(
        (middle + hole_left, top + 5, middle + hole_right, top + 11), abs=0.3
    )


def test_a_letter_is_read_aloud_as_a_piece_and_a_surname_stands_where_it_is_wanted():
    plain = papers.text(cards(a_piece()))
    assert "26-0143 piece A" in plain
    assert "Tuohy" not in plain
    context = ticket_facts(agreed(a_piece()), address=ADDRESS, figures=False)
    named = papers.text(paper.write(tags(context, page="A6", named=True), title="Tags"))
    assert "piece A Tuohy Fri 4 Dec" in named
    assert "Maeve" not in named


def test_a_card_says_what_the_bench_has_to_know():
    dress, trousers, coat = papers.texts(cards(*wedding()))
    for words in (
        "Fitting first",
        "26-0143 piece A",
        "Fri 4 Dec, 17:00 wanted Sat 5 Dec",
        "Evening dress, bottle green long, boat neck",
        "Heel 7 cm · With it: belt, shoes",
        "1. fitting Take in side seams, take off 2 cm, each side [lined]",
        "2. fitting Hem, blind stitch, take off 4.5 cm, total [lined] (keep the original edge)",
    ):
        assert words in dress
    assert "itting" not in trousers
    assert "1. 4 \N{MULTIPLICATION SIGN} Replace button" in coat


@pytest.mark.parametrize("size", SIZES)
def test_a_card_never_shows_money(size):
    data = agreed(*wedding())
    context = ticket_facts(data, address=ADDRESS)
    text = papers.text(paper.write(tags(context, page=size), title="Tags"))
    prices = {line["price"] for garment in data["garments"] for line in garment["lines"]}
    for price in {*prices, data["gross"], data["deposit"], data["balance"]}:
        assert f"{price / 100:.2f}" not in text
    assert "€" not in text


def test_letters_shrink_before_anything_is_left_out():
    few, many = (
        cards(a_piece(*(a_line(name=f"Operation {n}") for n in range(1, count + 1))), size="A7")
        for count in (2, 8)
    )
    heights = [
        max(
            word["bottom"] - word["top"]
            for word in papers.words(pdf)[0]
            if "Operat" in word["text"]
        )
        for pdf in (few, many)
    ]
    assert heights[0] > heights[1] > 8 * papers.MM_PER_POINT  # never under 8 pt
    assert "8. Operation 8" in papers.text(many)
    assert "work sheet" not in papers.text(many)


@pytest.mark.parametrize("size", SIZES)
def test_what_is_left_out_is_named(size):
    pdf = cards(*heavy(12, 1), size=size)
    (text,) = papers.texts(pdf)
    shown = text.count("shorten the sleeves from the shoulder shorten")
    assert 0 < shown < 12
    assert f"+ {12 - shown} more, see the work sheet" in text


def test_where_only_notes_are_left_out_the_card_still_says_so():
    lines = [a_line(name=f"Operation {n}", note="by hand, " * 20) for n in range(1, 5)]
    (text,) = papers.texts(cards(a_piece(*lines), size="A7"))
    assert "4. Operation 4" in text
    assert "by hand" not in text
    assert text.endswith("See the work sheet")


def test_every_way_to_fit_shows_less_than_the_one_before():
    ways = card_texts(12)
    assert [way.size for way in ways] == sorted(way.size for way in ways)
    assert ways[0].shown == 12
    assert ways[-1].shown == 0
    assert len(set(ways)) == len(ways)


def test_the_first_photograph_is_on_the_card():
    pdf = cards(*wedding(), pictures={"A": code_png("a photograph")})
    pictures = [len(page.images) for page in papers.reader(pdf).pages]
    assert [len(codes) for codes in papers.codes(pdf)] == [2, 1, 1]
    assert pictures[0] >= 1


def test_a_ticket_of_more_than_twenty_six_pieces_has_two_letters():
    pdf = cards(a_piece(letter="AB"), size="A7")
    assert height(pdf, 0, "AB") > 6
    assert papers.codes(pdf) == [[ADDRESS]]
