"""The size of a pattern that is nearest to a body."""

from decimal import Decimal

import pytest

from clients.fit.handbook import table
from clients.fit.lengths import LengthError
from clients.fit.measures import bust_size
from clients.fit.sizes import LOWER, UPPER, nearest_size, read_girths, sizes_of_rows
from tests.rows import each_row


def sizes(**rows: str):
    """Sizes 36, 38, 40 … with a row of girths in cm for each measure."""
    columns = {key: row.split() for key, row in rows.items()}
    count = len(next(iter(columns.values())))
    return sizes_of_rows(
        {"size": str(36 + 2 * n)} | {key: f"{column[n]} cm" for key, column in columns.items()}
        for n in range(count)
    )


def body(**cm: str) -> dict[str, Decimal]:
    return {key: Decimal(value) * 10 for key, value in cm.items()}


def test_nearest_by_the_bust_is_the_size_of_the_standard():
    """Every millimetre of the twelve intervals of EN 13402-3: their limits lie half-way."""
    codes = [row["size"] for row in table("bust_intervals")]
    chart = sizes_of_rows({"size": code, "bust": f"{code} cm"} for code in codes)
    for mm in range(740, 1310):
        nearest = nearest_size({"bust": Decimal(mm)}, chart)
        assert nearest is not None
        assert nearest.name == str(bust_size(Decimal(mm)))


TABLE = sizes(bust="84 88 92 96", waist="66 70 74 78", hip="90 94 98 102")


# By hand from the table above. From 5 cm between bust and high bust the high bust chooses (Texas
# extension service, "Principles of Pattern Alteration"); a skirt is chosen by the hip (common
# practice); half a centimetre is the tape's (common practice).
@each_row(
    ("girths", "first", "told"),
    [
        (body(bust="92", waist="76", hip="97.5"), UPPER, ("40", "bust", {"waist": 20})),
        (body(bust="90"), UPPER, ("40", "bust", {"bust": -20})),
        (body(bust="97", high_bust="92"), UPPER, ("40", "high_bust", {"bust": 50})),
        (body(bust="96.9", high_bust="92"), UPPER, ("42", "bust", {"bust": 9})),
        (body(bust="84", waist="74", hip="98"), LOWER, ("40", "hip", {})),
        (body(waist="71"), LOWER, ("38", "waist", {"waist": 10})),
        (body(bust="108", hip="98"), UPPER, ("42", "bust", {"bust": 120, "hip": -40})),
        (body(high_bust="88"), UPPER, None),
        ({}, UPPER, None),
    ],
)
def test_what_is_nearest_and_what_is_to_be_altered(girths, first, told):
    nearest = nearest_size(girths, TABLE, first)
    assert (nearest and (nearest.name, nearest.by, dict(nearest.more))) == told


@each_row(
    ("row", "unit", "read"),
    [
        ("80 84 88", "cm", ["80 cm", "84 cm", "88 cm"]),
        ("80,5, 84; 88.5", "cm", ["80,5 cm", "84 cm", "88.5 cm"]),
        ("31 1/2 33 34½", "in", ["31 1/2 in", "33 in", "34½ in"]),
        ('31-1/2" 84 cm', "cm", ['31-1/2"', "84 cm"]),
        ("", "cm", []),
    ],
)
def test_a_row_of_the_envelope(row, unit, read):
    assert read_girths(row, unit) == read


@each_row("row", ["80 large", "84 80", "80 -4", "80 0"])
def test_what_is_no_row_of_girths_is_refused(row):
    with pytest.raises(LengthError):
        read_girths(row, "cm")
