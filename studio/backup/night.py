"""Each night a copy, and each week one that is restored for real, while the program runs."""

import logging
import shutil
import threading
import time
from datetime import timedelta

from django.conf import settings
from django.db import DatabaseError, connections

from studio.backup import options, restore, running, shelf
from studio.backup.core.manifest import BackupError
from studio.backup.core.retention import night_of
from studio.backup.models import Backup, Kind
from studio.backup.write import back_up, in_words, tell_inside
from studio.shop import clock, doctor
from studio.shop.models import Profile

logger = logging.getLogger("django.request")

FIRST_LOOK = 300
"""Seconds after the start: who opens the shop in the morning opens it first."""
NEXT_LOOK = 60
TRIED_EVERY = timedelta(days=7)
LEFT_BEHIND = 6 * 3600
"""Seconds after which a working folder belongs to nobody that is still at work."""


def start() -> None:
    """Look every minute whether the night's copy is due; one process of several makes it.

    Not in the demo, whose data can be filled in again.
    """
    if settings.DEMO:
        return
    threading.Thread(target=_watch, name="backup", daemon=True).start()


def _watch() -> None:
    time.sleep(FIRST_LOOK)
    while True:
        try:
            running.hold()
            look()
        except (DatabaseError, OSError):
            logger.exception("The night's copy was not begun")
        finally:
            connections.close_all()
        time.sleep(NEXT_LOOK)


def look() -> Backup | None:
    """Make the copy of this night unless it is made; then, once a week, restore it for real."""
    profile = Profile.load()
    if profile is None:
        return None
    clock.activate(profile)
    night = night_of(clock.local(clock.now()))
    made = Backup.objects.filter(night=night).exclude(name="").first()
    if made and shelf.has(made.name):
        return None
    if made:
        # The row came back with a copy, or somebody took the file away: the night has none.
        Backup.objects.filter(pk=made.pk).update(night=None)
    sweep()
    doctor.tidy_up()
    row = back_up(Kind.NIGHT, night=night)
    if row and row.name and try_out_is_due():
        try_out(row)
    return row


def try_out_is_due() -> bool:
    since = clock.now() - TRIED_EVERY
    return not Backup.objects.filter(tested_at__gt=since, test_wrong=[]).exists()


def try_out(row: Backup) -> None:
    """Restore the copy into a place that goes again, and remember what came of it."""
    row.test_wrong = []
    try:
        with shelf.at_hand(row.name) as path:
            manifest, row.wrong = restore.try_out(path)
        tell_inside(row, manifest)
    except (BackupError, OSError) as error:
        row.test_wrong = [in_words(error)]
        if not row.pk:
            row.wrong = row.test_wrong
    row.tested_at = clock.now()
    row.save()


def sweep() -> None:
    """Remove working folders of processes that were ended in the middle."""
    before = time.time() - LEFT_BEHIND
    for folder in options.copies_folder().glob(".working-*"):
        if folder.stat().st_mtime < before:
            shutil.rmtree(folder, ignore_errors=True)
