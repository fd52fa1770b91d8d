"""Bars and charts as percentages, reckoned by hand."""

from studio.shop.look.bars import Bar, Column, Columns, Part, Point, Trend


def test_parts_lie_end_to_end_and_keep_their_share():
    bar = Bar([Part("clients", 90, done=30), Part("own", 0), Part("fittings", 30)], size=180)
    assert [(piece.kind, piece.x, piece.width, piece.done) for piece in bar.pieces] == [
        ("clients", "0.00%", "50.00%", "16.67%"),
        ("fittings", "50.00%", "16.67%", ""),
    ]
    assert (bar.end, bar.chalk, bar.marks) == ("", "", [])


def test_more_than_fits_lies_beyond_the_end():
    bar = Bar([Part("clients", 300), Part("over", 100)], size=300, must=200, ticks=100)
    assert (bar.end, bar.chalk) == ("75.00%", "50.00%")
    assert bar.marks == ["0.00%", "25.00%", "50.00%", "75.00%", "100.00%"]


def test_a_bar_of_nothing_is_no_bar():
    bar = Bar([Part("clients", 0)])
    assert (bar.pieces, bar.shown, bar.end, bar.chalk) == ([], [], "", "")


def test_columns_stand_on_one_scale():
    days = [
        Column("Mon", [Part("clients", 60), Part("own", 20)]),
        Column("Tue", [Part("clients", 40)]),
    ]
    chart = Columns(days)
    assert [(block.y, block.height) for block in chart.blocks] == [
        ("25.00%", "75.00%"),
        ("0.00%", "25.00%"),
        ("50.00%", "50.00%"),
    ]
    assert [block.x for block in chart.blocks] == ["4.00%", "4.00%", "54.00%"]
    assert [(part.kind, part.amount) for part in chart.kinds] == [("clients", 100), ("own", 20)]
    assert Columns(days, most=160).blocks[0].height == "37.50%"
    assert Columns([]).blocks == []


def test_what_is_below_zero_hangs_below_the_line():
    """30 above and 10 below: the line stands at three quarters, each block at its share of 40."""
    chart = Columns([Column("Mon", [Part("coin-1", 30), Part("coin-2", -10)]), Column("Tue", [])])
    assert chart.line == "75.00%"
    assert [(block.y, block.height) for block in chart.blocks] == [
        ("0.00%", "75.00%"), ("75.00%", "25.00%"),
    ]  # fmt: skip
    assert [column.said for column in chart.columns] == [True, False]


def test_a_line_runs_from_its_least_to_its_most():
    points = [Point(0, 70, "March", "70 cm"), Point(10, 80, "May", "80 cm"), Point(5, 75, "", "")]
    assert Trend(points).line == "4.00,92.00 96.00,8.00 50.00,50.00"
    assert Trend([Point(3, 70, "March", "70 cm")]).line == "50.00,50.00"
    assert Trend([]).line == ""
