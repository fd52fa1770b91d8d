"""What happens to a computer while somebody works at it: held, full, locked, a wrong clock."""

import contextlib
import shutil
import sqlite3
import subprocess
import threading
import time
from collections.abc import Callable, Iterable
from contextlib import closing

from tests.torture.book import EXAMINERS
from tests.torture.clerks import Clerk
from tests.torture.scene import CLERKS, SECONDS, Line, Place, crew, judged, open_for, studio
from tests.torture.serving import Serve

HELD = 30
DAY = 24 * 3600
MOVES = (400 * DAY, -10 * DAY, 3600, -3600, 0)
"""Seconds by which the clock is moved, one after the other; the last one is right again."""


def locked(place: Place) -> Line:
    """Another program holds the database for half a minute. It may be said (503), not broken."""
    line = Line(f"locked for {HELD} s", 1, may_say=("503",))
    serve = studio(place, CLERKS)

    def hold() -> None:
        with closing(sqlite3.connect(serve.database, timeout=60, isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            time.sleep(HELD)
            other.execute("ROLLBACK")

    _while_they_work(serve, line, hold)
    return line


def full(place: Place) -> Line:
    """The disk is full for a while: a small one, mounted for this. It may be said (507)."""
    line = Line("disk full", may_say=("507",))
    folder = place.folder
    folder.mkdir()
    asked = ["mount", "-t", "tmpfs", "-o", "size=40m", "tmpfs", str(folder)]
    if subprocess.run(asked, check=False, capture_output=True).returncode:
        line.what += ", NOT TRIED: no right to mount"
        return line
    try:
        serve = studio(place, CLERKS)

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


def read_only(place: Place) -> Line:
    """Nothing in the data folder can be changed for a while. It may be said (503, 507)."""
    line = Line("folder read-only", 1, may_say=("503", "507"))
    serve = studio(place, CLERKS)

    def lock(sign: str) -> bool:
        asked = ["chattr", "-R", f"{sign}i", str(serve.data)]
        return not subprocess.run(asked, check=False, capture_output=True).returncode

    if not lock("+"):
        line.times, line.what = 0, f"{line.what}, NOT TRIED: no right to lock it"
        return line
    lock("-")

    def shut() -> None:
        lock("+")
        try:
            time.sleep(max(SECONDS / 4, 10))
        finally:
            lock("-")

    _while_they_work(serve, line, shut)
    return line


def clock(place: Place) -> Line:
    """Somebody sets the computer's date, forwards and back. It is asked (409), and said."""
    line = Line("clock set", len(MOVES))
    file = place.folder / "clock"
    serve = studio(place, CLERKS, TORTURE_CLOCK=str(file))
    serve.runner = ("-m", "tests.torture.clocked")
    file.write_text("0")

    def turn() -> None:
        for seconds in MOVES:
            # Anew, as a text editor writes it: whoever looks sees one or the other.
            fresh = file.with_suffix(".new")
            fresh.write_text(str(seconds))
            fresh.replace(file)
            time.sleep(max(SECONDS / 6, 5))

    # What was saved lies ahead afterwards, of which the doctor would rightly complain.
    _while_they_work(serve, line, turn, examiners=("sums", "prove"))
    return line


def _while_they_work(
    serve: Serve, line: Line, trouble: Callable[[], None], examiners: Iterable[str] = EXAMINERS
) -> None:  # fmt: skip
    """Clerks work before, during and after the trouble."""
    clerks = crew(CLERKS)
    over = threading.Event()
    with judged(line, serve, clerks, examiners):
        open_for(serve, clerks)
        for clerk in clerks:
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
