"""Bars of hours, columns and lines as percentages that SVG attributes take as they are.

A percentage is text with a point, such as ``70.83%``, whatever the language of the page.
"""

from dataclasses import dataclass

WORDS = {
    "clients": "Clients",
    "own": "Own sewing",
    "releases": "Releases",
    "fittings": "Fittings",
    "free": "Free",
    "lost": "Gone by",
    "over": "Does not fit",
}
"""The parts a bar of hours may have, in the order in which they lie; ``over`` is past its end."""


def percent(share: float) -> str:
    return f"{100 * share:.2f}%"


@dataclass(frozen=True)
class Part:
    """A part of a bar: ``kind`` gives its look, ``amount`` its length, ``done`` how much is pale.

    ``shown`` is the amount as the page says it; bars of hours leave it out and get it from minutes.
    """

    kind: str
    amount: float
    words: str = ""
    done: float = 0
    shown: str = ""

    @property
    def name(self) -> str:
        return self.words or WORDS.get(self.kind, self.kind)


@dataclass(frozen=True)
class Piece:
    """A part laid in its place: ``x`` and ``width`` of the bar's length."""

    kind: str
    x: str
    width: str
    done: str


@dataclass(frozen=True)
class Bar:
    """Parts laid end to end on a length of ``size``; without one they fill the bar.

    ``must`` is where the chalk mark stands, ``ticks`` how far the small marks below lie apart.
    """

    parts: list[Part]
    size: float = 0
    must: float = 0
    must_words: str = "Must be sewn today"
    ticks: float = 0
    about: str = ""

    @property
    def length(self) -> float:
        return max(self.size, sum(part.amount for part in self.parts)) or 1

    @property
    def shown(self) -> list[Part]:
        return [part for part in self.parts if part.amount > 0]

    @property
    def pieces(self) -> list[Piece]:
        pieces, at = [], 0.0
        for part in self.shown:
            pieces.append(
                Piece(
                    part.kind,
                    percent(at / self.length),
                    percent(part.amount / self.length),
                    percent(min(part.done, part.amount) / self.length) if part.done else "",
                )
            )
            at += part.amount
        return pieces

    @property
    def chalk(self) -> str:
        return percent(min(self.must / self.length, 1)) if self.must else ""

    @property
    def end(self) -> str:
        """Where the day ends, if there is more than fits."""
        return percent(self.size / self.length) if 0 < self.size < self.length else ""

    @property
    def marks(self) -> list[str]:
        if not self.ticks:
            return []
        return [
            percent(at * self.ticks / self.length)
            for at in range(int(self.length / self.ticks) + 1)
        ]


@dataclass(frozen=True)
class Column:
    """One column of a chart, its parts from the foot up. ``href`` makes its name a link.

    ``mark`` stands below the column instead of its name; ``shown`` is its sum in the table.
    """

    name: str
    parts: list[Part]
    shown: str = ""
    current: bool = False
    href: str = ""
    mark: str | None = None
    closed: bool = False

    @property
    def said(self) -> bool:
        return any(part.amount for part in self.parts)

    @property
    def below(self) -> str:
        return self.name if self.mark is None else self.mark

    @property
    def amount(self) -> float:
        return sum(part.amount for part in self.parts)


@dataclass(frozen=True)
class ColumnBlock:
    kind: str
    x: str
    y: str
    width: str
    height: str


@dataclass(frozen=True)
class Columns:
    """Columns on one scale. ``most`` sets the scale where several charts are to be compared.

    What is below zero hangs below the line. With ``sums`` the table says what each column comes to,
    and leaves out those of which there is nothing to say.
    """

    columns: list[Column]
    most: float = 0
    about: str = ""
    sums: bool = False

    @property
    def _reach(self) -> tuple[float, float]:
        """The largest height above the line, and the largest below it."""
        heights = [[part.amount for part in column.parts] for column in self.columns]
        most = max([self.most, *(sum(a for a in parts if a > 0) for parts in heights)])
        below = max([0.0, *(-sum(a for a in parts if a < 0) for parts in heights)])
        return (most, below) if most or below else (1, 0)

    @property
    def line(self) -> str:
        """Where nothing is, if some column goes below it."""
        most, below = self._reach
        return percent(most / (most + below)) if below else ""

    @property
    def room(self) -> float:
        return 1 / max(len(self.columns), 1)

    @property
    def closed(self) -> list[tuple[str, str]]:
        """Where the columns of closed days stand, and how wide."""
        room = self.room
        return [
            (percent(number * room), percent(room))
            for number, column in enumerate(self.columns)
            if column.closed
        ]

    @property
    def blocks(self) -> list[ColumnBlock]:
        most, below = self._reach
        scale, room = most + below, self.room
        blocks = []
        for number, column in enumerate(self.columns):
            head = foot = most / scale
            for part in column.parts:
                height = abs(part.amount) / scale
                if part.amount > 0:
                    head -= height
                top = head if part.amount > 0 else foot
                if part.amount < 0:
                    foot += height
                if height:
                    blocks.append(
                        ColumnBlock(
                            part.kind,
                            percent((number + 0.08) * room),
                            percent(top),
                            percent(0.84 * room),
                            percent(height),
                        )
                    )
        return blocks

    @property
    def kinds(self) -> list[Part]:
        """The parts that occur, each with its sum."""
        sums: dict[str, Part] = {}
        for column in self.columns:
            for part in column.parts:
                before = sums.get(part.kind)
                sums[part.kind] = Part(
                    part.kind, part.amount + (before.amount if before else 0), part.name
                )
        return list(sums.values())


@dataclass(frozen=True)
class Point:
    """A value on a day (or any number ``at``), as words for the table behind."""

    at: float
    value: float
    name: str
    shown: str


@dataclass(frozen=True)
class Trend:
    """A line through points in their order, drawn on 100 by 100 with a little room around.

    ``marked`` is the place of the point that is meant, if any.
    """

    points: list[Point]
    about: str = ""
    marked: int | None = None

    @property
    def mark(self) -> tuple[str, str] | None:
        return None if self.marked is None else self.spots[self.marked]

    @property
    def spots(self) -> list[tuple[str, str]]:
        if not self.points:
            return []
        ats = [point.at for point in self.points]
        values = [point.value for point in self.points]
        wide, high = (max(ats) - min(ats)) or 1, (max(values) - min(values)) or 1
        single = len(self.points) == 1
        return [
            (
                f"{50.0 if single else 4 + 92 * (point.at - min(ats)) / wide:.2f}",
                f"{50.0 if single else 92 - 84 * (point.value - min(values)) / high:.2f}",
            )
            for point in self.points
        ]

    @property
    def line(self) -> str:
        return " ".join(f"{x},{y}" for x, y in self.spots)
