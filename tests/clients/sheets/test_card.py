"""The measurement card, read back from the PDF by others than the program that wrote it."""

import random
from collections.abc import Iterable
from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest
from django.urls import reverse

from clients.fit.changes import Taking
from clients.fit.measures import MEASURES, SIDES
from clients.models import Measured, Sheet
from clients.sheets.documents import SIZES, card_rows, heel_shown
from tests import papers, proofreading
from tests.factories import ClientFactory, MeasuredFactory, OwnMeasureFactory, SheetFactory
from tests.papers_data import EMOJI_NAME, LONG_NAME
from tests.thorough import thinned

# ISO 216 for A5 and A6; half of ANSI/ASME Y14.1 size A, 8.5 x 5.5 in at 25.4 mm.
STANDARD = {"A5": (148.0, 210.0), "A6": (105.0, 148.0), "half-letter": (139.7, 215.9)}
SIXTEENTH = Decimal("1.5875")  # 25.4 mm / 16


@pytest.fixture
def printed(owner_client):
    def get(sheet: Sheet, size: str = "A5") -> bytes:
        with papers.no_complaints():
            response = owner_client.get(reverse("sheet-card", args=[sheet.pk, size.lower()]))
        assert response.headers["Content-Type"] == "application/pdf"
        return response.content

    return get


def a_sheet(**facts) -> Sheet:
    usual = {"client": ClientFactory(name="Maeve Tuohy"), "taken_on": date(2026, 3, 2)}
    return SheetFactory(**usual | facts)


def inches(sixteenths: int) -> str:
    """As a tape is read: 437 are ``27 5/16``."""
    whole, part = divmod(sixteenths, 16)
    rest = Fraction(part, 16)
    return f"{whole} {rest}" if part else f"{whole}"


def fill(sheet: Sheet, sixteenths: list[int]) -> list[str]:
    """The measures one after the other, in inches; returns what was typed."""
    for key, count in zip(MEASURES, sixteenths, strict=False):
        typed = inches(count)
        MeasuredFactory(sheet=sheet, key=key, mm=SIXTEENTH * count, typed=typed, unit="in")
    return [f"{inches(count)} in" for count in sixteenths[: len(MEASURES)]]


def every_pair(sheet: Sheet, keys: Iterable[str]) -> None:
    for measure in map(MEASURES.__getitem__, keys):
        for side in SIDES if measure.sided else ("",):
            MeasuredFactory(
                sheet=sheet, key=measure.key, side=side, mm=Decimal("706.4375"),
                typed="27 13/16", unit="in",
            )  # fmt: skip


CASES = {
    "empty": lambda: a_sheet(waist_at=""),
    "usual": lambda: MeasuredFactory(sheet=a_sheet(worn="bra, slip", heel_typed="7 cm")).sheet,
    "long": lambda: a_sheet(client=ClientFactory(name=LONG_NAME), worn="W" * 200),
    "emoji": lambda: a_sheet(client=ClientFactory(name=EMOJI_NAME), waist_at="midway"),
    "one pair": lambda: MeasuredFactory(sheet=a_sheet(), key="knee", side="left").sheet,
    "pairs": lambda: every_pair(sheet := a_sheet(front_from="nape"), thirty()) or sheet,
    "all": lambda: every_pair(sheet := a_sheet(), MEASURES) or sheet,
}


def thirty() -> list[str]:
    """The measures of a card on which nothing is written yet."""
    return [row.measure.key for row in card_rows(Taking(date(2026, 3, 2), {}))]


def sides(case: str, size: str) -> int:
    """Thirty measures on a side of A5; on A6 22, and the figure on the back with the others."""
    if case == "all":
        return 3 if size == "A6" else 2
    return 2 if size == "A6" else 1


# Each case on one size, what fills a card on several.
USUALLY = {
    ("empty", "A6"), ("usual", "A5"), ("long", "A6"), ("emoji", "half-letter"), ("pairs", "A5"),
    ("one pair", "half-letter"), ("all", "A6"), ("all", "half-letter"),
}  # fmt: skip


@pytest.mark.parametrize(
    ("case", "size"),
    thinned([(case, size) for case in CASES for size in SIZES], USUALLY.__contains__),
)
def test_nothing_is_in_the_margins_or_printed_over(case, size, printed):
    pdf = printed(CASES[case](), size)
    assert papers.margins_broken(pdf, size) == []
    assert papers.printed_over(pdf) == []
    assert proofreading.structure_faults(pdf, usual=case != "emoji") == []
    assert papers.broken_figures(pdf) == []
    assert set(papers.sizes(pdf)) == {STANDARD[size]}
    if case != "long":
        assert len(papers.sizes(pdf)) == sides(case, size)


@pytest.mark.parametrize("size", thinned(SIZES, {"A6"}.__contains__))
def test_it_says_whose_it_is_and_how_it_was_taken(size, printed):
    sheet = a_sheet(
        worn="corset, slip", heel_typed="7", heel_mm=Decimal(70), front_from="neck_side",
        note="Hip operation in May",
    )  # fmt: skip
    pdf = printed(sheet, size)
    text = papers.text(pdf)
    for words in (
        "Larkfield Sewing Room", "Maeve Tuohy", "Mon 2 Mar 2026", "Worn corset, slip",
        "Heel 7 cm", "Waist Where a belt settles", "Front length From the side of the neck",
    ):  # fmt: skip
        assert words in text
    assert "operation" not in text
    assert papers.reader(pdf).metadata.title == "Measurement card Maeve Tuohy"
    assert papers.reader(pdf).trailer["/Root"]["/Lang"] == "en-IE"


def sixteenths() -> list[int]:
    """Every sixteenth from 27 to 28 in, and 40 others between 5 and 80 in."""
    chosen = random.Random(16)  # noqa: S311 -- a sample to test with, no secret
    return [*range(27 * 16, 28 * 16 + 1), *(chosen.randint(80, 1280) for _ in range(40))]


@pytest.mark.parametrize("size", thinned(SIZES, {"A5"}.__contains__))
def test_every_sixteenth_of_an_inch_is_printed_as_it_was_typed(size, printed):
    """The whole inch on every card, the others on one."""
    left = sixteenths()
    assert len(left) == 57
    if size != "A5":
        del left[len(MEASURES) :]
    while left:
        sheet = a_sheet()
        typed = fill(sheet, left)
        assert len(typed) == len(left[: len(MEASURES)])
        text = papers.text(printed(sheet, size))
        rows = zip(MEASURES.values(), typed, left, strict=False)
        for measure, shown, count in rows:
            cm = Fraction(count) * Fraction(254, 1600)  # 2.54 cm / 16
            beside = f"{Decimal(int(cm * 10 + Fraction(1, 2))) / 10:f}".removesuffix(".0")
            assert f"{measure.number} {measure.name} {shown} {beside} cm" in text
        left = left[len(MEASURES) :]


def test_a_value_keeps_the_way_it_was_written(printed):
    """27 3/8 in are 27.375 x 2.54 = 69.5325 cm."""
    sheet = a_sheet()
    written = [
        ("waist", "69,5", "cm", "695", "69,5 cm 27 3/8 in"),
        ("hip", "695 mm", "mm", "695", "695 mm 27 3/8 in"),
        ("bust", "27⅜", "in", "695.325", "27⅜ in 69.5 cm"),
        ("neck", '27-3/8"', "in", "695.325", '27-3/8" 69.5 cm'),
    ]
    for key, typed, unit, mm, _ in written:
        MeasuredFactory(sheet=sheet, key=key, typed=typed, unit=unit, mm=Decimal(mm))
    text = papers.text(printed(sheet))
    for key, *_, shown in written:
        assert f"{MEASURES[key].number} {MEASURES[key].name} {shown}" in text


def test_left_and_right_stand_beside_each_other(printed):
    sheet = a_sheet()
    MeasuredFactory(sheet=sheet, key="thigh", side="left", typed="58", mm=Decimal(580))
    MeasuredFactory(sheet=sheet, key="thigh", side="right", typed="59.5", mm=Decimal(595))
    MeasuredFactory(sheet=sheet, key="calf", side="right", typed="37", mm=Decimal(370))
    pdf = printed(sheet)
    words = papers.words(pdf)[0]
    left = next(word for word in words if word["text"].endswith("58"))
    right = next(word for word in words if word["text"].endswith("59.5"))
    assert abs(left["top"] - right["top"]) < 1
    assert left["x1"] < right["x0"]
    assert f"{MEASURES['thigh'].number} Thigh L 58 cm" in papers.text(pdf)
    assert f"{MEASURES['calf'].number} Calf L R 37 cm" in papers.text(pdf)


@pytest.mark.parametrize("size", thinned(SIZES, {"A6"}.__contains__))
def test_the_owner_s_own_have_blank_rows_and_no_number(size, printed):
    """Thirty rows as ever: what is asked no longer has none, what was taken has its value."""
    OwnMeasureFactory(name="Nape to heel")
    OwnMeasureFactory(name="Ball of the foot", retired_at="2026-03-01T09:00Z")
    taken = OwnMeasureFactory(name="Heel to ball", sided=True)
    sheet = a_sheet()
    MeasuredFactory(sheet=sheet, key=taken.key, own=taken, mm=Decimal(170), typed="17")
    for number in range(9):
        OwnMeasureFactory(name=f"{number}. " + "wide word " * 3)
    pdf = printed(sheet, size)
    text = papers.text(pdf)
    assert "Heel to ball 17 cm" in text
    assert "Nape to heel" in text
    assert "Ball of the foot" not in text
    assert str(taken.as_measure().number) not in text.split()
    assert (papers.margins_broken(pdf, size), papers.printed_over(pdf)) == ([], [])
    assert len(papers.sizes(pdf)) == sides("empty", size)


@pytest.mark.parametrize("size", thinned(SIZES, {"A6"}.__contains__))
def test_the_numbers_of_the_list_are_those_of_the_figure(size, printed):
    """Each number is printed twice: before its measure and on the figure."""
    pages = papers.words(printed(CASES["empty"](), size))
    printed_words = [word["text"] for page in pages for word in page]
    numbers = {MEASURES[key].number for key in thirty()}
    assert len(numbers) == 30
    for number in range(3, len(MEASURES) + 1):  # 1 and 2 are in the date and the foot too
        assert printed_words.count(str(number)) == (2 if number in numbers else 0), number


def test_the_figure_is_told_to_listeners(printed):
    pdf = printed(a_sheet())
    assert [words.split(",")[0] for words in _alternatives(pdf)] == [
        "A standing figure seen from the front", "A standing figure seen from behind",
    ]  # fmt: skip


def _alternatives(pdf: bytes) -> list[str]:
    """The /Alt of every figure in the order of the file: ISO 32000-1, 14.9.3."""
    alternatives, waiting = [], [papers.reader(pdf).trailer["/Root"]["/StructTreeRoot"]]
    while waiting:
        element = waiting.pop().get_object()
        if isinstance(element, dict):
            alternatives += [element["/Alt"]] if "/Alt" in element else []
            kids = element.get("/K", [])
            waiting += reversed(kids if isinstance(kids, list) else [kids])
    return alternatives


def test_a_size_there_is_no_card_for_is_not_found(owner_client):
    address = reverse("sheet-card", args=[a_sheet().pk, "a3"])
    assert owner_client.get(address).status_code == 404
    assert owner_client.get(reverse("sheet-card", args=[0, "a5"])).status_code == 404


@pytest.mark.parametrize(
    ("typed", "mm", "shown"),
    [
        ("7", "70", "7 cm"),
        ("2 3/4", "69.85", "2 3/4 in"),
        ("0", "0", "0 cm"),
        ("7 cm", "70", "7 cm"),
    ],
)
def test_a_heel_says_its_unit(typed, mm, shown):
    assert heel_shown(Sheet(heel_typed=typed, heel_mm=Decimal(mm))) == shown


def test_a_card_takes_few_queries(owner_client, django_assert_num_queries):
    sheets = [a_sheet() for _ in range(2)]
    fill(sheets[0], [432])
    fill(sheets[1], [432, 433, 434])
    for sheet in sheets:
        with django_assert_num_queries(6):
            owner_client.get(reverse("sheet-card", args=[sheet.pk, "a6"]))
    assert Measured.objects.count() == 4
