"""A studio of version 0.1.0 is brought up to date: nothing that it holds is another than it was.

`studio_0_1_0.sql.xz` is the demo studio as version 0.1.0 filled it, lived in: two entries of one
client were merged, two others merged and parted again, a client was erased, a step was undone,
papers were issued. It is read with Python's own sqlite3, not with the program's models.
"""

import json
import lzma
import os
import sqlite3
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from tests.conftest import as_read

HERE = Path(__file__).parent
ROOT = HERE.parents[1]

# Columns whose content has moved, each with where a test looks for it instead.
IN_THE_HISTORY = "test_every_old_step_is_an_entry_of_the_house"
MOVED = {
    f"tickets_act.{column}": IN_THE_HISTORY
    for column in ("id", "ticket_id", "at", "by_id", "words", "money", "undone_at", "undo")
}
MOVED |= {
    f"clients_clientmerge.{column}": "test_every_old_merge_is_an_entry_of_the_house"
    for column in ("id", "kept_id", "gone_id", "moved", "facts", "by_id", "at", "undone_at")
}
OURS = ("shop_", "clients_", "pricing_", "tickets_", "makes_", "billing_", "planning_")

Table = dict[str, list]


def tables(database: Path) -> dict[str, Table]:
    """Every table of the studio, column by column, in the order of its keys."""
    with sqlite3.connect(database) as connection:
        names = [
            name
            for (name,) in connection.execute("select name from sqlite_master where type = 'table'")
            if name.startswith(OURS)
        ]
        contents = {}
        for name in names:
            rows = connection.execute(f"select * from {name} order by 1")  # noqa: S608 -- our own
            columns = [column[0] for column in rows.description]
            contents[name] = dict(zip(columns, map(list, zip(*rows, strict=True)), strict=False))
            contents[name] |= {column: [] for column in columns if column not in contents[name]}
    return contents


@pytest.fixture(scope="module")
def studio_folder(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("old-studio")
    with sqlite3.connect(folder / "studio.sqlite3") as connection:
        connection.executescript(
            lzma.decompress((HERE / "studio_0_1_0.sql.xz").read_bytes()).decode()
        )
    return folder


@pytest.fixture(scope="module")
def before(studio_folder) -> dict[str, Table]:
    return tables(studio_folder / "studio.sqlite3")


def manage(folder: Path, *words: str, typed: str = "") -> str:
    command = [sys.executable, ROOT / "manage.py", *words]
    surroundings = os.environ | {
        "STUDIO_DATA": str(folder),
        "DATABASE_URL": "",
        "STUDIO_HOSTS": "testserver",
        "STUDIO_DEBUG": "yes",  # no style sheets are collected here
        "DJANGO_SETTINGS_MODULE": "studio.settings",
    }
    done = subprocess.run(
        command, env=surroundings, input=typed, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def after(studio_folder, before) -> dict[str, Table]:
    manage(studio_folder, "upgrade")
    return tables(studio_folder / "studio.sqlite3")


def test_the_old_studio_holds_what_has_to_survive(before):
    assert len(before["tickets_ticket"]["id"]) == 151
    assert len(before["billing_invoice"]["id"]) == 47
    assert len(before["billing_payment"]["id"]) == 162
    assert len(before["tickets_act"]["id"]) == 795
    assert len(before["clients_clientmerge"]["id"]) == 2
    assert len([moment for moment in before["clients_client"]["erased_at"] if moment]) == 1
    assert len([moment for moment in before["tickets_act"]["undone_at"] if moment]) == 1
    assert len(before["shop_storedpaper"]["sha256"]) == 12


def test_a_copy_was_made_before_anything_was_changed(studio_folder, before, after, tmp_path):
    """It is read with what any program for ZIP archives and SQLite reads."""
    (copy,) = (studio_folder / "backups").glob("studio-*-before-upgrade.zip")
    with zipfile.ZipFile(copy) as archive:
        archive.extract("studio.sqlite3", tmp_path)
    assert tables(tmp_path / "studio.sqlite3") == before


def changed_columns(before, after):
    """Every column whose values are others than before, but for those that an upgrade moves."""
    return [
        f"{table}.{column}"
        for table, columns in before.items()
        for column, values in columns.items()
        if f"{table}.{column}" not in MOVED and after.get(table, {}).get(column) != values
    ]


def test_every_column_holds_what_it_held(before, after):
    """Counts, sums, numbers and the hashes of papers are among them."""
    assert changed_columns(before, after) == []


def test_the_sizes_of_paper_lie_in_printers(before, after):
    """What had been chosen: claim tickets on the sheet, or on a roll; tags on cards."""
    (sheet,), (claim,), (tag,) = (
        before["shop_profile"][name] for name in ("paper", "claim_paper", "tag_paper")
    )
    printers = json.loads(after["shop_profile"]["printers"][0])
    lies = {paper: printer["size"] for printer in printers for paper in printer["papers"]}
    assert lies == {
        **dict.fromkeys(("work", "agreement", "invoice", "receipt", "lists"), sheet),
        "claim": "roll" if claim == "roll" else sheet,
        "tags": tag,
    }


def test_every_old_step_is_an_entry_of_the_house(before, after):
    """In the same order. What it would have taken to undo it is told no longer."""
    acts, entries, subjects = (
        before["tickets_act"], after["shop_entry"], after["shop_entrysubject"],
    )  # fmt: skip
    older = [place for place, verb in enumerate(entries["verb"]) if verb == "history.older"]
    for column in ("at", "by_id", "money", "undone_at"):
        assert [entries[column][place] for place in older] == acts[column]
    words = [json.loads(entries["parameters"][place]) for place in older]
    assert words == [{"words": words} for words in acts["words"]]
    about = dict(
        zip(subjects["entry_id"], zip(subjects["label"], subjects["row"], strict=True), strict=True)
    )
    assert [about[entries["id"][place]] for place in older] == [
        ("tickets.ticket", key) for key in acts["ticket_id"]
    ]


def test_every_old_merge_is_an_entry_of_the_house(before, after):
    """With all that it takes to undo it; the one that was undone has the entry of that too."""
    merges, entries = before["clients_clientmerge"], after["shop_entry"]
    kept = [place for place, verb in enumerate(entries["verb"]) if verb == "client.merge"]
    for column in ("at", "by_id", "undone_at"):
        assert [entries[column][place] for place in kept] == merges[column]
    for place, gone, into, moved, facts in zip(
        kept, *(merges[name] for name in ("gone_id", "kept_id", "moved", "facts")), strict=True
    ):
        changes = {
            tuple(change["row"]): (change["was"], change["now"])
            for change in json.loads(entries["changes"][place])
        }
        away = changes.pop(("clients.client", gone))
        assert away == ({"merged_into_id": None}, {"merged_into_id": into})
        rows = [
            (path.rpartition(".")[0].lower(), key)
            for path, keys in json.loads(moved).items()
            for key in keys
        ]
        told = {name: (fact["before"], fact["after"]) for name, fact in json.loads(facts).items()}
        was, now = changes.pop(("clients.client", into), ({}, {}))
        assert {name: (was[name], now[name]) for name in was} == told
        assert set(changes) == set(rows)
        assert all(
            change == ({"client_id": gone}, {"client_id": into}) for change in changes.values()
        )
    undone = [place for place, verb in enumerate(entries["verb"]) if verb == "history.undone"]
    assert [entries["at"][place] for place in undone] == [at for at in merges["undone_at"] if at]


def test_the_old_history_is_readable(before, studio_folder, after):
    """On the page of its ticket, in the same order, latest first."""
    acts = before["tickets_act"]
    (ticket,) = {
        key
        for key, number in zip(
            before["tickets_ticket"]["id"], before["tickets_ticket"]["number"], strict=True
        )
        if number == "26-0151"
    }
    sentences = [
        words for key, words in zip(acts["ticket_id"], acts["words"], strict=True) if key == ticket
    ]
    assert len(sentences) == 7
    page = manage(
        studio_folder,
        "shell",
        typed="from django.test import Client\n"
        "from studio.shop.models import User\n"
        "browser = Client(); browser.force_login(User.objects.get(username='demo'))\n"
        "print(browser.get('/t/26-0151/').content.decode())\n",
    )
    history = as_read(page).replace("&#x27;", "'")
    for sentence in reversed(sentences):
        assert sentence in history
        history = history.partition(sentence)[2]
