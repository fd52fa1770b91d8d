"""Several hands reach for numbers at once: as threads of one process, or as processes.

Run as a program it starts the processes: ``python -m tests.studio.shop.rush_hour JOBS MOMENT``,
where JOBS is JSON of several ``Job`` and MOMENT the one at which the test stands; it prints one
number a line. It loads the program once and then parts into one process for each job.
"""

import json
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import asdict, dataclass
from datetime import UTC, datetime
from importlib import import_module
from multiprocessing import get_context
from pathlib import Path
from typing import Any

from tests.thorough import rounds

WORKERS = 4
EACH = rounds(15, 50)
PATIENCE = 60


@dataclass(frozen=True)
class Job:
    """``way`` names a function ``(job, worker, turn) -> number`` as ``module:function``."""

    way: str
    key: str
    database: str
    folder: str
    worker: int = 0

    def do(self) -> list[str]:
        module, name = self.way.split(":")
        take: Callable[[Job, int], object] = getattr(import_module(module), name)
        return [str(take(self, turn)) for turn in range(EACH)]

    def meet(self, place: str) -> None:
        """Wait until every worker has come to ``place``. Works between threads and processes."""
        folder = Path(self.folder) / place
        folder.mkdir(exist_ok=True)
        (folder / str(self.worker)).touch()
        deadline = time.monotonic() + PATIENCE
        while len(list(folder.iterdir())) < WORKERS:
            if time.monotonic() > deadline:
                raise TimeoutError(f"Not everybody came to {place}.")
            time.sleep(0.001)


def at_once(*acts: Callable[[], Any]) -> list[Any]:
    """What each gives; they start together, as threads with a connection of their own.

    Each stands in the zone of who starts them, as a request stands in the studio's.
    """
    from django.db import connection
    from django.utils import timezone

    zone = timezone.get_current_timezone()
    start = threading.Barrier(len(acts))
    answers: dict[int, Any] = {}
    wrong: list[BaseException] = []

    def do(place: int, act: Callable[[], Any]) -> None:
        try:
            timezone.activate(zone)
            start.wait()
            answers[place] = act()
        except BaseException as error:
            wrong.append(error)
        finally:
            connection.close()

    threads = [threading.Thread(target=do, args=[*pair]) for pair in enumerate(acts)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    if wrong:
        raise wrong[0]
    return [answers[place] for place in range(len(acts))]


def by_threads(jobs: list[Job]) -> list[str]:
    return [number for numbers in at_once(*(job.do for job in jobs)) for number in numbers]


def by_processes(jobs: list[Job]) -> list[str]:
    words = json.dumps([asdict(job) for job in jobs])
    done = subprocess.run(
        [sys.executable, "-m", __name__, words, datetime.now(UTC).isoformat()],
        capture_output=True,
        text=True,
        timeout=2 * PATIENCE,
        check=False,
    )
    assert not done.returncode, done.stderr
    return done.stdout.split()


def main(words: str, moment: str) -> None:
    import os

    import time_machine

    os.environ["DJANGO_SETTINGS_MODULE"] = "tests.settings"
    import django
    from django.db import connections

    django.setup()
    jobs = [Job(**facts) for facts in json.loads(words)]
    connections.settings["default"]["NAME"] = jobs[0].database
    for job in jobs:
        import_module(job.way.partition(":")[0])
    # No connection is open yet, so that each process opens its own.
    with (
        time_machine.travel(datetime.fromisoformat(moment)),
        get_context("fork").Pool(len(jobs)) as processes,
    ):
        answers = processes.map(in_its_process, jobs, chunksize=1)
    print("\n".join(number for numbers in answers for number in numbers))


def in_its_process(job: Job) -> list[str]:
    """Those who came wait for the others, so that none of them takes two jobs."""
    job.meet("start")
    return job.do()


if __name__ == "__main__":
    main(*sys.argv[1:])
