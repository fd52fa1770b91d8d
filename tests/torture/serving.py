"""The real ``manage.py serve`` on a data folder of its own, to be killed and started again."""

import os
import re
import signal
import subprocess
import sys
import threading
import time
from contextlib import suppress
from pathlib import Path

HOUSE = Path(__file__).resolve().parents[2]
SECONDS_TO_START = 120
WEIGHED_EVERY = 0.25


class Serve:
    """One studio's server. ``peak`` is the most memory that it took with all it began, in MB.

    What it writes goes to ``log``: a page that broke leaves its traceback there.
    """

    def __init__(self, folder: Path, port: int, url: str = "", **extra: str) -> None:
        self.folder, self.port, self.peak, self.url = folder, port, 0.0, url
        self.data, self.log = folder / "data", folder / "serve.log"
        self.env = {
            name: value for name, value in os.environ.items() if not name.startswith("STUDIO_")
        } | {"STUDIO_DATA": str(self.data), "DATABASE_URL": url, **extra}
        self.process: subprocess.Popen[bytes] | None = None
        self.runner: tuple[str, ...] = ()

    @property
    def database(self) -> Path:
        return self.data / "studio.sqlite3"

    def begin(self, *words: str) -> "subprocess.Popen[bytes]":
        """A command of this studio that is not waited for, with a session of its own."""
        with self.log.open("ab") as log:
            return subprocess.Popen(
                [sys.executable, *self.runner, "manage.py", *words], cwd=HOUSE, env=self.env,
                stdout=log, stderr=log, stdin=subprocess.DEVNULL, start_new_session=True,
            )  # fmt: skip

    def run(self, *words: str) -> subprocess.CompletedProcess[str]:
        """A command of this studio, beside its server."""
        return subprocess.run(
            [sys.executable, *words], cwd=HOUSE, env=self.env, capture_output=True, text=True,
            check=False, start_new_session=True,
        )  # fmt: skip

    def manage(self, *words: str) -> subprocess.CompletedProcess[str]:
        return self.run("manage.py", *words)

    def start(self) -> None:
        """Returns when it listens. Raises RuntimeError."""
        begins = self.log.stat().st_size if self.log.exists() else 0
        self.process = self.begin("serve", "--port", str(self.port))
        threading.Thread(target=self._weigh, args=(self.process,), daemon=True).start()
        until = time.monotonic() + SECONDS_TO_START
        while time.monotonic() < until:
            said = self.log.read_bytes()[begins:].decode(errors="replace")
            if opened := re.search(r"Open http://[^:]+:(\d+)/", said):
                self.port = int(opened[1])
                return
            if self.process.poll() is not None:
                raise RuntimeError(f"serve ended by itself:\n{said[-3000:]}")
            time.sleep(0.1)
        raise RuntimeError("serve did not start")

    def _weigh(self, process: "subprocess.Popen[bytes]") -> None:
        while process.poll() is None:
            self.peak = max(self.peak, sum(map(weight, family(process.pid))))
            time.sleep(WEIGHED_EVERY)

    def kill(self) -> None:
        """As if the plug were pulled: SIGKILL, with whatever it began beside itself."""
        if self.process:
            self.peak = max(self.peak, most_weight(self.process.pid))
            end(self.process)
            self.process = None


def end(process: "subprocess.Popen[bytes]") -> None:
    with suppress(ProcessLookupError):
        os.killpg(process.pid, signal.SIGKILL)
    process.wait()


def family(pid: int) -> list[int]:
    """A process and all that it began and they began."""
    found = [pid]
    for one in found:
        with suppress(OSError):
            for task in Path(f"/proc/{one}/task").iterdir():
                found += map(int, (task / "children").read_text().split())
    return found


def weight(pid: int) -> float:
    """What it takes of memory, in MB; what is shared counts in parts (proc(5), Pss)."""
    return _megabytes(pid, "smaps_rollup", "Pss")


def most_weight(pid: int) -> float:
    """The most that it alone ever took, in MB, which may lie between two looks."""
    return _megabytes(pid, "status", "VmHWM")


def _megabytes(pid: int, file: str, name: str) -> float:
    with suppress(OSError):
        told = re.search(rf"(?m)^{name}:\s+(\d+) kB", Path(f"/proc/{pid}/{file}").read_text())
        return int(told[1]) / 1024 if told else 0.0
    return 0.0
