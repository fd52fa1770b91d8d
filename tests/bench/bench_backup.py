"""Copies of a studio that has grown, and copies while everybody writes.

``BENCH_COPIES`` sets how many are made under eight clients.
"""

import os
import resource
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest
from django.conf import LazySettings
from django.db import connection, connections

from studio.backup import restore, write
from studio.shop import clock
from studio.shop.models import Profile, User
from tests.bench.grown import grow
from tests.drafts import paid, received

TICKETS = 20_000
COPIES = int(os.environ.get("BENCH_COPIES", "50"))
MOST_MEGABYTES = 600
MOST_SECONDS = 60


@pytest.fixture
def data(settings: LazySettings, tmp_path: Path) -> Path:
    settings.DATA_DIR = tmp_path / "data"
    settings.DATA_DIR.mkdir()
    return settings.DATA_DIR


@pytest.mark.real_time
def test_a_copy_of_20_000_tickets(
    transactional_db: None,
    studio: Profile,
    owner: User,
    data: Path,
    record_property,
):
    """In a process of its own, so that the memory is the copy's alone."""
    grow(TICKETS * 8 // 5, owner)
    script = (
        "import django, resource, sys, time; django.setup();"
        "from studio.backup import write; from studio.shop import clock;"
        "began = time.perf_counter(); copy = write.write_copy(clock.now());"
        "print(time.perf_counter() - began, copy.path.stat().st_size,"
        " resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024,"
        " copy.manifest.figures.tables['tickets_ticket'].rows)"
    )
    (data / "studio.sqlite3").symlink_to(connection.settings_dict["NAME"])
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True,
        env=os.environ | {
            "STUDIO_DATA": str(data), "DATABASE_URL": "",
            "DJANGO_SETTINGS_MODULE": "studio.settings",
        },
    )  # fmt: skip
    seconds, size, memory, tickets = map(float, done.stdout.split())
    record_property(
        "figure",
        f"a copy of {tickets:.0f} tickets, read back: {seconds:.1f} s, {size / 1e6:.1f} MB, "
        f"{memory:.0f} MB of memory",
    )
    assert tickets == TICKETS
    assert memory < MOST_MEGABYTES
    assert seconds < MOST_SECONDS


@pytest.mark.real_time
def test_copies_under_eight_clients(
    transactional_db: None,
    studio: Profile,
    owner: User,
    data: Path,
    record_property,
):
    """Each is restored: equal to what it says of itself, and every receipt has its number."""
    tickets = [received(studio, owner) for _ in range(8)]
    stop, waits, broken = threading.Event(), [], []

    def write_payments(ticket) -> None:
        clock.activate(studio)
        try:
            # Who never pauses keeps the others from SQLite's one place to write.
            while not stop.wait(0.03):
                began = time.perf_counter()
                paid(studio, owner, ticket, 1)
                waits.append(time.perf_counter() - began)
        except Exception as error:
            broken.append(error)
        finally:
            connections.close_all()

    threads = [threading.Thread(target=write_payments, args=[ticket]) for ticket in tickets]
    for thread in threads:
        thread.start()
    began = time.perf_counter()
    try:
        copies = [write.write_copy(clock.now()) for _ in range(COPIES)]
        seconds = time.perf_counter() - began
    finally:
        stop.set()
        for thread in threads:
            thread.join()
    assert broken == []
    for place, copy in enumerate(copies):
        assert copy.faults == []
        manifest, faults = restore.unpack(copy.path, data / f"restored{place}")
        assert (manifest, faults) == (copy.manifest, [])
        payments = manifest.figures.tables["billing_payment"]
        assert payments.sums["amount"] == str(payments.rows)
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    record_property(
        "figure",
        f"{COPIES} copies under 8 clients in {seconds:.0f} s, {len(waits)} payments meanwhile, the "
        f"longest waited {max(waits):.2f} s; {memory:.0f} MB of memory in all",
    )
