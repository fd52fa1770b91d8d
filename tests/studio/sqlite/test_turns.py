"""Writers of one database take turns in the order in which they came (first in, first out)."""

import sqlite3
import subprocess
import sys
import threading
import time
from contextlib import closing

import pytest
from django.conf import settings
from django.db import DatabaseError, connection, transaction

from studio.shop.models import Profile
from studio.sqlite import base
from studio.sqlite.base import DatabaseWrapper, Turn

PATIENCE = 30
# As another program of the machine would: it has its turn until it is killed.
HOLDER = """
import sys
from studio.sqlite.base import Turn
turn = Turn(sys.argv[1])
turn.wait(1)
print("mine", flush=True)
sys.stdin.read()
"""


def until(true):
    end = time.monotonic() + PATIENCE
    while not true():
        assert time.monotonic() < end
        time.sleep(0.001)


def test_who_came_first_goes_first(tmp_path):
    first, waiting, order = Turn(str(tmp_path / "queue")), [], []
    first.wait(PATIENCE)
    for name in range(4):
        turn = Turn(str(tmp_path / "queue"))

        def wait(name=name, turn=turn):
            turn.wait(PATIENCE)
            order.append(name)
            # Who comes again at once stands behind all others.
            turn.pass_on()
            turn.wait(PATIENCE)
            order.append(name)
            turn.leave()

        waiting.append(threading.Thread(target=wait))
        waiting[-1].start()
        until(lambda turn=turn: turn.drawn)
    assert order == []
    first.pass_on()
    for thread in waiting:
        thread.join(PATIENCE)
    assert order[:4] == [0, 1, 2, 3]
    assert sorted(order[4:]) == [0, 1, 2, 3]


def test_nobody_waits_for_the_dead(tmp_path):
    path = str(tmp_path / "queue")
    holder = subprocess.Popen(
        [sys.executable, "-c", HOLDER, path], cwd=settings.BASE_DIR,
        stdin=subprocess.PIPE, stdout=subprocess.PIPE,
    )  # fmt: skip
    try:
        assert holder.stdout.readline() == b"mine\n"
        turn = Turn(path)
        assert turn.wait(0.05) >= 0.05
        turn.pass_on()
    finally:
        holder.kill()
        holder.communicate()
    assert turn.wait(PATIENCE) < PATIENCE
    turn.leave()


@pytest.fixture
def writer(tmp_path, django_db_blocker):
    """Makes connections to a database of this test alone, which wait for a moment."""
    made = []

    def make(timeout=0.05):
        facts = settings.DATABASES["default"] | settings.SQLITE
        options = {**settings.SQLITE["OPTIONS"], "timeout": timeout}
        facts |= {"NAME": tmp_path / "book.sqlite3", "OPTIONS": options}
        made.append(DatabaseWrapper(facts, "default"))
        return made[-1]

    with django_db_blocker.unblock():
        yield make
        for connection in made:
            connection.close()


def begin(connection):
    connection.set_autocommit(False, force_begin_transaction_with_broken_autocommit=True)


def end(connection, how):
    getattr(connection, how)()
    if how != "close":
        connection.set_autocommit(True)


def test_the_end_of_a_transaction_passes_the_turn_on(writer):
    """However it ends; who was refused has left the queue."""
    first, second = writer(), writer()
    for how in "commit", "rollback", "close":
        begin(first)
        with pytest.raises(DatabaseError, match="locked"):
            begin(second)
        end(first, how)
        begin(second)
        end(second, "commit")


def test_another_program_that_holds_the_database_is_told_of_soon(writer, tmp_path, monkeypatch):
    """Who queues behind does not wait all the longer; what is written later is patient again."""
    first, second = writer(timeout=PATIENCE), writer(timeout=PATIENCE)
    monkeypatch.setattr(base, "OUTSIDER", 0.05)
    with closing(sqlite3.connect(tmp_path / "book.sqlite3", isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        for connection in first, second:
            with pytest.raises(DatabaseError, match="locked"):
                begin(connection)
            ((asked,),) = connection.connection.execute("PRAGMA busy_timeout")
            assert asked == PATIENCE * 1000
        other.execute("ROLLBACK")
    begin(second)
    end(second, "commit")


def test_a_folder_that_cannot_be_written_only_has_no_queue(writer, tmp_path):
    (tmp_path / "book.sqlite3-queue").mkdir()
    connection = writer()
    begin(connection)
    end(connection, "commit")


@pytest.mark.only_on("sqlite")
@pytest.mark.django_db(transaction=True)
def test_who_reads_before_writing_has_the_turn_from_the_start():
    """Of the studio's own connection: a transaction that only read so far keeps writers out.

    If it came to its turn with its first write alone, two could read the same and both write.
    """
    name = connection.settings_dict["NAME"]
    with closing(sqlite3.connect(name, isolation_level=None, timeout=0)) as other:
        with transaction.atomic():
            assert not Profile.objects.exists()
            with pytest.raises(sqlite3.OperationalError, match="locked"):
                other.execute("BEGIN IMMEDIATE")
        other.execute("BEGIN IMMEDIATE")
        other.execute("ROLLBACK")
