"""Torture a studio, by dice of SEED, and say in one table what it bore.

``python -m tests.torture [SCENE ...]``; SEED, KILLS, SECONDS and PORT come from the environment.
"""

import contextlib
import os
import shutil
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from tests.jobs.planning.core.books import dice
from tests.torture.book import Found, compare, examine
from tests.torture.clerks import BROKEN, Clerk
from tests.torture.fill import clerk_name
from tests.torture.serving import Serve

SEED = int(os.environ.get("SEED", "1"))
KILLS = int(os.environ.get("KILLS", "200"))
SECONDS = int(os.environ.get("SECONDS", "60"))
PORT = int(os.environ.get("PORT", "8167"))
CLERKS = 4
EXAMINED_EVERY = 20
MOST_SECONDS, MOST_MEMORY = 5.0, 600.0


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

    def take(self, clerk: Clerk) -> None:
        self.answered += sum(deed.answered for deed in clerk.ledger)
        self.broken += clerk.browser.broken_pages
        self.slowest = max(self.slowest, clerk.browser.slowest)
        self.notes += clerk.refused

    @property
    def fails(self) -> list[str]:
        faults = [*self.found.all, *self.broken]
        if self.slowest[0] > MOST_SECONDS:
            faults.append(f"{self.slowest[1]} took {self.slowest[0]:.1f} s")
        if self.peak > MOST_MEMORY:
            faults.append(f"{self.peak:.0f} MB")
        return faults


def studio(folder: Path, clerks: int, **extra: str) -> Serve:
    serve = Serve(folder, PORT, **extra)
    folder.mkdir()
    filled = serve.run("-m", "tests.torture.fill", str(clerks))
    if filled.returncode:
        raise RuntimeError(filled.stderr)
    return serve


def kills(folder: Path) -> Line:
    """The plug is pulled at a random moment, again and again."""
    line, rng = Line("killed by SIGKILL"), dice(f"{SEED} kills")
    serve = studio(folder, CLERKS)
    clerks = [Clerk(clerk_name(place), PORT, f"{SEED} {place}") for place in range(CLERKS)]
    clerks[0].backs_up = True
    try:
        for _ in range(KILLS):
            serve.start()
            line.found.add(compare(serve, clerks))
            threads = [threading.Thread(target=_until_killed, args=(clerk,)) for clerk in clerks]
            for clerk, thread in zip(clerks, threads, strict=True):
                clerk.browser.port = serve.port
                thread.start()
            time.sleep(rng.uniform(0.2, 6))
            serve.kill()
            for thread in threads:
                thread.join()
            line.times += 1
            if line.times % EXAMINED_EVERY == 0:
                line.found.add(examine(serve))
            if line.found.all:
                break
        serve.start()
        for clerk in clerks:
            clerk.work(0)
        line.found.add(compare(serve, clerks))
        line.found.add(examine(serve))
    finally:
        serve.kill()
    for clerk in clerks:
        line.take(clerk)
    line.peak = serve.peak
    return line


def _until_killed(clerk: Clerk) -> None:
    with contextlib.suppress(BROKEN):
        clerk.work(time.monotonic() + 600)


SCENES: dict[str, Callable[[Path], Line]] = {"kills": kills}
HEADS = ("what", "times", "answered", "lost", "gaps", "twins", "5xx", "slowest", "peak")
FORM = "{:24} {:>6} {:>9} {:>5} {:>5} {:>6} {:>5} {:>8} {:>7}  {}"


def show(line: Line) -> None:
    found = line.found
    print(FORM.format(
        line.what, line.times, line.answered, len(found.lost), len(found.gaps), len(found.twins),
        len(line.broken), f"{line.slowest[0]:.1f} s", f"{line.peak:.0f} MB",
        "FAILS" if line.fails else "holds",
    ), flush=True)  # fmt: skip


def main(names: list[str]) -> int:
    place = Path(tempfile.mkdtemp(prefix="studio-torture-"))
    lines = []
    print(f"SEED={SEED} KILLS={KILLS} SECONDS={SECONDS}")
    print(FORM.format(*HEADS, ""), flush=True)
    for name in names or list(SCENES):
        lines.append(SCENES[name](place / name))
        show(lines[-1])
    failed = [(line.what, fault) for line in lines for fault in line.fails]
    for what, fault in failed:
        print(f"{what}: {fault}")
    if failed:
        print(f"Data and logs are in {place}")
    else:
        shutil.rmtree(place)
    if os.environ.get("NOTES"):
        print(*(note for line in lines for note in line.notes), sep="\n")
    return bool(failed)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
