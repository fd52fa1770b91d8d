"""One word for one thing: words that are gone stand on no page, paper, message or file.

The table of words is the studio's own; common practice for a program with one voice. A text is a
template's words between its tags and what is read out of them, the sentences of the program's
Python, its tables' headings, and what owners read in ``docs``.
"""

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
PYTHON = ("studio", "clients", "jobs", "fixtures")

# What is gone, as a pattern for a whole text (^...$) or a part of one, and what is said instead.
GONE = {
    r"^Keep (it|it so|the \w+|these \w+|this \w+)$": "Save",
    r"^(Write|Note) (it|down|it down)$": "Save",
    r"^Note (it|the \w+)$|^Put it (on the shelf|on the line)\b|Put on the line": "Save",
    r"^Take (it )?off\b|[Tt]aken off the (ticket|list)|[Tt]aken off[.:]": "Remove",
    r"^Write on it$": "Edit",
    r"[Aa]gree anew|Agreed anew": "Save as new version",
    r"[Hh]ere twice": "Merge",
    r"\b[Bb]ring (it|clients|sheets)( \w+)? in\b|was brought in\b": "Import",
    r"^Fetch\b|^Read a\b|^Read the\b": "Import, Export",
    r"\bAs CSV\b|Save as a table": "Export",
    r"\b[Rr]eckon(s|ed|ing)?\b(?!\.py)": "Calculate",
    r"^Read again$": "Refresh",
    r"^Goes on$|\bgoes on: |, or go on$|when it goes on": "Resume",
    r"Will be fetched": "Ready to collect",
    r"^(Ready|Ready on|Promised|Due|due)$|^Ready to be collected": "Ready by, Ready to collect",
    r"^promised( for)?$|\b(is|are) due (by|today)\b": "ready by",
    r"^(Gross|With tax|gross)$|^Price of the work$": "Total",
    r"^(Owed|Balance|Rest|Still to pay|Who owes)\b|^Open in all|\bis still owed": "To pay",
    r"^(Net|net|Net amount|net amount)$": "Without tax",
    r"^Deposit( %)?$": "Deposit asked, Deposit paid",
    r"^must$": "must be sewn today",
    r"[Cc]annot be kept as it stands": "Promises at risk",
    r"what would mend it": "how to fix it",
    r"Stop this login": "Disable login",
    r"[Ii]nitialled\b|[Oo]n the glass|^Wipe it$": "Signed on screen, Clear",
    r"[Ll]ine it up|[Ll]ined up": "Plan next",
    r"^Say more$": "More details",
    r"\bExcites\b|\bexcites (you )?now": "How keen",
    r"[Oo]n a whim": "Made already",
    r"would you be glad": "Do you still want to make this?",
}
# Said on pages; on paper it is a *piece*, with its letter.
ON_PAGES = {r"^[Pp]ieces?\b(?! of)|\bwhich pieces\b": "garment"}
PAPERS = ("/papers/", "jobs/tickets/documents/", "jobs/tickets/verbs.py")

# A word that is gone and yet stands: where, which, and why.
EXCEPTIONS = {
    ("jobs/pricing/models.py", "Take off"): "the measure of a pinned amount",
    ("jobs/tickets/fit/sums/hem.py", "Take off"): "the measure of a pinned amount",
    ("jobs/billing/verbs.py", "net"): "a field of the history",
    ("jobs/billing/verbs.py", "gross"): "a field of the history",
    ("templates/planning/too_much.html", "Promised"): "what was done: so many hours promised",
    ("jobs/planning/core/__init__.py", "Piece"): "a name of the planner, to developers",
    ("jobs/planning/core/day_lists.py", "Piece"): "the same name",
    ("docs/planning-core.md", "are due by"): "the planner's word for a bucket, to developers",
    ("jobs/counter/privacy/actions.py", ""): "sentences of steps that earlier versions wrote down",
    ("jobs/makes/releases/sales_file.py", "net amount"): "a heading of files of earlier versions",
    ("docs/own-sewing.md", "net amount"): "the same heading, told to owners",
}


def words_of_template(text: str) -> Iterator[str]:
    """What is read between the tags, and in the attributes and arguments that are read too."""
    text = re.sub(r"\{#.*?#\}|\{% comment .*?endcomment %\}", "", text, flags=re.DOTALL)
    for argument in re.findall(r"\{% include [^%]*%\}|\|default:\"[^\"]*\"", text):
        yield from re.findall(r'(?:=|default:)"([^"]*)"', argument)
    text = re.sub(r"\{[{%].*?[%}]\}", "\0", text, flags=re.DOTALL)
    for tag in re.findall(r"<[^>]*>", text):
        for value in re.findall(r'(?:aria-label|data-label|title|alt|placeholder)="([^"]*)"', tag):
            yield from value.split("\0")
    for piece in re.split(r"<[^>]*>|\0", text):
        yield " ".join(piece.split()).strip(" ,;·(")


def words_of_python(source: str) -> Iterator[str]:
    """Every text but docstrings, the names in lower case that Python and the database use, and
    patterns of addresses."""
    tree = ast.parse(source)
    prose = {
        id(node.value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    }
    headings = {
        id(cell)
        for node in ast.walk(tree)
        if isinstance(node, ast.Assign | ast.Dict | ast.List | ast.Tuple)
        for cell in _headings(node)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in prose:
            text = node.value.strip()
            if id(node) in headings or re.search(r"[A-Z ]", text):
                yield text


def _headings(node: ast.AST) -> Iterator[ast.expr]:
    """Lists of headings are constants in capitals; their cells are read by people."""
    if isinstance(node, ast.Assign) and isinstance(node.value, ast.List | ast.Tuple):
        names = [target.id for target in node.targets if isinstance(target, ast.Name)]
        if any(name.isupper() for name in names):
            yield from node.value.elts


@cache
def texts() -> list[tuple[str, str]]:
    return list(read_texts())


def read_texts() -> Iterator[tuple[str, str]]:
    for path in sorted((ROOT / "templates").rglob("*.*")):
        for words in words_of_template(path.read_text()):
            yield str(path.relative_to(ROOT)), words
    for folder in PYTHON:
        for path in sorted((ROOT / folder).rglob("*.py")):
            if "migrations" not in path.parts:
                for words in words_of_python(path.read_text()):
                    yield str(path.relative_to(ROOT)), words
    for path in (*sorted((ROOT / "docs").rglob("*.md")), ROOT / "README.md"):
        for line in path.read_text().splitlines():
            yield str(path.relative_to(ROOT)), line
            for marked in re.findall(r"\*+([^*]+)\*+", line):
                yield str(path.relative_to(ROOT)), marked


def gone_words() -> list[str]:
    wrong = []
    for where, words in texts():
        on_paper = any(part in where for part in PAPERS)
        for pattern, instead in (GONE if on_paper else GONE | ON_PAGES).items():
            if hit := re.search(pattern, words):
                spared = any(
                    where == file and (not word or word == hit[0]) for file, word in EXCEPTIONS
                )
                if not spared:
                    wrong.append(f"{where}: {words[:80]!r}, say {instead}")
    return wrong


def test_the_words_that_are_gone_stand_nowhere():
    assert gone_words() == []


@pytest.mark.parametrize(
    ("template", "words"),
    [
        ('<button class="btn">Keep it</button>', "Keep it"),
        ('<td data-label="Net" class="num">{{ x }}</td>', "Net"),
        ("{% if a %}Ready{% else %}by {{ b }}{% endif %}", "Ready"),
        ('{% include "files/_take.html" with button="Bring it in" %}', "Bring it in"),
    ],
)
def test_a_word_is_found_wherever_it_is_read(template, words):
    assert words in list(words_of_template(template))


def test_every_exception_is_needed():
    told = {(where, words) for where, words in texts()}
    for file, word in EXCEPTIONS:
        assert any(where == file and (not word or word in words) for where, words in told), file
