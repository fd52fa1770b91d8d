"""A copy is made of a living studio, read back, and what is wrong is said."""

import json
import os
import sqlite3
import threading
import time
import zipfile
from contextlib import closing
from datetime import datetime, timedelta
from pathlib import Path

import pytest
import time_machine
from django.db import connection, connections

from jobs.billing.models import Payment
from jobs.tickets.models import Ticket
from studio.backup import databases, night, options, restore, write
from studio.backup.core import archive
from studio.backup.core.manifest import Figures, Manifest, TableFigures
from studio.backup.core.retention import KeepRule
from studio.backup.models import Backup, Kind
from studio.shop import clock
from studio.shop.models import NumberSeries, Profile, StoredPaper, User
from studio.shop.paper import store_paper
from studio.shop.stored.files import atomic_with_files
from tests import factories as f
from tests.drafts import paid, received
from tests.studio.backup.test_core import full_after
from tests.thorough import rounds

pytestmark = pytest.mark.any_day


def a_paper(content: bytes = b"%PDF-1.7 receipt") -> StoredPaper:
    with atomic_with_files():
        return store_paper("Receipt", content)


@pytest.fixture
def filled(transactional_db: None, studio: Profile, owner: User, data: Path) -> Ticket:
    ticket = received(studio, owner)
    paid(studio, owner, ticket, 1050)
    a_paper()
    return ticket


def test_a_copy_holds_all_and_says_so(filled: Ticket):
    row = write.back_up(Kind.HAND)
    assert row is not None
    assert (row.good, row.tickets, row.paid, row.currency) == (True, 1, 1050, "EUR")
    path = options.copies_folder() / row.name
    assert path.stat().st_mode & 0o777 == 0o600
    assert path.parent.stat().st_mode & 0o777 == 0o700
    assert [each.name for each in path.parent.iterdir()] == [row.name]
    with zipfile.ZipFile(path) as zipped:
        manifest = json.loads(zipped.read("manifest.json"))
        names = set(zipped.namelist())
    paper = StoredPaper.objects.get(name="Receipt")
    assert f"files/{paper.file}" in names
    assert manifest["files"][f"files/{paper.file}"] == paper.sha256
    assert manifest["figures"]["tables"]["billing_payment"] == {
        "rows": 1, "sums": {"amount": "1050"}
    }  # fmt: skip
    numbers = [(each["first"], each["count"]) for each in manifest["figures"]["numbers"]]
    assert (filled.number, 1) in numbers
    assert "backup.0001_copies" in manifest["migrations"]


@pytest.mark.alike
def test_faults_of_the_data_are_said_and_the_copy_is_kept(filled: Ticket):
    paper = StoredPaper.objects.get(name="Receipt")
    kept = paper.file.path
    Path(kept).write_bytes(b"%PDF-1.7 forged")
    NumberSeries.objects.filter(key__startswith="2").update(last=8)
    f.TicketFactory(number=f"{filled.number[:3]}0004")
    row = write.back_up(Kind.HAND)
    assert row is not None
    assert row.name
    assert not row.good
    year = filled.number[:3]
    # Of eight numbers that were given, six are not there: the book says so, nobody says it twice.
    lost = f"{year}0002, {year}0003, {year}0005 and 3 more"
    assert row.wrong == [
        f"{paper.file} is not the paper that was issued.",
        f"The sealed book does not hold: Numbers without their row: {lost}.",
    ]
    Path(kept).unlink()
    again = write.back_up(Kind.HAND)
    assert again is not None
    assert f"Stored files are missing: {paper.file}." in again.wrong
    assert again.name != row.name


@pytest.mark.alike
def test_a_copy_whose_book_does_not_hold_says_so(filled: Ticket):
    """One cent of one receipt, changed behind the program."""
    payment = Payment.objects.get()
    with connection.cursor() as cursor:
        cursor.execute("UPDATE billing_payment SET amount = amount + 1")
    row = write.back_up(Kind.HAND)
    assert row is not None
    assert row.name
    assert row.wrong == [
        f"The sealed book does not hold: {payment.number} was changed behind the program: amount."
    ]
    # It is the copy that is asked: the studio's own book is whole again, the copy's is not.
    with connection.cursor() as cursor:
        cursor.execute("UPDATE billing_payment SET amount = amount - 1")
    with options.working_folder() as folder:
        _, faults = restore.unpack(options.copies_folder() / row.name, folder)
    assert faults == row.wrong
    again = write.back_up(Kind.HAND)
    assert again is not None
    assert again.good


def test_a_client_erased_meanwhile_begins_the_copy_anew(
    filled: Ticket, monkeypatch: pytest.MonkeyPatch
):
    """Their file goes between the moment of the database and its turn."""
    take, calls = databases.take_snapshot, []

    def erase_then(folder: Path) -> databases.Snapshot:
        snapshot = take(folder)
        if not calls:
            paper = StoredPaper.objects.get(name="Receipt")
            paper.file.delete(save=False)
            paper.delete()
        calls.append(folder)
        return snapshot

    monkeypatch.setattr(databases, "take_snapshot", erase_then)
    row = write.back_up(Kind.HAND)
    assert row is not None
    assert row.good
    assert len(calls) == 2


@pytest.mark.alike
@pytest.mark.parametrize("room", [200, 40_000])
def test_a_full_disk_is_said_and_leaves_nothing(
    filled: Ticket, monkeypatch: pytest.MonkeyPatch, room: int
):
    monkeypatch.setattr(archive, "new_file", full_after(room))
    row = write.back_up(Kind.HAND)
    assert row is not None
    assert (row.name, row.wrong) == ("", ["The disk is full."])
    assert list(options.copies_folder().iterdir()) == []


@pytest.mark.alike
def test_what_reads_back_as_something_else_is_no_copy(
    filled: Ticket, monkeypatch: pytest.MonkeyPatch
):
    """A disk that keeps other bits than it was given."""
    seal = archive.check_seal

    def rot(path: Path) -> None:
        content = bytearray(path.read_bytes())
        content[len(content) // 2] ^= 4
        path.write_bytes(content)
        seal(path)

    monkeypatch.setattr(archive, "check_seal", rot)
    row = write.back_up(Kind.HAND)
    assert row is not None
    assert (row.name, row.good) == ("", False)
    assert "damaged" in row.wrong[0]
    assert list(options.copies_folder().iterdir()) == []


def test_a_night_belongs_to_one_process(filled: Ticket, watch: time_machine.Traveller):
    day = clock.today()
    first, second = (write.back_up(Kind.NIGHT, night=day) for _ in range(2))
    assert first is not None
    assert second is None
    # One that was ended in the middle is begun anew after an hour, by whoever looks then.
    Backup.objects.update(name="", finished_at=None)
    assert write.back_up(Kind.NIGHT, night=day) is None
    watch.shift(timedelta(minutes=61))
    again = write.back_up(Kind.NIGHT, night=day)
    assert again is not None
    assert again.pk == first.pk
    assert again.good


def test_the_night_is_looked_for_and_once_a_week_restored(
    studio: Profile, data: Path, watch: time_machine.Traveller, monkeypatch: pytest.MonkeyPatch
):
    def write_copy(moment: datetime, *_: str) -> write.FreshCopy:
        path = options.copies_folder() / f"{moment:{write.NAME}}.zip"
        path.write_bytes(b"PK")
        tables = {
            "tickets_ticket": TableFigures(0),
            "billing_payment": TableFigures(0, {"amount": "0"}),
        }
        manifest = Manifest("", "", "", [], Figures(tables, []))
        return write.FreshCopy(path, 2, manifest, [])

    tried: list[str] = []

    def try_out(path: Path) -> tuple[Manifest, list[str]]:
        tried.append(path.name)
        return write_copy(clock.now()).manifest, []

    monkeypatch.setattr(write, "write_copy", write_copy)
    monkeypatch.setattr(restore, "try_out", try_out)
    for _ in range(9):
        row = night.look()
        assert row is not None
        assert row.good
        assert night.look() is None
        watch.shift(timedelta(days=1))
    # A row that came back with a copy, into a folder that has no file of that night, is none.
    row = night.look()
    (options.copies_folder() / row.name).unlink()
    again = night.look()
    assert (again.pk != row.pk, again.night, again.good) == (True, row.night, True)
    watch.shift(timedelta(days=1))
    assert len(tried) == 2
    assert Backup.objects.exclude(tested_at=None).count() == 2
    # Nine nights; the seventh from the end is still there, and the first of them by its week.
    assert len(list(options.copies_folder().iterdir())) in {7, 8}


@pytest.mark.real_time
def test_what_a_killed_process_left_is_swept_once_nobody_can_be_at_it(data: Path):
    for name, age in ((".working-old", 7), (".working-young", 1)):
        folder = options.copies_folder() / name
        folder.mkdir()
        moment = time.time() - age * 3600
        os.utime(folder, (moment, moment))
    night.sweep()
    assert [path.name for path in options.copies_folder().iterdir()] == [".working-young"]


def test_old_copies_go_by_the_rule_and_faulty_ones_push_out_none():
    good = [f"studio-2026-11-{day:02d}T020013Z.zip" for day in range(10, 28)]
    spoilt = [f"studio-2026-11-{day:02d}T090000Z.zip" for day in range(20, 28)]
    before = [f"studio-2026-11-{day:02d}T100000Z-before-upgrade.zip" for day in range(20, 28)]
    names = [*good, *spoilt, *before, "holiday.zip"]
    gone = write.droppable(names, set(spoilt), KeepRule(days=3, weeks=2, months=1))
    left = sorted(set(names) - set(gone))
    assert left == sorted(
        [*good[-3:], "studio-2026-11-22T020013Z.zip", *spoilt[-3:], *before[-3:], "holiday.zip"]
    )


def test_copies_under_eight_writers_are_each_whole(
    transactional_db: None, studio: Profile, owner: User, data: Path
):
    """Every copy restored, equal to what it says, and no payment in it without its number."""
    tickets = [received(studio, owner) for _ in range(8)]
    stop, begun, broken = threading.Event(), threading.Barrier(9), []

    def write_payments(ticket: Ticket) -> None:
        clock.activate(studio)
        begun.wait()
        try:
            # Who never pauses keeps the others from SQLite's one place to write.
            while not stop.wait(0.02):
                paid(studio, owner, ticket, 1)
        except Exception as error:
            broken.append(error)
        finally:
            connections.close_all()

    threads = [threading.Thread(target=write_payments, args=[ticket]) for ticket in tickets]
    for thread in threads:
        thread.start()
    begun.wait()
    try:
        # On PostgreSQL each is restored into a database of its own to be read back: dear.
        several = rounds(4, 10) if connection.vendor == "sqlite" else 2
        copies = [write.write_copy(clock.now()) for _ in range(several)]
    finally:
        stop.set()
        for thread in threads:
            thread.join()
    assert broken == []
    counts = []
    for place, copy in enumerate(copies):
        assert copy.faults == []
        payments = copy.manifest.figures.tables["billing_payment"]
        counts.append(payments.rows)
        assert payments.sums["amount"] == str(payments.rows)
        if connection.vendor == "sqlite":
            folder = data / f"restored{place}"
            assert restore.unpack(copy.path, folder) == (copy.manifest, [])
            with closing(sqlite3.connect(folder / databases.SQLITE_FILE)) as database:
                sql = "SELECT sum(last) FROM shop_numberseries WHERE key LIKE 'R%'"
                assert (database.execute(sql).fetchone()[0] or 0) == payments.rows
    assert counts == sorted(counts)
    assert counts[-1] <= Payment.objects.count()
    assert len(set(counts)) > 1
