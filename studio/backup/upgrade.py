"""The data are brought up to date, after a copy of what they were."""

from django.core.management import CommandError, call_command

from studio.backup import running
from studio.backup.core.manifest import BackupError
from studio.backup.databases import ERRORS
from studio.backup.models import Backup, Kind
from studio.backup.write import before_upgrade, describe, drop_old, in_words, is_pending
from studio.shop import clock

NO_COPY = "The studio has to be brought up to date, and no copy could be made before."
HOW = "Make room or a copy of your own, then: manage.py migrate"


def upgrade() -> None:
    """Migrate; where there is something to migrate and data, a copy is made first.

    Raises CommandError, with nothing migrated, where none could be made, or where a program that
    knows the data only as they were still works with them.
    """
    try:
        if not is_pending():
            return
        alone = running.take_alone()
    except (OSError, *ERRORS) as error:
        raise CommandError(f"{NO_COPY} {in_words(error)} {HOW}") from error
    if alone is None:
        raise CommandError(
            "The studio has to be brought up to date, and the program still runs on it. "
            "Close it everywhere, then start it."
        )
    try:
        _upgrade()
    finally:
        alone.close()


def _upgrade() -> None:
    try:
        copy = before_upgrade()
    except (BackupError, OSError, *ERRORS) as error:
        raise CommandError(f"{NO_COPY} {in_words(error)} {HOW}") from error
    call_command("migrate", verbosity=0, interactive=False)
    if copy:
        now = clock.now()
        row = Backup(kind=Kind.UPGRADE, started_at=now, finished_at=now)
        describe(row, copy)
        row.save()
        drop_old()
