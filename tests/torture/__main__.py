"""Torture a studio, by dice of SEED, and say in one table what it bore.

``python -m tests.torture [SCENE ...]``; SEED, KILLS, SECONDS and PORT come from the environment.
"""

import contextlib
import json
import multiprocessing
import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path

from tests.jobs.planning.core.books import dice
from tests.torture.book import EXAMINERS, Found, compare, examine
from tests.torture.clerks import BROKEN, Browser, Clerk, Deed
from tests.torture.fill import clerk_name
from tests.torture.fuzz import Fuzzer
from tests.torture.serving import Serve

SEED = int(os.environ.get("SEED", "1"))
KILLS = int(os.environ.get("KILLS", "200"))
SECONDS = int(os.environ.get("SECONDS", "60"))
PORT = int(os.environ.get("PORT", "8167"))
REQUESTS = int(os.environ.get("REQUESTS", "20000"))
CLERKS = 4
CROWD = 8
HELD = 30
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


def studio(folder: Path, clerks: int, **extra: str) -> Serve:
    serve = Serve(folder, PORT, **extra)
    folder.mkdir(exist_ok=True)
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


def kills(folder: Path) -> Line:
    """The plug is pulled at a random moment, again and again."""
    line, rng = Line("killed by SIGKILL"), dice(f"{SEED} kills")
    serve = studio(folder, CLERKS)
    clerks = crew(CLERKS)
    clerks[0].backs_up = True
    with judged(line, serve, clerks):
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
    return line


def _until_killed(clerk: Clerk) -> None:
    with contextlib.suppress(BROKEN):
        clerk.work(time.monotonic() + 600)


def crowd(folder: Path) -> Line:
    """Eight machines of the house work at once without a pause."""
    line = Line(f"8 clients for {SECONDS} s", CROWD)
    serve = studio(folder, CROWD)
    clerks = crew(CROWD)
    clerks[0].backs_up = True
    with judged(line, serve, clerks):
        serve.start()
        with multiprocessing.get_context("fork").Pool(CROWD) as machines:
            clerks[:] = machines.map(
                _work_on, [(clerk, serve.port) for clerk in clerks], chunksize=1
            )
    return line


def _work_on(given: tuple[Clerk, int]) -> Clerk:
    clerk, clerk.browser.port = given
    clerk.come_in()
    clerk.work(time.monotonic() + SECONDS)
    return clerk


def fuzz(folder: Path) -> Line:
    """Every address and every form, with what no browser would send."""
    line = Line("requests by chance")
    serve = studio(folder, 2)
    made = serve.run("-m", "tests.torture.fuzz")
    if made.returncode:
        raise RuntimeError(made.stderr)
    rows = json.loads(made.stdout)
    try:
        serve.start()
        fuzzers = [
            Fuzzer(Browser(serve.port), f"{SEED} fuzz {place}", clerk_name(place), rows)
            for place in range(2)
        ]
        with multiprocessing.get_context("fork").Pool(2) as machines:
            fuzzers = machines.map(_send_all, fuzzers, chunksize=1)
        line.found.add(compare(serve, []))
        # What the addresses speak of is made with numbers of its own.
        line.found.gaps.clear()
    finally:
        serve.kill()
    for fuzzer in fuzzers:
        line.times += sum(fuzzer.statuses.values())
        line.broken += fuzzer.browser.broken_pages
        line.slowest = max(line.slowest, fuzzer.browser.slowest)
        line.found.wrong += fuzzer.gone
        line.notes.append(str(sorted(fuzzer.statuses.items())))
    line.answered, line.peak = line.times, serve.peak
    return line


def _send_all(fuzzer: Fuzzer) -> Fuzzer:
    return fuzzer.run(REQUESTS // 2)


def locked(folder: Path) -> Line:
    """Another program holds the database for half a minute. It may be said (503), not broken."""
    line = Line(f"locked for {HELD} s", 1, patience=25, may_say=("503",))
    serve = studio(folder, CLERKS)

    def hold() -> None:
        with closing(sqlite3.connect(serve.database, timeout=60, isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            time.sleep(HELD)
            other.execute("ROLLBACK")

    _while_they_work(serve, line, hold)
    return line


def full(folder: Path) -> Line:
    """The disk is full for a while: a small one, mounted for this. It may be said (507)."""
    line = Line("disk full", may_say=("507",))
    folder.mkdir()
    asked = ["mount", "-t", "tmpfs", "-o", "size=40m", "tmpfs", str(folder)]
    if subprocess.run(asked, check=False, capture_output=True).returncode:
        line.what += ", NOT TRIED: no right to mount"
        return line
    try:
        serve = studio(folder, CLERKS)

        def eat() -> None:
            free = shutil.disk_usage(folder).free
            ballast = folder / "ballast"
            with contextlib.suppress(OSError), ballast.open("wb") as eaten:
                eaten.write(bytes(free - 20_000))
            time.sleep(max(SECONDS / 4, 10))
            ballast.unlink()

        # The doctor would rightly complain of so small a disk.
        _while_they_work(serve, line, eat, examiners=("sums", "prove"))
        line.times = 1
    finally:
        subprocess.run(["umount", str(folder)], check=False)
    return line


def _while_they_work(
    serve: Serve, line: Line, trouble: Callable[[], None], examiners: Iterable[str] = EXAMINERS
) -> None:  # fmt: skip
    """Clerks work before, during and after the trouble."""
    clerks = crew(CLERKS)
    over = threading.Event()
    with judged(line, serve, clerks, examiners):
        serve.start()
        for clerk in clerks:
            clerk.browser.port = serve.port
            clerk.come_in()
            clerk.one_deed()
        threads = [threading.Thread(target=_until, args=(clerk, over)) for clerk in clerks]
        for thread in threads:
            thread.start()
        try:
            trouble()
            time.sleep(3)
        finally:
            over.set()
            for thread in threads:
                thread.join()
        before = sum(deed.answered for clerk in clerks for deed in clerk.ledger)
        for clerk in clerks:
            clerk.one_deed()
        after = sum(deed.answered for clerk in clerks for deed in clerk.ledger)
        if after == before:
            line.found.wrong.append("nothing goes any more when the trouble is over")


def _until(clerk: Clerk, over: threading.Event) -> None:
    while not over.is_set():
        clerk.one_deed()


def windows(folder: Path) -> Line:
    """Two windows send the same payment, and issue the invoice of one ticket, at one moment."""
    line = Line("two windows on a ticket")
    serve = studio(folder, 2)
    clerks = crew(2)
    with judged(line, serve, clerks):
        serve.start()
        for clerk in clerks:
            clerk.browser.port = serve.port
            clerk.come_in()
        for _ in range(max(3, SECONDS // 3)):
            clerks[0].drop_off()
            number, _ = clerks[0].tickets[-1]
            same = clerks[0].new_key()
            for kind, keys in ("payment", [same, same]), ("invoice", [c.new_key() for c in clerks]):
                _at_once(clerks, [_deed_of(kind, key, number) for key in keys])
            line.times += 1
        with closing(sqlite3.connect(serve.database)) as book:
            line.found.twins += [
                f"{times} invoices of ticket {ticket}"
                for ticket, times in book.execute(
                    "SELECT ticket_id, count(*) FROM billing_invoice GROUP BY 1 HAVING count(*) > 1"
                )
            ]
    return line


def _deed_of(kind: str, key: str, number: str) -> Deed:
    if kind == "payment":
        facts = {"amount": "0.07", "method": "cash", "note": "", "form_key": key}
        return Deed(kind, key, f"/t/{number}/pay/", facts, amount=7)
    return Deed(kind, key, f"/t/{number}/invoice/", {"anyway": "yes", "form_key": key})


def _at_once(clerks: list[Clerk], deeds: list[Deed]) -> None:
    gate = threading.Barrier(len(clerks))

    def go(clerk: Clerk, deed: Deed) -> None:
        gate.wait()
        clerk.send(deed)

    threads = [threading.Thread(target=go, args=pair) for pair in zip(clerks, deeds, strict=True)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()


SCENES: dict[str, Callable[[Path], Line]] = {
    "kills": kills, "crowd": crowd, "fuzz": fuzz, "windows": windows, "locked": locked,
    "full": full,
}  # fmt: skip
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
