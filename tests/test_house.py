"""Rules of the house that no single room can see."""

import ast
import os
import re
import subprocess
import sys
import tomllib
from collections import Counter
from functools import cache
from html.parser import HTMLParser
from itertools import chain
from pathlib import Path

import pytest
from django.core.management import call_command

ROOT = Path(__file__).resolve().parent.parent
LONGEST = 600
FLOORS = ("studio", "clients", "jobs", "fixtures")
MOST_SHARED_NAMES = 6
# Put together here, so that this file itself holds none of them.
REGISTRIES = [
    name.replace("-dot-", ".")
    for name in ("pypi-dot-org", "pythonhosted-dot-org", "registry-dot-npmjs-dot-org")
]


@cache
def committed() -> list[Path]:
    """The files of the repository that are there, but for pictures and fonts."""
    names = subprocess.run(
        ["git", "-c", "safe.directory=*", "ls-files", "-z"],
        cwd=ROOT,
        check=True,
        capture_output=True,
        text=True,
    ).stdout.split("\0")
    paths = [ROOT / name for name in names if name]
    return [path for path in paths if path.is_file() and b"\0" not in path.read_bytes()]


def written(*suffixes: str) -> dict[str, int]:
    """Lines of each file that a person writes and reads, by its path."""
    return {
        str(path.relative_to(ROOT)): len(path.read_text().splitlines())
        for path in committed()
        if path.suffix in suffixes and "migrations" not in path.parts
    }


@pytest.mark.django_db
def test_no_migration_is_missing():
    call_command("makemigrations", check=True, dry_run=True, verbosity=1)


def test_no_file_is_long():
    lines = written(".py", ".html", ".css", ".js", ".md")
    assert {path: count for path, count in lines.items() if count > LONGEST} == {}


def class_names() -> Counter[tuple[str, str]]:
    """How often each room of the program has a class of each name; Django demands ``Command``."""
    return Counter(
        ("/".join(parts[: 1 + (parts[0] == "jobs")]), node.name)
        for path in written(".py")
        if (parts := Path(path).parts)[0] in FLOORS
        for node in ast.parse((ROOT / path).read_text()).body
        if isinstance(node, ast.ClassDef) and node.name != "Command"
    )


def test_a_class_name_means_one_thing():
    names = class_names()
    assert len(names) > 300
    assert {room_and_name: count for room_and_name, count in names.items() if count > 1} == {}
    house = Counter(name for _, name in names)
    shared = sorted(name for name, rooms in house.items() if rooms > 1)
    assert len(shared) <= MOST_SHARED_NAMES, shared


def test_no_committed_file_carries_the_address_of_a_registry():
    carrying = [
        (str(path.relative_to(ROOT)), name)
        for path in committed()
        for name in REGISTRIES
        if name in path.read_text()
    ]
    assert carrying == []


class Inline(HTMLParser):
    """Collects what a strict content policy would refuse."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        names = {name for name, _ in attrs}
        if tag == "style" or (tag == "script" and "src" not in names):
            self.found.append(f"line {self.getpos()[0]}: <{tag}>")
        self.found.extend(
            f"line {self.getpos()[0]}: {name}= on <{tag}>"
            for name, value in attrs
            if name == "style"
            or re.match(r"(on|hx-on)", name)
            or (value or "").strip().lower().startswith("javascript:")
        )


def test_no_template_holds_anything_inline():
    found = []
    for page in sorted((ROOT / "templates").rglob("*.html")):
        inline = Inline()
        inline.feed(page.read_text())
        found += [f"{page.relative_to(ROOT)}, {where}" for where in inline.found]
    assert found == []


@pytest.mark.parametrize(
    "page",
    [
        '<p style="color: red">',
        '<a onclick="go()">',
        "<script>go()</script>",
        "<style>p {}</style>",
        '<a href="javascript:go()">',
        '<p hx-on:click="go()">',
    ],
)
def test_the_parser_sees_what_is_inline(page):
    inline = Inline()
    inline.feed(page)
    assert len(inline.found) == 1


def docs() -> str:
    pages = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *(ROOT / "docs").rglob("*.md")]
    return "\n".join(page.read_text() for page in pages)


def test_the_docs_name_every_target_of_make():
    targets = re.findall(r"^([a-z-]+):.*## ", (ROOT / "Makefile").read_text(), re.MULTILINE)
    assert len(targets) > 5
    assert [target for target in targets if f"make {target}" not in docs()] == []


def test_the_docs_name_every_setting():
    code = "\n".join(path.read_text() for path in (ROOT / "studio").rglob("*.py"))
    settings = set(re.findall(r'"(STUDIO_[A-Z_]+|DATABASE_URL)"', code))
    assert len(settings) > 5
    assert [setting for setting in sorted(settings) if f"`{setting}`" not in docs()] == []


def test_the_docs_give_a_reason_for_every_dependency():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    asked = [*chain(project["dependencies"], *project["optional-dependencies"].values())]
    names = {re.split(r"[\[<>=~! ]", one)[0] for one in asked}
    page = (ROOT / "docs" / "dependencies.md").read_text()
    assert [name for name in sorted(names) if f"| `{name}` |" not in page] == []


def test_torture_begins_without_the_settings_of_the_tests():
    """It looks at a studio from outside, so nothing that it loads may ask for the models."""
    bare = {name: value for name, value in os.environ.items() if name != "DJANGO_SETTINGS_MODULE"}
    command = [sys.executable, "-c", "import tests.torture.__main__"]
    began = subprocess.run(
        command, cwd=ROOT, env=bare, check=False, capture_output=True, text=True
    )  # fmt: skip
    assert began.returncode == 0, began.stderr[-600:]
