"""Who uses the data: each server holds them with the others, a restore alone.

A lock of the file system says so on one machine. Where the database is PostgreSQL, whose servers
may be on several machines, a lock of that server (an advisory one) says it as well. Both go with
the process that holds them, however it ends.
"""

import fcntl
import hashlib
import logging
import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.db import DEFAULT_DB_ALIAS, DatabaseError, connection, connections

from studio.backup.options import data_folder

logger = logging.getLogger("django.request")

RUNNING = "running"
# A machine that lost its power says nothing; the server asks for it after a minute.
ASK_AFTER_A_MINUTE = (
    "SET tcp_keepalives_idle = 60; SET tcp_keepalives_interval = 10; SET tcp_keepalives_count = 3"
)


@dataclass
class Hold:
    """Locks that are held until they are closed, or the process ends."""

    handle: int
    server: Any = None

    def close(self) -> None:
        os.close(self.handle)
        if self.server is not None:
            self.server.close()

    @property
    def is_whole(self) -> bool:
        """Whether the database's server still knows of it; it may have been started anew."""
        try:
            if self.server is not None:
                self.server.execute("SELECT 1")
        except Exception:  # the driver's own, which need not be installed
            return False
        return True


_held: dict[Path, Hold] = {}


def hold() -> None:
    """Use the data until this process ends. Twice is once; and again where the server forgot.

    Waits while somebody brings a copy back.
    """
    path = _path(RUNNING)
    if path in _held:
        if _held[path].is_whole:
            return
        _held.pop(path).close()
    handle = _open(path)
    fcntl.flock(handle, fcntl.LOCK_SH)
    _held[path] = Hold(handle)
    if connection.vendor == "postgresql":
        try:
            _held[path].server = _on_server("pg_advisory_lock_shared", RUNNING)
        except DatabaseError:
            logger.warning("The database's server has no lock for this program.", exc_info=True)


def take_alone() -> Hold | None:
    """The data for this process alone, until it is closed; None while they are in use."""
    try:
        return _take(RUNNING, wait=False)
    except BlockingIOError:
        return None


@contextmanager
def one_at_a_time(name: str, *, wait: bool = True) -> Iterator[None]:
    """One process of all that work on these data is in here. Raises BlockingIOError, or waits."""
    taken = _take(name, wait=wait)
    try:
        yield
    finally:
        taken.close()


def take_to_hand_on(name: str) -> Hold:
    """A lock of this machine alone, which a process that is given the handle keeps until it ends.

    Raises BlockingIOError where one has it.
    """
    taken = Hold(_open(_path(name)))
    try:
        fcntl.flock(taken.handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BaseException:
        taken.close()
        raise
    return taken


def _take(name: str, *, wait: bool) -> Hold:
    taken = Hold(_open(_path(name)))
    try:
        fcntl.flock(taken.handle, fcntl.LOCK_EX | (0 if wait else fcntl.LOCK_NB))
        if connection.vendor == "postgresql":
            call = "pg_advisory_lock" if wait else "pg_try_advisory_lock"
            taken.server = _on_server(call, name)
    except BaseException:
        taken.close()
        raise
    return taken


def _on_server(call: str, name: str) -> Any:
    """A connection of its own, that holds a lock. Raises BlockingIOError where it is refused.

    To the server's own database: who is connected to the studio's keeps a restore from naming it.
    """
    database = connection.settings_dict["NAME"]
    digest = hashlib.sha256(f"{database}\n{name}".encode()).digest()
    key = int.from_bytes(digest[:8], signed=True)
    own = connections.create_connection(DEFAULT_DB_ALIAS)
    own.settings_dict = own.settings_dict | {"NAME": "postgres"}
    with own.wrap_database_errors:
        server = own.get_new_connection(own.get_connection_params())
        server.autocommit = True
        server.execute(ASK_AFTER_A_MINUTE)
        row = server.execute(f"SELECT {call}(%s)", [key]).fetchone()
    if row[0] is False:
        server.close()
        raise BlockingIOError
    return server


def _path(name: str) -> Path:
    return data_folder() / f"{name}.lock"


def _open(path: Path) -> int:
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    return os.open(path, os.O_CREAT | os.O_RDWR, 0o600)


def let_go() -> None:
    """Leave the data before this process ends."""
    while _held:
        _held.popitem()[1].close()
