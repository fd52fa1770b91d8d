"""What the clerks were told against what the book holds, read without the program."""

import re
import sqlite3
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from uuid import UUID

import psycopg

from tests.torture.clerks import Clerk, Deed
from tests.torture.serving import Serve

NUMBERED = {
    "drop-off": "SELECT form_key, number FROM tickets_ticket",
    "payment": "SELECT form_key, number FROM billing_payment",
    "invoice": "SELECT form_key, number FROM billing_invoice",
}
FILES = {
    "photograph": "SELECT file FROM tickets_photo",
    "paper": "SELECT file FROM shop_storedpaper",
}


@dataclass
class Found:
    """What does not hold, in words."""

    lost: list[str] = field(default_factory=list)
    gaps: list[str] = field(default_factory=list)
    twins: list[str] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)

    def add(self, more: "Found") -> None:
        for name, value in vars(more).items():
            getattr(self, name).extend(value)

    @property
    def all(self) -> list[str]:
        return [*self.lost, *self.gaps, *self.twins, *self.wrong]


Ask = Callable[[str], list[tuple[Any, ...]]]


@contextmanager
def reading(serve: Serve) -> Iterator[Ask]:
    """Asks the studio's database; keys of forms are 32 digits on either kind."""
    if serve.url:
        with psycopg.connect(serve.url) as book:
            yield lambda words: [_plain(row) for row in book.execute(words)]
    else:
        with closing(sqlite3.connect(serve.database, timeout=60)) as book:
            yield lambda words: book.execute(words).fetchall()


def _plain(row: tuple[Any, ...]) -> tuple[Any, ...]:
    return tuple(cell.hex if isinstance(cell, UUID) else cell for cell in row)


def soundness(ask: Ask) -> Found:
    """What SQLite's own examination says. PostgreSQL keeps its constraints at every write."""
    found = Found()
    if (says := ask("PRAGMA integrity_check")) != [("ok",)]:
        found.wrong.append(f"integrity_check: {says[:3]}")
    if broken := ask("PRAGMA foreign_key_check"):
        found.wrong.append(f"foreign_key_check: {broken[:3]}")
    return found


def compare(serve: Serve, clerks: Iterable[Clerk]) -> Found:
    """Whether the book holds all that was answered, once each, numbers without gap, files whole."""
    found = Found()
    clerks = list(clerks)
    with reading(serve) as ask:
        if not serve.url:
            found.add(soundness(ask))
        deeds = [deed for clerk in clerks for deed in clerk.ledger]
        for kind, words in NUMBERED.items():
            rows = ask(words)
            _hold(kind, [deed for deed in deeds if deed.kind == kind], rows, found)
        amounts = dict(ask("SELECT form_key, amount FROM billing_payment"))
        found.lost += [
            f"payment {deed.key}: {amounts[_hex(deed)]} instead of {deed.amount}"
            for deed in deeds
            if deed.kind == "payment" and deed.answered
            and amounts.get(_hex(deed), deed.amount) != deed.amount
        ]  # fmt: skip
        _hold_photographs(ask, deeds, found)
        _hold_backups(ask, deeds, serve.data, found)
        found.lost += missing_files(ask, serve.data)
        papers = dict(ask("""SELECT number, file FROM billing_invoice
            JOIN shop_storedpaper ON shop_storedpaper.id = paper_id"""))  # fmt: skip
        for number, body in (paper for clerk in clerks for paper in clerk.papers):
            path = serve.data / "files" / papers.get(number, "")
            if not path.is_file() or path.read_bytes() != body:
                found.lost.append(f"the paper of {number} as it was answered")
    return found


def missing_files(ask: Ask, data: Path) -> list[str]:
    return [
        f"the file of a {kind}: {name}"
        for kind, words in FILES.items()
        for (name,) in ask(words)
        if not (data / "files" / name).is_file()
    ]


def _hex(deed: Deed) -> str:
    return UUID(deed.key).hex


def _hold(kind: str, deeds: list[Deed], rows: list[tuple[str, str]], found: Found) -> None:
    numbers = dict(rows)
    found.twins += [
        f"{kind} {key} stands {times} times"
        for key, times in Counter(key for key, _ in rows if key).items() if times > 1
    ]  # fmt: skip
    found.twins += [
        f"{kind} number {number} stands {times} times"
        for number, times in Counter(number for _, number in rows).items() if times > 1
    ]  # fmt: skip
    for deed in deeds:
        if deed.answered and numbers.get(_hex(deed)) is None:
            found.lost.append(f"{kind} {deed.number or deed.key} ({deed.path})")
        elif deed.answered and deed.number and numbers[_hex(deed)] != deed.number.upper():
            found.twins.append(f"{kind} {deed.number} is now {numbers[_hex(deed)]}")
    series = defaultdict(list)
    for number in numbers.values():
        if hit := re.fullmatch(r"(\D*\d\d)-(\d+)", number):
            series[hit[1]].append(int(hit[2]))
    for head, taken in series.items():
        if missing := set(range(1, max(taken) + 1)) - set(taken):
            found.gaps.append(f"{kind} {head}: {sorted(missing)[:10]} are missing")


def _hold_photographs(ask: Ask, deeds: list[Deed], found: Found) -> None:
    kept = dict(ask("SELECT garment_id, count(*) FROM tickets_photo GROUP BY garment_id"))
    sent = Counter(deed.key for deed in deeds if deed.kind == "photograph")
    answered = Counter(deed.key for deed in deeds if deed.kind == "photograph" and deed.answered)
    for garment, most in sent.items():
        rows = kept.get(int(garment), 0)
        if rows < answered[garment]:
            found.lost.append(f"{answered[garment] - rows} photographs of garment {garment}")
        elif rows > most:
            found.twins.append(f"{rows - most} photographs of garment {garment}")


def _hold_backups(
    ask: Ask, deeds: list[Deed], folder: Path, found: Found
) -> None:  # fmt: skip
    told = sum(deed.kind == "backup" and deed.answered for deed in deeds)
    rows = ask("SELECT name, wrong FROM backup_backup WHERE name <> '' ORDER BY id")
    if len(rows) < told:
        found.lost.append(f"{told - len(rows)} of {told} backups")
    if rows and not (folder / "backups" / rows[-1][0]).is_file():
        found.lost.append(f"the file of the newest backup, {rows[-1][0]}")
    found.wrong += [
        f"backup {name}: {wrong}" for name, wrong in rows if wrong not in ("[]", "", [])
    ]


EXAMINERS = ("sums", "prove", "doctor")


def examine(serve: Serve, examiners: Iterable[str] = EXAMINERS) -> Found:
    """What the program's own examiners say of the book, and whether a copy of it holds."""
    found = Found()
    if serve.manage("backup").returncode:
        found.wrong.append("manage.py backup failed")
    for words in examiners:
        ended = serve.manage(words)
        if ended.returncode:
            found.wrong.append(f"manage.py {words}: {(ended.stdout + ended.stderr)[-600:]}")
    return found
