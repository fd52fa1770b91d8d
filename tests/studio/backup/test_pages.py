"""The owner's pages about copies, and the lines that tell of them elsewhere."""

import csv
import io
import json
import zipfile
from datetime import timedelta
from pathlib import Path

import pytest
import time_machine
from django.test import Client
from django.urls import reverse
from django.utils.html import strip_tags

from clients.models import Client as Person
from studio.backup import asked, options, restore, write
from studio.backup.checks import last_backup, restore_that_waits
from studio.backup.core.manifest import Figures, Manifest, TableFigures
from studio.backup.core.retention import KeepRule
from studio.backup.models import Backup, Kind
from studio.shop import clock
from studio.shop.doors import logins
from studio.shop.history import of
from studio.shop.models import Profile, User
from tests import factories as f
from tests.drafts import paid, received

pytestmark = pytest.mark.any_day


@pytest.fixture
def pages(owner_client: Client, data: Path) -> Client:
    """A client for pages; no copy is there yet."""
    return owner_client


def night(wrong: list[str] | None = None, *, days_ago: int = 0, **facts: object) -> Backup:
    moment = clock.now() - timedelta(days=days_ago, hours=8)
    name = f"{moment:{write.NAME}}.zip" if not facts.pop("failed", False) else ""
    if name:
        (options.copies_folder() / name).write_bytes(b"PK" * 600)
    return Backup.objects.create(
        kind=Kind.NIGHT, night=clock.local(moment).date(), started_at=moment,
        finished_at=moment, name=name, size=1200, tickets=180, paid=714395,
        currency="EUR", wrong=wrong or [], **facts,
    )  # fmt: skip


def test_today_says_in_one_line_how_the_copies_stand(pages: Client, studio: Profile, owner: User):
    received(studio, owner)
    # One line: it is among the first steps until these are put away.
    assert text(pages, "today").count("The first backupWhat you write exists once.") == 1
    assert "No backup yet" not in text(pages, "today")
    pages.post(reverse("first-steps-away"))
    assert "No backup yet: What you write exists once." in text(pages, "today")
    assert "The first backup" not in text(pages, "today")
    night()
    assert "180 tickets, €7,143.95 paid, read back and equal" in text(pages, "today")
    assert text(pages, "today").count("Backed up ") == 1
    Backup.objects.update(started_at=clock.now() - timedelta(days=6, hours=1))
    assert "No backup for 6 days: The program was closed." in text(pages, "today")
    Backup.objects.update(night=None)
    night(["The disk is full."], failed=True)
    assert "No backup for 6 days: The disk is full." in text(pages, "today")


def test_a_copy_counts_while_its_file_is_there(pages: Client, studio: Profile):
    """The rows came back with restored data; the folder they came into is empty."""
    older, latest = night(days_ago=5), night()
    assert last_backup(studio).good
    (options.copies_folder() / latest.name).unlink()
    finding = last_backup(studio)
    assert not finding.good
    assert finding.words == "No backup for 5 days. Later copies are not in this folder."
    (options.copies_folder() / older.name).unlink()
    finding = last_backup(studio)
    assert not finding.good
    assert finding.words.startswith("No backup here yet. Earlier copies are not in this folder.")
    assert "No backup here yet" in text(pages, "backups")


def test_a_helper_is_told_nothing_of_copies(helper_client: Client, studio: Profile, owner: User):
    received(studio, owner)
    assert "ackup" not in helper_client.get(reverse("today")).text


def text(client: Client, name: str) -> str:
    return " ".join(strip_tags(client.get(reverse(name)).text).split())


@pytest.mark.parametrize("count", [1, 3])
def test_the_page_shows_what_is_there(pages: Client, count: int, django_assert_num_queries):
    for days_ago in range(count):
        night(days_ago=days_ago, second="The disk is not there.")
    # The session, the user, the profile; the tries, and the latest of them.
    with django_assert_num_queries(5):
        page = pages.get(reverse("backups"))
    assert page.text.count('class="good"') == count
    assert page.text.count("1.2 KB") == count
    assert "The disk is not there." in page.text
    name = Backup.objects.latest("pk").name
    newest = max(Backup.objects.values_list("name", flat=True))
    assert f"manage.py restore {newest}</code>" in page.text
    answer = pages.get(reverse("backup-file", args=[name]))
    assert b"".join(answer.streaming_content) == b"PK" * 600
    assert pages.get(reverse("backup-file", args=["secret_key"])).status_code == 404


@pytest.mark.postgres
def test_a_copy_is_looked_into_and_asked_to_be_put_back(
    pages: Client, helper_client: Client, studio: Profile, owner: User, monkeypatch, settings,
    django_assert_num_queries,
):  # fmt: skip
    copy, other = night(days_ago=3), night()
    manifest = manifest_of_one_ticket()
    monkeypatch.setattr(restore, "try_out", lambda path, **_: (manifest, []))
    monkeypatch.setattr(asked, "is_possible", lambda: True)
    paid(studio, owner, received(studio, owner, note="since"), amount=2400)
    paid(studio, owner, received(studio, owner), amount=400)
    address = reverse("backup-copy", args=[copy.name])
    assert "Put back at the next start" not in pages.get(address).text
    pages.post(reverse("backup-put-back", args=[copy.name]))
    assert asked.load() is None
    pages.post(reverse("backup-look", args=[copy.name]))
    # The session, the user, the profile; the row, two of the counts.
    with django_assert_num_queries(6):
        page = pages.get(address)
    words = " ".join(strip_tags(page.text.replace("<", " <")).split())
    assert "Tickets 1 2" in words
    assert "Paid in all €10.50 €28.00" in words
    assert "Gone would be 1 ticket 1 payment of €17.50" in words
    assert page.text.count("btn main") == 1
    # Fresh password.
    session = pages.session
    session[logins.PROVED] = ""
    session.save()
    put_back = reverse("backup-put-back", args=[copy.name])
    assert "Your password again" in pages.post(put_back).text
    assert asked.load() is None
    pages.post(put_back, {"proof-username": "owner", "proof-password": f.PASSWORD})
    assert asked.load() == asked.AskedRestore(copy.name)
    assert "It waits for the next start." in pages.get(address).text
    assert "put back next" in pages.get(reverse("backups")).text
    assert not restore_that_waits(studio).good
    # Everybody who writes meanwhile is told, and the copy does not go by the rule.
    for client in (pages, helper_client):
        assert "At the next start the studio goes back to " in client.get(reverse("today")).text
    assert write.drop_old(KeepRule(days=1, weeks=0, months=0)) == []
    pages.post(reverse("backup-take-back"))
    assert asked.load() is None
    assert restore_that_waits(studio).good
    assert write.drop_old(KeepRule(days=1, weeks=0, months=0)) == [copy.name]
    asked.save(asked.AskedRestore(other.name, wrong="It is damaged."))
    assert "It is damaged. All is as it was." in pages.get(reverse("backups")).text
    # A copy that no row knows, such as after a restore, is remembered by the look.
    Backup.objects.all().delete()
    pages.post(reverse("backup-look", args=[other.name]))
    row = Backup.objects.get()
    assert (row.name, row.tickets, row.paid, row.good) == (other.name, 1, 1050, True)
    (options.copies_folder() / "studio-2026-03-10T090000Z-before-restore.zip").write_bytes(b"PK")
    assert "Before a restore" in pages.get(reverse("backups")).text


@pytest.mark.postgres
def test_where_several_machines_may_have_the_data_the_command_is_said(pages: Client, monkeypatch):
    copy = night()
    monkeypatch.setattr(asked, "is_possible", lambda: False)
    page = pages.get(reverse("backup-copy", args=[copy.name])).text
    assert "Close the program on every machine" in page
    assert f"manage.py restore {copy.name}</code>" in page
    pages.post(reverse("backup-put-back", args=[copy.name]))
    assert asked.load() is None


def test_the_studios_doors_begin_with_the_backup(pages: Client, settings):
    page = pages.get(reverse("studio-settings")).text
    assert "No backup yet" in page
    assert 'class="btn big main"' in page
    night()
    page = pages.get(reverse("studio-settings")).text
    assert "read back and equal" in page
    assert 'class="btn big main"' not in page
    # The demo's data can be filled in again: pages and doctor ask for no copy of them.
    Backup.objects.all().delete()
    settings.DEMO = True
    for name in ("studio-settings", "backups"):
        page = pages.get(reverse(name)).text
        assert "The demo keeps no nightly copies" in page
        assert "backup wrong" not in page
    # One that was made by hand is told of as anywhere.
    night()
    assert "read back and equal" in pages.get(reverse("backups")).text
    Backup.objects.all().delete()
    f.TicketFactory()
    assert "ackup" not in strip_tags(pages.get(reverse("today")).text)


def test_back_up_now_says_what_came_of_it(pages: Client, monkeypatch: pytest.MonkeyPatch):
    fresh = write.FreshCopy(Path(__file__), 9, manifest_of_one_ticket(), [])
    monkeypatch.setattr(write, "write_copy", lambda *_: fresh)
    page = pages.post(reverse("backup-now"), follow=True).text
    assert "Backed up: 1 ticket, €10.50 paid, read back and equal." in page

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(write, "write_copy", full)
    assert "The disk is full." in pages.post(reverse("backup-now"), follow=True).text


def manifest_of_one_ticket() -> Manifest:
    tables = {
        "tickets_ticket": TableFigures(1),
        "billing_payment": TableFigures(1, {"amount": "1050"}),
    }
    return Manifest("0.1.0", "sqlite", "now", [], Figures(tables, []))


def test_a_folder_is_named_and_marked_as_the_second_place(pages: Client, tmp_path: Path):
    url = reverse("backup-place") + "?place=folder"
    assert "Write the whole path" in pages.post(url, {"folder": "stick"}).text
    assert "The folder is not there." in pages.post(url, {"folder": f"{tmp_path}/no"}).text
    assert options.load().place == ""
    assert pages.post(url, {"folder": str(tmp_path)}).status_code == 302
    assert options.load().folder == str(tmp_path)
    assert (options.data_folder() / "backup.json").stat().st_mode & 0o777 == 0o600
    assert len(of(Profile.objects.get())) == 1
    assert pages.post(reverse("backup-place") + "?place=").status_code == 302
    assert options.load() == options.Options()


def test_a_passphrase_is_asked_twice_and_kept_nowhere(
    pages: Client, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setattr(options, "new_key", lambda words: ("key", "lock", "00"))
    url, words = reverse("backup-passphrase"), "five loose words here"
    assert "not the same" in pages.post(url, {"passphrase": words, "again": words + "x"}).text
    assert pages.post(url, {"passphrase": words, "again": words}).status_code == 302
    assert options.load().locks
    kept = "".join(path.read_text() for path in options.data_folder().glob("*.json"))
    assert words not in kept
    assert pages.post(url, {"open": "yes"}).status_code == 302
    assert not options.load().locks


def test_everything_comes_out_with_its_fractions(pages: Client, studio: Profile, owner: User):
    """27 3/8 in are 695.325 mm by definition (an inch is 25.4 mm)."""
    ticket = received(studio, owner)
    payment = paid(studio, owner, ticket, 1050)
    line = ticket.garments.get().lines.get()
    line.amount_mm = "695.3250"
    line.save(update_fields=["amount_mm"])
    person = f.ClientFactory(name='Ada "Pins", Ash')
    answer = pages.get(reverse("everything"))
    with zipfile.ZipFile(io.BytesIO(b"".join(answer.streaming_content))) as zipped:
        names = set(zipped.namelist())
        lines = table(zipped, "tickets_line")
        people = {row["id"]: row for row in table(zipped, "clients_client")}
        payments = json.loads(zipped.read("tables/billing_payment.json"))
        users = table(zipped, "shop_user")
    assert lines[0]["amount_mm"] == "695.3250"
    assert people[str(person.pk)]["name"] == 'Ada "Pins", Ash'
    assert payments == [payments[0] | {"amount": 1050, "number": payment.number}]
    assert "password" not in users[0]
    assert "tables/django_session.csv" not in names
    assert len(people) == Person.objects.count()


def table(zipped: zipfile.ZipFile, name: str) -> list[dict[str, str]]:
    text = zipped.read(f"tables/{name}.csv").decode("utf-8-sig")
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_last_night_is_called_so_until_the_day_is_over(
    pages: Client, studio: Profile, owner: User, watch: time_machine.Traveller
):
    received(studio, owner)
    row = night()
    row.started_at = clock.now().replace(hour=2, minute=0)
    row.save()
    assert "Backed up last night" in text(pages, "today")
