"""A small studio of every earlier state is brought up to date: nothing that it held is another.

A state is a version that somebody may have worked with. `states/` has one small studio of each,
made by `keep_state.py` in a checkout of that state and named by its moment and commit, and the
copies that states made of themselves once they could. Each holds a ticket of three garments with a
photograph, an invoice in part paid with its paper, a credit note, a fitting, clients merged and
erased, own sewing. Version 0.1.0 has `test_upgrade.py`.
"""

import hashlib
import sqlite3
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.contrib.contenttypes.models import ContentType
from django.core.management import call_command
from django.db import DEFAULT_DB_ALIAS, connections
from django.test import override_settings

from jobs.billing.sealed_book import prove
from jobs.counter.sums import all_sums
from jobs.tickets.models import Ticket
from studio.backup import restore
from studio.shop import clock, doctor
from studio.shop.models import Profile, StoredPaper, User
from studio.shop.paper import serve_paper
from tests.conftest import as_read, logged_in
from tests.thorough import thinned
from tests.upgrades.test_upgrade import changed_columns, tables

STATES = sorted((Path(__file__).parent / "states").glob("*.zip"))
# The oldest, one in the middle, and the newest by the program's own copy.
USUALLY = {STATES[0], STATES[len(STATES) // 2], STATES[-2]}

pytestmark = [pytest.mark.only_on("sqlite"), pytest.mark.any_day]


@contextmanager
def opened(folder: Path) -> Iterator[None]:
    """The program works in that folder, on its database, as if it had been started there."""
    path = {"NAME": str(folder / "studio.sqlite3")}
    known = connections.configure_settings({DEFAULT_DB_ALIAS: settings.SQLITE | path})
    living, before = connections[DEFAULT_DB_ALIAS], connections.settings[DEFAULT_DB_ALIAS]
    connections.settings[DEFAULT_DB_ALIAS] = known[DEFAULT_DB_ALIAS]
    del connections[DEFAULT_DB_ALIAS]
    storages = settings.STORAGES | {
        "default": settings.STORAGES["default"]
        | {"OPTIONS": {"location": folder / "files", "base_url": None}}
    }
    try:
        with override_settings(DATA_DIR=folder, STORAGES=storages, STORE={}):
            ContentType.objects.clear_cache()
            yield
    finally:
        connections[DEFAULT_DB_ALIAS].close()
        connections.settings[DEFAULT_DB_ALIAS] = before
        connections[DEFAULT_DB_ALIAS] = living
        ContentType.objects.clear_cache()


def unpack(state: Path, folder: Path) -> None:
    """A copy by the program's own way back, which compares it with what it says of itself."""
    if state.stem.endswith("-backup"):
        _, faults = restore.unpack(state, folder)
        assert faults == []
        return
    with zipfile.ZipFile(state) as archive:
        archive.extractall(folder)
    with sqlite3.connect(folder / "studio.sqlite3") as database:
        database.executescript((folder / "studio.sql").read_text())


@pytest.mark.parametrize(
    "state", thinned(STATES, USUALLY.__contains__), ids=lambda state: state.stem
)
def test_a_studio_of_an_earlier_state_is_brought_up_to_date(
    state: Path, tmp_path: Path, django_db_blocker: Any
):
    with django_db_blocker.unblock(), opened(tmp_path):
        unpack(state, tmp_path)
        before = tables(tmp_path / "studio.sqlite3")
        files = {path: path.read_bytes() for path in (tmp_path / "files").rglob("*.*")}
        call_command("after_restore" if state.stem.endswith("-backup") else "migrate", verbosity=0)
        after = tables(tmp_path / "studio.sqlite3")

        assert changed_columns(before, after) == []
        assert {path: path.read_bytes() for path in files} == files

        studio = Profile.objects.get()
        clock.activate(studio)
        ticket = Ticket.objects.order_by("number").first()
        assert ticket is not None
        assert [garment.letter for garment in ticket.garments.all()] == ["A", "B", "C"]
        assert len(files) == 2
        (paper,) = StoredPaper.objects.all()
        assert hashlib.sha256(serve_paper(paper).content).hexdigest() == paper.sha256
        assert [str(each) for each in all_sums(studio) if not each.right] == []
        proof = prove()
        assert (proof.flaws, proof.sealed) == ([], 4)
        wrong = {finding.name for finding in doctor.findings(studio) if not finding.good}
        assert wrong <= {"Backup", "Room on the disk"}
        browser = logged_in(User.objects.get(username="owner"))
        page = as_read(browser.get(f"/t/{ticket.number}/").text)
        assert "Mary Larkin" in page
        for (words,) in old_sentences(before, ticket):
            assert words in page
        for invoice in after["billing_invoice"]["number"]:
            assert browser.get(f"/invoices/{invoice}/").status_code == 200


def old_sentences(before: dict[str, Any], ticket: Ticket) -> list[tuple[str]]:
    """What the history of the oldest states held as sentences."""
    acts = before.get("tickets_act", {"ticket_id": [], "words": []})
    kept = zip(acts["ticket_id"], acts["words"], strict=True)
    return [(words,) for of, words in kept if of == ticket.pk]


def test_there_is_a_state_of_each_step_and_they_are_small():
    assert STATES[-2].stem.endswith("-backup")
    assert len(STATES) >= 7
    assert sum(path.stat().st_size for path in STATES) < 1_000_000
