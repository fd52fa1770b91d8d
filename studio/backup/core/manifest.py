"""What a copy of the studio says of itself, and how two such accounts differ."""

import json
import re
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from decimal import Decimal
from itertools import islice
from typing import Any

FORMAT = 1
MOST_GAPS = 20
"""Gaps of one series that are told by name."""

NUMBER = re.compile(r"(.*?)(\d+)", re.ASCII)
MONEY_TYPES = ("bigint", "decimal", "numeric")

Read = Callable[[str], Iterable[Sequence[Any]]]


class BackupError(Exception):
    """There is no copy, or it does not hold what it says; the message is a sentence to show."""


@dataclass(frozen=True)
class TableFigures:
    """How many rows a table has, and the exact sum of each column that may be money.

    Sums are plain decimals as text: minor units for money, as the column holds them.
    """

    rows: int
    sums: dict[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Series:
    """The numbers with one beginning: ``26-0001`` to ``26-0180`` begin with ``26-``."""

    table: str
    start: str
    first: str
    last: str
    count: int
    gaps: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Figures:
    """What can be counted in a database, whichever it is."""

    tables: dict[str, TableFigures]
    numbers: list[Series]


@dataclass(frozen=True)
class Manifest:
    """All that a copy holds. ``files`` are SHA-256 digests by the file's name in the archive.

    ``names`` are columns that name a stored file, ``papers`` the columns of such a name and of the
    digest that the database itself keeps of it.
    """

    program: str
    database: str
    moment: str
    migrations: list[str]
    figures: Figures
    files: dict[str, str] = field(default_factory=dict)
    names: list[tuple[str, str]] = field(default_factory=list)
    papers: list[tuple[str, str, str]] = field(default_factory=list)
    format: int = FORMAT

    def to_json(self) -> str:
        return json.dumps(asdict(self), indent=1, ensure_ascii=False, sort_keys=True)

    @classmethod
    def from_json(cls, text: str | bytes) -> "Manifest":
        """Raises BackupError where this program cannot understand it."""
        try:
            facts = json.loads(text)
            if facts["format"] != FORMAT:
                raise BackupError(f"A newer program wrote this copy (format {facts['format']}).")
            figures = Figures(
                {name: TableFigures(**each) for name, each in facts["figures"]["tables"].items()},
                [Series(**each) for each in facts["figures"]["numbers"]],
            )
            names = [(table, column) for table, column in facts["names"]]
            papers = [(table, name, digest) for table, name, digest in facts["papers"]]
            return cls(**facts | {"figures": figures, "names": names, "papers": papers})
        except (KeyError, TypeError, ValueError, AttributeError) as error:
            raise BackupError("What the copy says of itself cannot be read.") from error


def read_figures(read: Read, columns: Mapping[str, Mapping[str, str]]) -> Figures:
    """Count a database. ``columns`` are the type of each column, by table; ``read`` runs SQL.

    Each row is added up in Python, so that no database rounds; O(rows).
    """
    tables: dict[str, TableFigures] = {}
    numbers: dict[str, list[str]] = {}
    for table in sorted(columns):
        money = sorted(name for name, kind in columns[table].items() if _may_be_money(name, kind))
        rows, sums = 0, [Decimal(0)] * len(money)
        if money:
            for row in read(f"SELECT {', '.join(map(quoted, money))} FROM {quoted(table)}"):
                rows += 1
                for place, value in enumerate(row):
                    if value is not None:
                        sums[place] += exact(value)
        else:
            rows = next(iter(read(f"SELECT count(*) FROM {quoted(table)}")))[0]
        shown = {name: plain(total) for name, total in zip(money, sums, strict=True)}
        tables[table] = TableFigures(rows, shown)
        if columns[table].get("number", "").startswith(("varchar", "character")):
            numbers[table] = [row[0] for row in read(f"SELECT number FROM {quoted(table)}")]
    # What is missing here may stand elsewhere: a ticket's number on a pad of paper.
    given = {number for table in numbers.values() for number in table}
    series = [each for table in numbers for each in read_series(table, numbers[table], given)]
    return Figures(tables, series)


def _may_be_money(name: str, kind: str) -> bool:
    return kind.lower().startswith(MONEY_TYPES) and name != "id" and not name.endswith("_id")


def quoted(name: str) -> str:
    return '"' + name.replace('"', '""') + '"'


def exact(value: Any) -> Decimal:
    """SQLite keeps a decimal as a binary number; its shortest text is the decimal again."""
    return Decimal(repr(value) if isinstance(value, float) else value)


def plain(total: Decimal) -> str:
    """``25.4`` for 25.4000 of one database and 25.4 of the other."""
    return f"{total.normalize():f}" if total else "0"


def read_series(
    table: str, numbers: Iterable[str], given: Collection[str] = ()
) -> Iterator[Series]:
    """The series that ``numbers`` make up, by their beginnings; what ends in no digit is none.

    A gap is a number between the first and the last that is not ``given`` anywhere.
    """
    series: dict[str, dict[int, str]] = {}
    for number in numbers:
        if match := NUMBER.fullmatch(number):
            series.setdefault(match[1], {})[int(match[2])] = number
    for start, found in sorted(series.items()):
        lowest, highest = min(found), max(found)
        width = len(found[lowest]) - len(start)
        missing: list[str] = []
        if highest - lowest + 1 > len(found):
            absent = (f"{start}{value:0{width}d}" for value in range(lowest, highest)
                      if value not in found)  # fmt: skip
            missing = list(islice((number for number in absent if number not in given), MOST_GAPS))
        yield Series(table, start, found[lowest], found[highest], len(found), missing)


def differences(kept: Figures, found: Figures) -> list[str]:
    """Sentences on where ``found`` is another than ``kept``; none where all is equal."""
    wrong = []
    for table in sorted(kept.tables.keys() | found.tables.keys()):
        before, after = kept.tables.get(table), found.tables.get(table)
        if before is None or after is None:
            wrong.append(
                f"{table} is {'not in the copy' if after is None else 'only in the copy'}."
            )
        elif before.rows != after.rows:
            wrong.append(f"{table} has {after.rows} rows in the copy instead of {before.rows}.")
        elif before.sums != after.sums:
            names = [name for name in before.sums if before.sums[name] != after.sums.get(name)]
            wrong.append(f"{table} adds up to something else in {', '.join(names)}.")
    if not wrong and kept.numbers != found.numbers:
        wrong.append("The numbers of tickets, invoices or receipts are others in the copy.")
    return wrong


def gaps(figures: Figures, said: Iterable[str] = ()) -> list[str]:
    """Sentences on the numbers that are missing, but for those that others ``said`` already."""
    known = set(re.findall(r"[\w-]+", " ".join(said)))
    missing = (
        (series.table, [number for number in series.gaps if number not in known])
        for series in figures.numbers
    )
    return [
        f"{table}: number {', '.join(numbers)} is not there."
        for table, numbers in missing
        if numbers
    ]
