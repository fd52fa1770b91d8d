"""The studio moves to another kind of database and back: equal, to the last row."""

import os
import sqlite3
import subprocess
import sys
from contextlib import closing
from decimal import Decimal
from pathlib import Path

import psycopg
import pytest
from django.apps import apps
from django.conf import LazySettings
from django.core.management import call_command
from django.db import connection
from django.db.backends.base.base import BaseDatabaseWrapper

from jobs.billing.sealed_book import prove
from studio.backup import databases, moving, restore, running, write
from studio.backup.core.manifest import BackupError, differences
from studio.backup.models import Kind
from studio.shop import clock
from studio.shop.models import Profile, StoredPaper, User
from studio.shop.paper import store_paper
from studio.shop.stored.files import atomic_with_files
from tests import factories as f
from tests.drafts import paid, received

pytestmark = [pytest.mark.any_day, pytest.mark.django_db(transaction=True)]
ROOT = Path(__file__).parents[3]


@pytest.fixture
def filled(transactional_db: None, studio: Profile, owner: User, data: Path) -> Profile:
    ticket = received(studio, owner)
    paid(studio, owner, ticket, 1050)
    line = ticket.garments.get().lines.get()
    line.amount_mm = Decimal("695.3250")
    line.save(update_fields=["amount_mm"])
    with atomic_with_files():
        store_paper("Receipt", b"%PDF-1.7 receipt")
    return studio


@pytest.mark.only_on("sqlite")
def test_nothing_moves_to_where_it_is(filled: Profile):
    with pytest.raises(BackupError, match="already"):
        moving.move("")
    running.hold()
    with pytest.raises(BackupError, match="running"):
        moving.move("postgresql://studio@127.0.0.1:1/none")
    here = moving.figures_of(connection)
    assert moving.file_faults(here) == []
    paper = StoredPaper.objects.get()
    Path(paper.file.path).unlink()
    assert moving.file_faults(here) == [f"Stored files are missing: {paper.file}."]


@pytest.mark.only_on("postgresql")
def test_to_sqlite_and_back_all_is_equal(
    filled: Profile, data: Path, settings: LazySettings, monkeypatch: pytest.MonkeyPatch
):
    """The way back is a process of its own, as an owner starts it."""
    (data / "files").symlink_to(settings.MEDIA_ROOT)
    before, url = moving.figures_of(connection), databases.url_of(connection.settings_dict["NAME"])
    # Django keeps tests from databases that they did not name; this one is no test's.
    guarded = BaseDatabaseWrapper.ensure_connection
    freed = next(
        cell.cell_contents
        for cell in guarded.__closure__
        if getattr(cell.cell_contents, "__name__", "") == "ensure_connection"
    )
    monkeypatch.setattr(BaseDatabaseWrapper, "ensure_connection", freed)
    monkeypatch.setattr(moving, "_migrate", create_tables)
    assert differences(before, moving.move("")) == []
    monkeypatch.setattr(moving, "_migrate", lambda _: None)
    with pytest.raises(BackupError, match="a studio in the target already"):
        moving.move("")
    with closing(sqlite3.connect(data / "studio.sqlite3")) as there:
        assert there.execute("SELECT CAST(amount_mm AS TEXT) FROM tickets_line").fetchall() == [
            ("695.325",)
        ]
        assert there.execute("SELECT amount FROM billing_payment").fetchall() == [(1050,)]
    call_command("flush", interactive=False, inhibit_post_migrate=True)
    assert "moved and equal" in move(data, "", "--to-postgresql", url)
    assert differences(before, moving.figures_of(connection)) == []
    assert (prove().sealed, prove().flaws) == (1, [])
    # The next row gets a key of its own.
    assert f.ClientFactory().pk not in {1, None}


def create_tables(url: str) -> None:
    """What all migrations come to, at once."""
    with moving._target(url) as target, target.schema_editor() as editor:
        for model in apps.get_models():
            if model._meta.managed:
                editor.create_model(model)


def move(data: Path, here: str, *words: str) -> str:
    kept = {name: value for name, value in os.environ.items() if not name.startswith("STUDIO_")}
    kept |= {
        "STUDIO_DATA": str(data),
        "DATABASE_URL": here,
        "DJANGO_SETTINGS_MODULE": "studio.settings",
    }
    done = subprocess.run(
        [sys.executable, ROOT / "manage.py", "move", *words],
        env=kept, capture_output=True, text=True, check=False,
    )  # fmt: skip
    return done.stdout + done.stderr


@pytest.mark.only_on("postgresql")
def test_a_dump_comes_back_in_one_rename(
    filled: Profile, data: Path, monkeypatch: pytest.MonkeyPatch
):
    row = write.back_up(Kind.HAND)
    assert row is not None
    assert row.good, row.wrong
    path = data / "backups" / row.name
    name = connection.settings_dict["NAME"]
    f.ClientFactory(name="Written since")
    monkeypatch.setattr(restore, "bring_up_to_date", lambda *_: None)
    moment = clock.now()
    try:
        restore.restore(path, moment=moment)
        connection.connect()
        with connection.cursor() as cursor:
            cursor.execute("SELECT count(*) FROM clients_client WHERE name = 'Written since'")
            assert cursor.fetchone()[0] == 0
            cursor.execute("SELECT count(*) FROM tickets_ticket")
            assert cursor.fetchone()[0] == 1
        url = databases.url_of(f"{name}_before_restore_{moment:%Y_%m_%dt%H%M%Sz}")
        with psycopg.connect(url) as kept:
            found = kept.execute("SELECT count(*) FROM clients_client WHERE name = 'Written since'")
            assert found.fetchone()[0] == 1
    finally:
        connection.close()
        databases.run_on_server(
            f'DROP DATABASE IF EXISTS "{name}_before_restore_{moment:%Y_%m_%dt%H%M%Sz}"'
        )
