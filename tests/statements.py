"""Which statements of the program no test puts to PostgreSQL, and which tests would.

A plugin of pytest (``make statements``): on SQLite it notes what each test has the program send,
and tells in the end what only tests send that are not marked ``postgres``. What every database
answers alike is left out: rows of one table by values of their columns, columns that are given
values, and such conditions within other statements.
"""

import re
import sys
from collections.abc import Collection, Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from django.db.backends.utils import CursorWrapper

HOUSE = Path(__file__).parents[1]
PROGRAM = tuple(f"{HOUSE / floor}/" for floor in ("studio", "clients", "jobs", "fixtures"))

COLUMN = r'\w*"?\w+"?\."\w+"'
ALIKE = [
    (re.compile(pattern), words)
    for pattern, words in (
        (r"\s+", " "),
        (r"\b(LIMIT|OFFSET) \d+", ""),
        (r"(= |\(|, )NULL\b", r"\1%s"),
        (r"%s(, %s)+", "%s"),
        (r"(\(%s\))(, \1)+", r"\1"),
        (rf"({COLUMN})(, {COLUMN})+(?! (?:ASC|DESC))", "COLUMNS"),
    )
]
CONDITIONS = [
    (re.compile(pattern), "TRUE")
    for pattern in (
        rf"{COLUMN} (?:= (?:%s|\(%s\)|\(?{COLUMN}\)?)|IN \(%s\)|IS NULL|IS NOT NULL)",
        rf"(?<=[( ])(?<!BY )(?<!SELECT ){COLUMN}(?= AND|\)(?! AS)|$)",  # a yes or no by itself
    )
]
AGAIN = [
    (re.compile(pattern), words)
    for pattern, words in (
        (r"NOT +TRUE|\(TRUE\)|TRUE (?:AND|OR) TRUE", "TRUE"),
        (r"TRUE AND | AND TRUE\b", " "),
        (r"\( ", "("),
        (r" \)", ")"),
        (r"(WHEN (?:\([^()]*\)|[^()]*?) THEN (?:CAST\(%s AS [a-z ]+\)|%s) ?)\1+", r"\1"),
        (r"(\([^()]*\)) (?:OR|AND) \1(?! THEN)", r"\1"),
    )
]
WORK = re.compile(r"\s*(SELECT|INSERT|UPDATE|DELETE|WITH|\()")
ASKED = rf'COLUMNS|{COLUMN}(?: AS "\w+")?|%s AS "a"|COUNT\(\*\) AS "__count"|\*'
BY_KEY = r'(?: ORDER BY (?:"\w+"\."id"|1) (?:ASC|DESC))?'
PLAIN = [
    re.compile(pattern)
    for pattern in (
        rf'(?:SELECT (?:DISTINCT )?(?:{ASKED})|DELETE) FROM "\w+"{BY_KEY}',  # noqa: S608 -- no statement
        r'UPDATE "\w+" SET (?:"\w+" = %s(?:, )?)+',
    )
]


@cache
def shape(statement: str) -> str:
    """What a database could answer in its own way; empty where there is nothing."""
    if not WORK.match(statement):
        return ""
    for pattern, words in ALIKE:
        statement = pattern.sub(words, statement.strip())
    head, where, conditions = statement.partition(" WHERE ")
    for pattern, words in CONDITIONS if where else ():
        conditions = pattern.sub(words, conditions)
    statement, before = head + where + conditions, ""
    while statement != before:
        before = statement
        for pattern, words in AGAIN:
            statement = pattern.sub(words, statement)
    statement = statement.replace(" WHERE TRUE", "").strip()
    return "" if any(plain.fullmatch(statement) for plain in PLAIN) else statement


def by_the_program() -> bool:
    """Whether who asks is the program, and not a test that looks what became of it."""
    frame = sys._getframe(2)
    while frame:
        if frame.f_code.co_filename.startswith(PROGRAM):
            return "/migrations/" not in frame.f_code.co_filename
        frame = frame.f_back
    return False


class Statements:
    """The shapes by the tests that have them sent."""

    def __init__(self) -> None:
        self.now: set[str] = set()
        self.sent: dict[str, tuple[bool, list[str]]] = {}

    def listen(self, name: str) -> None:
        send = getattr(CursorWrapper, name)

        def heard(cursor: CursorWrapper, sql: str, params: Any, *more: Any) -> Any:
            asked = shape(sql)
            if asked and asked not in self.now and by_the_program():
                self.now.add(asked)
            return send(cursor, sql, params, *more)

        setattr(CursorWrapper, name, heard)

    @pytest.hookimpl(wrapper=True, tryfirst=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        self.now.clear()
        answer = yield
        self.sent[item.nodeid] = bool(item.get_closest_marker("postgres")), sorted(self.now)
        return answer

    def pytest_sessionfinish(self, session: pytest.Session) -> None:
        if hasattr(session.config, "workeroutput"):
            session.config.workeroutput["statements"] = self.sent

    @pytest.hookimpl(optionalhook=True)
    def pytest_testnodedown(self, node: Any) -> None:
        self.sent |= node.workeroutput["statements"]

    def pytest_terminal_summary(self, terminalreporter: pytest.TerminalReporter) -> None:
        put = {each for marked, shapes in self.sent.values() if marked for each in shapes}
        terminalreporter.section("statements")
        terminalreporter.line(f"{len(put)} kinds are put to PostgreSQL.")
        missing = {each for _, shapes in self.sent.values() for each in shapes} - put
        terminalreporter.line(f"{len(missing)} are not, until these tests are marked postgres:")
        tests = {test: set(shapes) & missing for test, (_, shapes) in self.sent.items()}
        for test, shapes in fewest(tests, missing):
            terminalreporter.line(test)
            for each in sorted(shapes):
                terminalreporter.line(f"    {each}")


def fewest(tests: dict[str, set[str]], missing: Collection[str]) -> Iterator[tuple[str, set[str]]]:
    """Tests that send all that is missing, always the one that sends most of what is left."""
    left = set(missing)
    while left:
        test = max(tests, key=lambda each: len(tests[each] & left))
        yield test, tests[test] & left
        left -= tests[test]


def pytest_configure(config: pytest.Config) -> None:
    statements = Statements()
    for name in ("_execute", "_executemany"):
        statements.listen(name)
    config.pluginmanager.register(statements)
