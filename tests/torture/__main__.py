"""Torture a studio, by dice of SEED, and say in one table what it bore.

``python -m tests.torture [SCENE ...]``; SEED, KILLS, SECONDS and PORT come from the environment.
Ctrl-C ends it: the scene it finds says what was borne until then.
"""

import os
import shutil
import signal
import sys
import tempfile
from collections.abc import Callable
from contextlib import ExitStack
from pathlib import Path

from tests.postgres import cluster
from tests.torture import changes, shifts, troubles
from tests.torture.scene import ENOUGH, KILLS, SECONDS, SEED, Line, Place

SCENES: dict[str, Callable[[Place], Line]] = {
    "kills": shifts.kills, "crowd": shifts.crowd, "windows": shifts.windows, "fuzz": shifts.fuzz,
    "locked": troubles.locked, "full": troubles.full, "read-only": troubles.read_only,
    "clock": troubles.clock, "restores": changes.restores, "starts": changes.starts,
    "migrations": changes.migrations, "pictures": changes.pictures, "formats": changes.formats,
}  # fmt: skip
ON_POSTGRES = {f"{name}-postgres": SCENES[name] for name in ("kills", "crowd", "windows")}
# A server whose saved rows survive a power cut, as the doctor asks.
SETTINGS = ["max_connections=60"]
HEADS = ("what", "times", "answered", "lost", "gaps", "twins", "5xx", "slowest", "peak")
FORM = "{:34} {:>6} {:>9} {:>5} {:>5} {:>6} {:>5} {:>8} {:>7}  {}"


def show(line: Line) -> None:
    found = line.found
    print(FORM.format(
        line.what, line.times, line.answered, len(found.lost), len(found.gaps), len(found.twins),
        len(line.broken), f"{line.slowest[0]:.1f} s", f"{line.peak:.0f} MB",
        "FAILS" if line.fails else "holds",
    ), flush=True)  # fmt: skip


def main(names: list[str]) -> int:
    signal.signal(signal.SIGINT, lambda *_: ENOUGH.set())
    root = Path(tempfile.mkdtemp(prefix="studio-torture-"))
    lines = []
    print(f"SEED={SEED} KILLS={KILLS} SECONDS={SECONDS}")
    print(FORM.format(*HEADS, ""), flush=True)
    with ExitStack() as servers:
        server = ""
        for name in names or [*SCENES, *ON_POSTGRES]:
            if ENOUGH.is_set():
                break
            if name in ON_POSTGRES and not server:
                server = servers.enter_context(cluster(SETTINGS)).rpartition("/")[0]
            play = {**SCENES, **ON_POSTGRES}[name]
            lines.append(play(Place(root / name, server if name in ON_POSTGRES else "")))
            show(lines[-1])
            for fault in lines[-1].fails:
                print(f"    {fault}", flush=True)
    failed = any(line.fails for line in lines)
    if failed:
        print(f"Data and logs are in {root}")
    else:
        shutil.rmtree(root)
    if os.environ.get("NOTES"):
        print(*(note for line in lines for note in line.notes), sep="\n")
    return failed


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
