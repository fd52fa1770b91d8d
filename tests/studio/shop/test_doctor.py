"""What the doctor finds, mends and says; and what a page says when the computer is the cause."""

import errno
import os
import re
import shutil
import sqlite3
from datetime import timedelta
from io import StringIO

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db import OperationalError, transaction
from django.test import Client
from django.urls import reverse

from studio.backup.checks import last_backup
from studio.shop import actions, clock, doctor, numbers
from studio.shop.http import server_error
from studio.shop.models import Entry, NumberSeries
from tests.factories import PictureFactory, UserFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def files(tmp_path, settings):
    settings.DATA_DIR = tmp_path
    tmp_path.chmod(0o700)
    (tmp_path / "files").mkdir(mode=0o700)
    settings.MEDIA_ROOT = tmp_path / "files"
    settings.STORAGES = settings.STORAGES | {
        "default": {
            "BACKEND": "django.core.files.storage.FileSystemStorage",
            "OPTIONS": {"location": str(tmp_path / "files")},
        }
    }
    return tmp_path


def found(studio) -> dict[str, doctor.Finding]:
    return {finding.name: finding for finding in doctor.findings(studio)}


# The folder


def test_other_accounts_of_the_machine_read_nothing(files, studio):
    """The database was written with the rights 0644, and its folder with 0755."""
    (files / "files" / "photos").mkdir()
    for name in ("studio.sqlite3", "secret_key", "files/photos/a.jpg"):
        (files / name).write_bytes(b"x")
        (files / name).chmod(0o644)
    (files / "files" / "photos").chmod(0o755)
    files.chmod(0o755)
    words = found(studio)["The folder is private"].words
    assert "may open the folder itself and 4 files in it, such as " in words
    assert doctor.lock_the_folder(files) == 5
    modes = {path.stat().st_mode & 0o777 for path in (files, *files.rglob("*")) if path.is_dir()}
    assert modes == {0o700}
    modes = {path.stat().st_mode & 0o777 for path in files.rglob("*") if path.is_file()}
    assert modes == {0o600}
    assert found(studio)["The folder is private"].good
    files.chmod(0o750)
    words = found(studio)["The folder is private"].words
    assert words == "Other accounts of this machine may open the folder itself."
    files.chmod(0o700)
    (files / "secret_key").chmod(0o640)
    words = found(studio)["The folder is private"].words
    assert words.endswith(" may open 1 file in it, such as secret_key.")
    (files / "secret_key").chmod(0o600)
    assert doctor.lock_the_folder(files) == 0


def test_what_the_program_writes_is_its_own():
    """Django has read the settings by now."""
    mask = os.umask(0)
    os.umask(mask)
    assert mask == 0o077


# Files


def test_files_without_rows_are_swept_and_rows_without_files_are_named(files, studio, owner_client):
    kept = PictureFactory()
    default_storage.save(kept.small_file, ContentFile(b"small"))
    lost = PictureFactory(file="own/2026/03/lost.jpg")
    Entry.objects.create(
        at=clock.now(), verb="picture.off",
        changes=[{"label": "makes.picture", "was": {"file": "own/2026/03/undo.jpg"}}],
    )  # fmt: skip
    for name in ("stray.jpg", "stray.small.jpg", "undo.jpg", "undo.small.jpg", "young.jpg"):
        default_storage.save(f"own/2026/03/{name}", ContentFile(b"x"))
        if name != "young.jpg":
            at = (clock.now() - timedelta(days=2)).timestamp()
            os.utime(default_storage.path(f"own/2026/03/{name}"), (at, at))
    at = clock.now().timestamp()
    os.utime(default_storage.path("own/2026/03/young.jpg"), (at, at))
    assert doctor.strays() == doctor.Strays(
        ["own/2026/03/stray.jpg", "own/2026/03/stray.small.jpg"], ["own/2026/03/lost.jpg"]
    )
    finding = found(studio)["Pictures and papers"]
    assert (finding.good, "1 file missing, such as" in finding.words) == (False, True)
    lost.delete()
    page = owner_client.get(reverse("doctor")).text
    assert "2 files without anything that is kept of them" in page
    form = re.search(r'<form method="post" action="(/studio/doctor/[^"]+)"', page)
    answer = owner_client.post(form[1], follow=True)
    assert "Swept: 2 files." in answer.text
    assert "Each file has its row" in answer.text
    assert default_storage.exists(str(kept.file))
    assert default_storage.exists("own/2026/03/undo.small.jpg")


# The clock


def test_a_clock_behind_the_newest_entry_is_said_and_no_number_is_taken_unasked(
    studio, watch, owner_client, monkeypatch
):

    Entry.objects.create(at=clock.now(), verb="client.add")
    assert "clock lies behind" not in owner_client.get(reverse("more")).text
    watch.shift(timedelta(days=-10))
    assert "clock lies behind the newest entry" in owner_client.get(reverse("more")).text
    assert not found(studio)["The clock"].good
    # Any verb that takes a number will do.

    plain = actions.add_days_off

    def with_number(**facts):
        with transaction.atomic():
            numbers.take_number("tried")
        return plain(**facts)

    monkeypatch.setattr(actions, "add_days_off", with_number)
    day = clock.today().isoformat()
    sent = {"first": day, "last": day, "reason": "Fair"}
    asked = owner_client.post(reverse("studio-days-off"), sent)
    assert asked.status_code == 409
    assert "Is the clock right?" in asked.text
    assert "Fair" in asked.text
    assert not NumberSeries.objects.filter(key="tried", last__gt=0).exists()
    answer = owner_client.post(reverse("studio-days-off"), sent | {"clock_is_right": "yes"})
    assert answer.status_code == 302
    assert NumberSeries.objects.get(key="tried").last == 1
    # What was done by the new time is the newest entry now, so nobody is asked again.
    assert "clock lies behind" not in owner_client.get(reverse("more")).text


# The page and the command


@pytest.fixture
def safe(monkeypatch):
    """The tests' own database need not survive a power cut, and has no copy; it would be said."""
    left_out = (doctor.journal, last_backup)
    monkeypatch.setattr(doctor, "CHECKS", [look for look in doctor.CHECKS if look not in left_out])


@pytest.mark.postgres
def test_a_database_that_would_lose_what_was_saved_is_named(studio, owner_client, monkeypatch):
    finding = doctor.journal(studio)
    assert not finding.good
    assert finding.words == "A power cut could lose what was saved."
    # How it is set is for who knows databases: the command says it, the page does not.
    monkeypatch.setattr(doctor, "CHECKS", [doctor.journal])
    assert finding.details
    assert finding.details not in owner_client.get(reverse("doctor")).text
    out = StringIO()
    with pytest.raises(CommandError):
        call_command("doctor", stdout=out)
    assert f"{finding.words} ({finding.details})" in out.getvalue()


def test_one_page_and_one_command_say_the_same(files, safe, studio, owner_client):
    page = owner_client.get(reverse("doctor")).text
    rows = re.findall(r"<li>\s*<svg.*?</li>", page.partition('class="pulse"')[2], re.DOTALL)
    findings = doctor.findings(studio)
    assert len(rows) == len(findings) >= 5
    out = StringIO()
    call_command("doctor", stdout=out)
    for row, finding, line in zip(rows, findings, out.getvalue().splitlines(), strict=True):
        assert finding.good, finding
        assert f"<b>{finding.name}</b>" in row
        assert 'aria-label="Well"' in row
        assert line.startswith(f"ok    {finding.name}: {finding.words}")


def test_a_studio_without_a_copy_is_not_well(studio, settings):
    finding = last_backup(studio)
    assert (finding.good, finding.words) == (False, "No backup yet. What you write exists once.")
    settings.DEMO = True
    finding = last_backup(studio)
    words = "The demo keeps no nightly copies. A studio of your own keeps one each night."
    assert (finding.good, finding.words) == (True, words)


def test_the_command_fails_where_something_is_wrong(files, safe, studio, monkeypatch):
    usage = shutil.disk_usage(files)._replace(free=40_000_000)
    monkeypatch.setattr("studio.shop.doctor.shutil.disk_usage", lambda _: usage)
    out = StringIO()
    with pytest.raises(CommandError, match="1 of "):
        call_command("doctor", stdout=out)
    assert out.getvalue().startswith("WRONG Room on the disk: 38 MB are free. Empty")


# What broke


class StateError(Exception):
    def __init__(self, sqlstate: str) -> None:
        super().__init__("as psycopg raises it")
        self.sqlstate = sqlstate


def of_postgres(state: str) -> OperationalError:
    wrong = OperationalError("as Django hands it on")
    wrong.__cause__ = StateError(state)
    return wrong


@pytest.mark.parametrize(
    ("wrong", "status", "title"),
    [
        (OperationalError("database or disk is full"), 507, "The drawer is full"),
        (OSError(errno.EROFS, "Read-only file system"), 507, "locked from outside"),
        (OperationalError("attempt to write a readonly database"), 507, "locked from outside"),
        (of_postgres("25006"), 507, "locked from outside"),
        (OperationalError("database is locked"), 503, "Somebody has the book open"),
        (of_postgres("55P03"), 503, "Somebody has the book open"),
        (sqlite3.OperationalError("unable to open database file"), 503, "cannot be opened"),
        (of_postgres("57P01"), 503, "cannot be opened"),
        (OperationalError("database disk image is malformed"), 500, "is torn"),
        (KeyError("a fault of ours"), 500, "The thread broke"),
    ],
)
def test_a_page_that_breaks_names_the_cause(studio, monkeypatch, wrong, status, title):
    person = UserFactory()
    door = Client(raise_request_exception=False)
    door.force_login(person)

    def fail(*_args, **_facts):
        raise wrong

    monkeypatch.setattr("studio.shop.actions.add_days_off", fail)
    day = clock.today().isoformat()
    sent = {"first": day, "last": day, "reason": "Fair"}
    answer = door.post(reverse("studio-days-off"), sent)
    assert (answer.status_code, title in answer.text) == (status, True)
    assert ("Retry-After" in answer) == (status == 503)
    assert ("was saved before is safe" in answer.text) == (title != "is torn")
    # What was typed can be sent again, unless the fault is ours.
    known = title != "The thread broke"
    assert ("Fair</textarea>" in answer.text) == ("Save again" in answer.text) == known
    assert "default-src 'self'" in answer["Content-Security-Policy"]


def test_what_passes_is_tried_again_where_it_was_read(rf, monkeypatch):
    """A page that was asked for is asked for again; what was sent is not sent by a link."""
    monkeypatch.setattr(doctor, "breakdown", lambda: doctor.LOCKED)
    read = server_error(rf.get("/clients/", {"q": "moss"})).content.decode()
    assert 'href="/clients/?q=moss">Try again<' in read
    assert "Try again<" not in server_error(rf.post("/clients/")).content.decode()
    monkeypatch.setattr(doctor, "breakdown", lambda: doctor.DAMAGED)
    assert "Try again<" not in server_error(rf.get("/clients/")).content.decode()


def test_a_folder_that_cannot_be_written_is_no_disk_that_is_gone(monkeypatch, tmp_path, settings):
    """SQLite says of both that it cannot open a file: of one that it cannot make its journal."""
    wrong = sqlite3.OperationalError("unable to open database file")
    settings.DATA_DIR = tmp_path
    assert doctor.cause_of(wrong) is doctor.SHUT
    monkeypatch.setattr("studio.shop.doctor.os.access", lambda _path, _how: False)
    assert doctor.cause_of(wrong) is doctor.READ_ONLY
    settings.DATA_DIR = tmp_path / "gone"
    assert doctor.cause_of(wrong) is doctor.SHUT


def test_a_clock_of_before_the_program_was_written_is_named(watch):
    watch.move_to("1970-01-02 00:00Z")
    assert doctor.cause_of(KeyError("x")) is doctor.CLOCK


def test_what_breaks_before_the_page_is_named_too(studio, monkeypatch):
    def fail():
        raise OperationalError("database is locked")

    monkeypatch.setattr("studio.shop.middleware.Profile.load", fail)
    door = Client(raise_request_exception=False)
    answer = door.get("/")
    assert (answer.status_code, "Somebody has the book open" in answer.text) == (503, True)
    # The form's token was not looked at yet: what was typed is kept of a form of ours alone, which
    # a browser says by Fetch Metadata on secure addresses and by Origin on all.
    ours = {"Origin": "http://testserver", "Host": "testserver"}
    for headers, kept in (
        (ours, True), ({"Sec-Fetch-Site": "same-origin"}, True), ({}, False),
        ({**ours, "Origin": "http://elsewhere"}, False),
        ({**ours, "Sec-Fetch-Site": "cross-site"}, False), ({"Origin": "null"}, False),
    ):  # fmt: skip
        answer = door.post(reverse("client-new"), {"name": "Ann"}, headers=headers)
        assert answer.status_code == 503
        assert ("Ann</textarea>" in answer.text) is kept
