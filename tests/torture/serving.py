"""The real ``manage.py serve`` on a data folder of its own, to be killed and started again."""

import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

HOUSE = Path(__file__).resolve().parents[2]
SECONDS_TO_START = 120


class Serve:
    """One studio's server. ``peak`` is the most memory that any of its processes took, in MB.

    What it writes goes to ``log``: a page that broke leaves its traceback there.
    """

    def __init__(self, folder: Path, port: int, **extra: str) -> None:
        self.folder, self.port, self.peak = folder, port, 0.0
        self.data, self.log = folder / "data", folder / "serve.log"
        self.env = {
            name: value for name, value in os.environ.items() if not name.startswith("STUDIO_")
        } | {"STUDIO_DATA": str(self.data), "DATABASE_URL": "", **extra}
        self.process: subprocess.Popen[bytes] | None = None
        self.starts = 0

    @property
    def database(self) -> Path:
        return self.data / "studio.sqlite3"

    def run(self, *words: str) -> subprocess.CompletedProcess[str]:
        """A command of this studio, beside its server."""
        return subprocess.run(
            [sys.executable, *words], cwd=HOUSE, env=self.env, capture_output=True, text=True,
            check=False,
        )  # fmt: skip

    def manage(self, *words: str) -> subprocess.CompletedProcess[str]:
        return self.run("manage.py", *words)

    def start(self, *under: str) -> None:
        """Returns when it listens; ``under`` is a command that runs it. Raises RuntimeError."""
        begins = self.log.stat().st_size if self.log.exists() else 0
        with self.log.open("ab") as log:
            self.process = subprocess.Popen(
                [*under, sys.executable, "manage.py", "serve", "--port", str(self.port)],
                cwd=HOUSE, env=self.env, stdout=log, stderr=log, stdin=subprocess.DEVNULL,
                start_new_session=True,
            )  # fmt: skip
        self.starts += 1
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

    def weigh(self) -> None:
        if self.process:
            try:
                status = Path(f"/proc/{self.process.pid}/status").read_text()
            except OSError:
                return
            if most := re.search(r"VmHWM:\s+(\d+) kB", status):
                self.peak = max(self.peak, int(most[1]) / 1024)

    def kill(self) -> None:
        """As if the plug were pulled: SIGKILL, with whatever it began beside itself."""
        if self.process:
            self.weigh()
            os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait()
            self.process = None
