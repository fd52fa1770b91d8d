"""Django's SQLite, whose writers take turns in the order in which they came.

SQLite itself has no queue: whoever finds its file taken asks again after longer and longer pauses
(sqlite.org/c3ref/busy_timeout.html), so that eight who never rest can let one wait for twenty
seconds. Here each transaction draws a place first and waits until everybody before it is done:
threads of one server, several servers and commands alike. The queue only makes it fair. What keeps
two writers apart is SQLite's own lock, so that without a queue (a folder that cannot be written, a
system without such locks) all is as safe as ever.
"""

import fcntl
import os
import struct
import time
from contextlib import suppress

from django.db.backends.sqlite3 import base

QUEUE = "-queue"
"""Ends the name of an empty file beside the database, of which bytes are locked."""
PAUSE = 0.002
OUTSIDER = 4
"""Seconds after which whoever has its turn gives up: another program holds the database."""
LEAST = 0.1
"""Seconds for which SQLite itself is asked at least, however long the queue was."""
FLOCK = "hhqqi0q"  # struct flock of fcntl(2): type, whence, start, length, pid
CAN_QUEUE = hasattr(fcntl, "F_OFD_SETLK")


class Turn:
    """The place of one connection in the queue of a database's writers.

    A place is a byte of a file, locked by who holds it; its number is the moment in which it was
    drawn, by the clock that all processes of a machine share. The system takes back the locks of a
    process that was ended, so that nobody waits for the dead. They are locks of an open file and
    not of a process (fcntl(2), "Open file description locks"), so that threads take turns too.
    """

    def __init__(self, path: str) -> None:
        self._path = path
        self._handle = -1
        self._place = 0

    @property
    def drawn(self) -> bool:
        return self._place > 0

    def wait(self, patience: float) -> float:
        """Draw a place and wait until nobody is before it; gives the seconds that it took.

        Who has waited for ``patience`` seconds goes on without. Two that draw within the same
        microseconds may both be first: then SQLite decides between them. Raises OSError.
        """
        begun = time.monotonic()
        if self._handle < 0:
            self._handle = os.open(self._path, os.O_CREAT | os.O_RDWR | os.O_CLOEXEC, 0o600)
        place = time.monotonic_ns()
        self._lock(fcntl.F_OFD_SETLK, fcntl.F_WRLCK, place, 1)
        self._place = place
        while self._somebody_is_before() and time.monotonic() - begun < patience:
            time.sleep(PAUSE)
        return time.monotonic() - begun

    def pass_on(self) -> None:
        if self._place:
            self._place = 0
            self._lock(fcntl.F_OFD_SETLK, fcntl.F_UNLCK, 0, 0)

    def leave(self) -> None:
        """The queue's file is closed, which takes the place back as well."""
        if self._handle >= 0:
            os.close(self._handle)
        self._handle, self._place = -1, 0

    def _somebody_is_before(self) -> bool:
        return self._lock(fcntl.F_OFD_GETLK, fcntl.F_WRLCK, 0, self._place) != fcntl.F_UNLCK

    def _lock(self, command: int, kind: int, start: int, length: int) -> int:
        """Gives the kind of lock that is in the way, where that is what is asked."""
        asked = struct.pack(FLOCK, kind, os.SEEK_SET, start, length, 0)
        return int(struct.unpack(FLOCK, fcntl.fcntl(self._handle, command, asked))[0])


class DatabaseWrapper(base.DatabaseWrapper):
    """A transaction waits for its turn and passes it on at its end; savepoints are inside of it."""

    _turn: Turn | None = None

    def set_autocommit(
        self, autocommit: bool, force_begin_transaction_with_broken_autocommit: bool = False
    ) -> None:
        force = force_begin_transaction_with_broken_autocommit
        if autocommit or not force:
            super().set_autocommit(autocommit, force)
            return
        self.ensure_connection()
        waited = self._wait()
        try:
            self._ask_for(max(min(OUTSIDER, self._patience) - waited, LEAST))
            try:
                super().set_autocommit(autocommit, force)
            finally:
                self._ask_for(self._patience)
        except BaseException:
            self._pass_on()
            raise

    @property
    def _patience(self) -> float:
        return float(self.settings_dict["OPTIONS"].get("timeout", 5))

    def _ask_for(self, seconds: float) -> None:
        if self.connection is not None:
            self.connection.execute(f"PRAGMA busy_timeout = {round(seconds * 1000)}")

    def _wait(self) -> float:
        name = str(self.settings_dict["NAME"])
        if not CAN_QUEUE or self.is_in_memory_db() or name.startswith("file:"):
            return 0
        self._turn = self._turn or Turn(f"{name}{QUEUE}")
        with suppress(OSError):
            return self._turn.wait(self._patience)
        return 0

    def _pass_on(self) -> None:
        if self._turn:
            self._turn.pass_on()

    def commit(self) -> None:
        # Where it cannot be done the transaction goes on, to be rolled back.
        super().commit()
        self._pass_on()

    def rollback(self) -> None:
        try:
            super().rollback()
        finally:
            self._pass_on()

    def close(self) -> None:
        try:
            super().close()
        finally:
            if self._turn:
                self._turn.leave()
