"""A copy comes back: verified first, put in place at once, or nothing is changed."""

import os
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from datetime import timedelta
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command
from django.db import connection

from clients.models import Client
from jobs.counter.privacy.actions import erase
from jobs.tickets.models import State
from studio.backup import asked, erasures, options, restore, running, upgrade, write
from studio.backup.core.manifest import BackupError
from studio.backup.models import Backup, Kind
from studio.shop import clock
from studio.shop.models import Entry, Profile, User
from tests import factories as f
from tests.drafts import received

pytestmark = pytest.mark.any_day
ROOT = Path(settings.BASE_DIR)


@pytest.fixture
def place(transactional_db: None, studio: Profile, owner: User, data: Path) -> Path:
    """A data folder with a database of its own, and a copy of it; gives the copy."""
    received(studio, owner)
    tests = connection.settings_dict["NAME"]
    with (
        closing(sqlite3.connect(data / "studio.sqlite3")) as target,
        closing(sqlite3.connect(tests)) as source,
    ):
        source.backup(target)
    path = write.write_copy(clock.now()).path
    with closing(sqlite3.connect(data / "studio.sqlite3")) as database:
        database.execute("UPDATE tickets_ticket SET note = 'written since'")
        database.commit()
    return path


def notes(data: Path) -> list[str]:
    with closing(sqlite3.connect(data / "studio.sqlite3")) as database:
        return [row[0] for row in database.execute("SELECT note FROM tickets_ticket")]


@pytest.fixture
def _quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """What the program does in the new place is its own test, with processes of its own."""
    monkeypatch.setattr(restore, "bring_up_to_date", lambda *_: None)


@pytest.mark.usefixtures("_quick")
@pytest.mark.only_on("sqlite")
def test_a_copy_comes_back_and_what_was_there_is_kept(place: Path, data: Path):
    data.chmod(0o755)
    restore.restore(place, moment=clock.now())
    assert data.stat().st_mode & 0o777 == 0o700
    assert notes(data) == [""]
    before = next(data.glob("before-restore-*"))
    assert notes(before) == ["written since"]
    assert not (data / "restored").exists()
    assert not (data / "restoring.json").exists()
    assert place.exists()


@pytest.mark.usefixtures("_quick")
@pytest.mark.only_on("sqlite")
def test_nothing_is_changed_while_the_program_runs(place: Path, data: Path):
    # A lock of another process; flock locks are of open files, so another handle does.
    running.hold()
    with pytest.raises(BackupError, match="The program is running"):
        restore.restore(place, moment=clock.now())
    running.let_go()
    assert notes(data) == ["written since"]
    assert not list(data.glob("before-restore-*"))


@pytest.mark.usefixtures("_quick")
@pytest.mark.only_on("sqlite")
def test_nothing_is_changed_by_a_copy_that_is_not_whole(place: Path, data: Path):
    whole = place.read_bytes()
    for content in (whole[:-1], whole[:5000] + b"\x00" + whole[5001:], b""):
        place.write_bytes(content)
        with pytest.raises(BackupError):
            restore.restore(place, moment=clock.now())
        assert notes(data) == ["written since"]
        assert not (data / "restored").exists()
    with pytest.raises(BackupError, match="There is no file"):
        restore.restore(data / "none.zip", moment=clock.now())


@pytest.mark.usefixtures("_quick")
@pytest.mark.parametrize("renames", range(4))
@pytest.mark.only_on("sqlite")
def test_stopped_in_the_middle_it_is_finished_at_the_next_start(
    place: Path, data: Path, monkeypatch: pytest.MonkeyPatch, renames: int
):
    """The power fails after so many renames; there are four, two of them of files of the plan."""
    rename, done = Path.rename, []

    def fail(self: Path, target: Path) -> Path:
        if self.name in {"studio.sqlite3", "files"}:
            if len(done) == renames:
                raise KeyboardInterrupt
            done.append(self)
        return rename(self, target)

    (data / "files").mkdir()
    with monkeypatch.context() as patch:
        patch.setattr(Path, "rename", fail)
        with pytest.raises(KeyboardInterrupt):
            restore.restore(place, moment=clock.now())
    restore.finish_at_start()
    assert notes(data) == [""]
    assert notes(next(data.glob("before-restore-*"))) == ["written since"]
    restore.finish_at_start()
    assert notes(data) == [""]


@pytest.mark.usefixtures("_quick")
@pytest.mark.only_on("sqlite")
def test_a_locked_copy_comes_back_by_its_passphrase(
    place: Path, data: Path, key: tuple[str, str, str]
):
    identity, recipient, locked_key = key
    options.save(options.Options(identity=identity, recipient=recipient, key=locked_key))
    locked = write.write_copy(clock.now() + timedelta(seconds=1)).path
    (data / "backup.json").unlink()  # another machine
    with pytest.raises(BackupError, match="needs its passphrase"):
        restore.restore(locked, moment=clock.now())
    with pytest.raises(BackupError, match="passphrase is wrong"):
        restore.restore(locked, moment=clock.now(), passphrase="pins and needle")
    assert notes(data) == ["written since"]
    restore.restore(locked, moment=clock.now(), passphrase="pins and needles")
    assert [path.name for path in options.copies_folder().glob(".working-*")] == []


# Asked for on a page, and done at the next start


@pytest.mark.usefixtures("_quick")
@pytest.mark.parametrize(
    "stopped", ["write_copy", "unpack", "bring_up_to_date", "_begin", "forget"]
)
@pytest.mark.only_on("sqlite")
def test_what_was_asked_for_is_done_at_the_start_whenever_that_was_stopped(
    place: Path, data: Path, monkeypatch: pytest.MonkeyPatch, stopped: str
):
    def stop(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    asked.save(asked.AskedRestore(place.name))
    running.hold()
    restore.carry_out(sys.stdout)  # another process is open: it waits
    running.let_go()
    with monkeypatch.context() as patch:
        patch.setattr(asked if stopped == "forget" else restore, stopped, stop)
        with pytest.raises(KeyboardInterrupt):
            restore.carry_out(sys.stdout)
    assert notes(data) == ["" if stopped == "forget" else "written since"]
    assert asked.load() == asked.AskedRestore(place.name, tries=1)
    restore.finish_at_start()
    restore.carry_out(sys.stdout)
    assert notes(data) == [""]
    assert notes(asked.put_aside() or data) == ["written since"]
    assert asked.load() is None
    if stopped != "forget":
        assert Entry.objects.latest("pk").verb == "backup.put_back"


@pytest.mark.usefixtures("_quick")
@pytest.mark.only_on("sqlite")
def test_what_cannot_be_put_back_is_said_and_the_studio_opens_as_it_was(place: Path, data: Path):
    asked.save(asked.AskedRestore(place.name))
    content = place.read_bytes()
    place.write_bytes(content[:5000] + bytes([content[5000] ^ 0xFF]) + content[5001:])
    restore.carry_out(sys.stdout)
    assert "damaged" in (asked.load() or asked.AskedRestore("")).wrong
    assert notes(data) == ["written since"]
    made = [path for path in options.copies_folder().glob("studio-*") if path != place]
    assert len(made) == 1
    assert asked.PUT_ASIDE in made[0].name
    # Nor is it tried for ever where the machine goes down each time.
    place.write_bytes(content)
    asked.save(asked.AskedRestore(place.name, tries=asked.MOST_TRIES))
    restore.carry_out(sys.stdout)
    assert "stopped 3 times" in (asked.load() or asked.AskedRestore("")).wrong
    assert notes(data) == ["written since"]


@pytest.mark.only_on("sqlite")
@pytest.mark.real_time
def test_a_server_that_is_killed_at_it_has_the_old_or_the_new(place: Path, data: Path):
    asked.save(asked.AskedRestore(place.name))
    environment = {name: value for name, value in os.environ.items() if name[:7] != "STUDIO_"}
    environment |= {"STUDIO_DATA": str(data), "DATABASE_URL": ""}
    environment |= {"DJANGO_SETTINGS_MODULE": "studio.settings"}
    command = [sys.executable, "manage.py", "serve", "--port", "47400"]

    def serve() -> "subprocess.Popen[str]":
        return subprocess.Popen(
            command, cwd=ROOT, env=environment, text=True, stdout=subprocess.PIPE
        )

    with serve() as process:
        until = time.monotonic() + 60
        while not (data / "restored").exists() and time.monotonic() < until:
            assert process.poll() is None
            time.sleep(0.01)
        process.kill()
    assert notes(data) == ["written since"]
    with serve() as process:
        try:
            said = ""
            while "Open http" not in said:
                line = process.stdout.readline()
                assert line, said
                said += line
            assert notes(data) == [""]
        finally:
            process.kill()
    assert "It is in place." in said
    assert notes(asked.put_aside() or data) == ["written since"]
    assert asked.load() is None


# Erasures


def test_who_is_erased_is_remembered_outside_of_the_database(
    transactional_db: None, studio: Profile, owner: User, data: Path
):
    client = f.ClientFactory(name="Ada Ash")
    merged = f.ClientFactory(name="A. Ash", merged_into=client)
    erase(client=client, studio=studio, by=owner)
    assert set(erasures.erased()) == {client.erasure_key, merged.erasure_key}
    ledger = erasures.ledger()
    assert ledger.stat().st_mode & 0o777 == 0o600
    assert "Ash" not in ledger.read_text()
    assert str(client.pk) not in {word for line in ledger.open() for word in line.split()}
    # A line that a power cut left half is passed over, and the next one is written after it.
    with ledger.open("a") as file:
        file.write("2026-03-11T10:30:00+00:00 12ab")
    assert len(erasures.erased()) == 2


def test_a_client_erased_since_is_erased_again_whatever_was_open_then(
    studio: Profile, owner: User, data: Path, django_capture_on_commit_callbacks
):
    ticket = received(studio, owner, note="for Ada's wedding")
    other = f.ClientFactory(name="Bea Brook")
    erasures.remember([ticket.client.erasure_key])
    with django_capture_on_commit_callbacks(execute=True):
        call_command("after_restore")
    ticket.refresh_from_db()
    assert ticket.client.erased_at
    assert ticket.client.name == "Erased client"
    assert ticket.note == ""
    assert ticket.state == State.RECEIVED
    other.refresh_from_db()
    assert other.name == "Bea Brook"
    call_command("after_restore")
    assert Client.objects.exclude(erased_at=None).count() == 1


# Upgrades


def test_a_copy_is_made_before_an_upgrade_that_changes_something(
    transactional_db: None, studio: Profile, owner: User, data: Path, monkeypatch
):
    received(studio, owner)
    upgrade.upgrade()
    assert list(options.copies_folder().iterdir()) == []
    plans = "migration_plan"
    monkeypatch.setattr(write.MigrationExecutor, plans, lambda *_, **__: [("one", False)])
    migrated: list[str] = []
    monkeypatch.setattr(upgrade, "call_command", lambda name, **_: migrated.append(name))
    upgrade.upgrade()
    assert migrated == ["migrate"]
    row = Backup.objects.get()
    assert (row.kind, row.tickets) == (Kind.UPGRADE, 1)
    assert row.name.endswith("-before-upgrade.zip")
    assert row.good

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(write, "write_copy", full)
    with pytest.raises(CommandError, match="The disk is full"):
        upgrade.upgrade()
    assert migrated == ["migrate"]


# By the documentation, word for word


@pytest.mark.real_time
@pytest.mark.only_on("sqlite")
def test_the_commands_of_the_documentation_bring_a_studio_back_on_an_empty_machine(
    place: Path, data: Path, tmp_path: Path, record_property
):
    begin = ".venv/bin/python manage.py "
    whole = (ROOT / "docs/backup.md").read_text()
    page = whole.partition("## On an empty machine")[2].partition("\n## ")[0]
    by_hand, *_ = [line.removeprefix(begin) for line in whole.splitlines() if begin in line]
    first, *others = [line.removeprefix(begin) for line in page.splitlines() if begin in line]
    words = ["manage.py", *first.split()]
    empty = tmp_path / "empty"
    empty.mkdir()
    erased = Client.objects.get()
    (empty / "erasures.txt").write_text(f"2026-03-11T10:30:00+00:00 {erased.erasure_key}\n")
    words = [str(place) if word == "FILE" else word for word in words]
    began = time.perf_counter()
    answer = run([sys.executable, *words], empty)
    record_property(
        "figure", f"a small copy restored on an empty machine: {time.perf_counter() - began:.1f} s"
    )
    assert "is whole" in answer
    assert "before" not in answer
    assert not list(empty.glob("before-*"))
    assert tickets_of(empty) == [(*tickets_of(data)[0][:3], "Erased client")]
    # The next of the page, and *Back up now*, after which the doctor has nothing to say of copies.
    assert (by_hand, others) == ("backup", ["prove", "doctor"])
    said = run([sys.executable, "-c", ONE_AFTER_THE_OTHER, "prove", by_hand, "doctor"], empty)
    assert "No copy was ever made" not in said
    assert len(list((empty / "backups").glob("studio-*.zip"))) == 1


# Three commands for the price of one; the doctor may find too little room on the tests' machine.
ONE_AFTER_THE_OTHER = """
import sys
from contextlib import suppress
from django.core.management import CommandError, call_command
import django
django.setup()
*first, last = sys.argv[1:]
for command in first:
    call_command(command)
with suppress(CommandError):
    call_command(last)
"""


def tickets_of(data: Path) -> list[tuple]:
    with closing(sqlite3.connect(data / "studio.sqlite3")) as database:
        sql = "SELECT number, state, gross, name FROM tickets_ticket JOIN clients_client c"
        return database.execute(f"{sql} ON c.id = client_id ORDER BY number").fetchall()


def run(command: list[str], data: Path) -> str:
    kept = {name: value for name, value in os.environ.items() if not name.startswith("STUDIO_")}
    kept |= {
        "STUDIO_DATA": str(data),
        "DATABASE_URL": "",
        "DJANGO_SETTINGS_MODULE": "studio.settings",
    }
    done = subprocess.run(command, cwd=ROOT, env=kept, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout
