"""What every scene has: a studio of its own, its clerks, and the line of the table it ends in."""

import contextlib
import os
import threading
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import psycopg

from tests.torture.book import EXAMINERS, Found, compare, examine
from tests.torture.clerks import Clerk
from tests.torture.fill import clerk_name
from tests.torture.serving import Serve

SEED = int(os.environ.get("SEED", "1"))
KILLS = int(os.environ.get("KILLS", "200"))
SECONDS = int(os.environ.get("SECONDS", "60"))
PORT = int(os.environ.get("PORT", "8167"))
REQUESTS = int(os.environ.get("REQUESTS", "20000"))
CLERKS = 4
CROWD = 8
MOST_SECONDS, MOST_MEMORY = 5.0, 600.0
ENOUGH = threading.Event()
"""Set by Ctrl-C: kills and fuzz stop where they are, and say what they bore until then."""


@dataclass(frozen=True)
class Place:
    """Where a scene is played; ``server`` is the address of a PostgreSQL server, if on one."""

    folder: Path
    server: str = ""

    @property
    def suffix(self) -> str:
        return ", PostgreSQL" if self.server else ""


@dataclass
class Line:
    """A line of the table: ``times`` how often; ``broken`` pages of 500 and above."""

    what: str
    times: int = 0
    answered: int = 0
    found: Found = field(default_factory=Found)
    broken: list[str] = field(default_factory=list)
    slowest: tuple[float, str] = (0.0, "")
    peak: float = 0.0
    notes: list[str] = field(default_factory=list)
    patience: float = MOST_SECONDS
    may_say: tuple[str, ...] = ()

    def take(self, clerk: Clerk) -> None:
        self.answered += sum(deed.answered for deed in clerk.ledger)
        self.broken += [
            page for page in clerk.browser.broken_pages if not page.startswith(self.may_say)
        ]
        self.slowest = max(self.slowest, clerk.browser.slowest)
        self.notes += clerk.refused

    @property
    def fails(self) -> list[str]:
        faults = [*self.found.all, *self.broken]
        if self.slowest[0] > self.patience:
            faults.append(f"{self.slowest[1]} took {self.slowest[0]:.1f} s")
        if self.peak > MOST_MEMORY:
            faults.append(f"{self.peak:.0f} MB")
        return faults


def studio(place: Place, clerks: int, **extra: str) -> Serve:
    """A small one, filled; on a PostgreSQL server in a database named like the scene's folder."""
    place.folder.mkdir(exist_ok=True)
    url = ""
    if place.server:
        name = place.folder.name.replace("-", "_")
        with psycopg.connect(f"{place.server}/postgres", autocommit=True) as server:
            server.execute(f"CREATE DATABASE {name}")
        url = f"{place.server}/{name}"
    serve = Serve(place.folder, PORT, url, **extra)
    filled = serve.run("-m", "tests.torture.fill", str(clerks))
    if filled.returncode:
        raise RuntimeError(filled.stderr)
    return serve


def crew(size: int) -> list[Clerk]:
    return [Clerk(clerk_name(place), PORT, f"{SEED} {place}") for place in range(size)]


@contextlib.contextmanager
def judged(
    line: Line, serve: Serve, clerks: list[Clerk], examiners: Iterable[str] = EXAMINERS
) -> Iterator[None]:
    """The book is compared with what ``clerks`` were answered in it; then the server goes."""
    try:
        yield
        line.found.add(compare(serve, clerks))
        line.found.add(examine(serve, examiners))
    finally:
        serve.kill()
    for clerk in clerks:
        line.take(clerk)
    line.peak = serve.peak


def open_for(serve: Serve, clerks: list[Clerk]) -> None:
    """The server starts, and the clerks come in."""
    serve.start()
    for clerk in clerks:
        clerk.browser.port = serve.port
        clerk.come_in()
