"""The data are brought up to date, after a copy of what they were."""

from django.core.management import CommandError, call_command

from studio.backup.core.manifest import BackupError
from studio.backup.databases import ERRORS
from studio.backup.models import Backup, Kind
from studio.backup.write import before_upgrade, describe, drop_old, in_words
from studio.shop import clock


def upgrade() -> None:
    """Migrate; where there is something to migrate and data, a copy is made first.

    Raises CommandError, with nothing migrated, where none could be made.
    """
    try:
        copy = before_upgrade()
    except (BackupError, OSError, *ERRORS) as error:
        raise CommandError(
            f"The studio has to be brought up to date, and no copy could be made before. "
            f"{in_words(error)} Make room or a copy of your own, then: manage.py migrate"
        ) from error
    call_command("migrate", verbosity=0, interactive=False)
    if copy:
        now = clock.now()
        row = Backup(kind=Kind.UPGRADE, started_at=now, finished_at=now)
        describe(row, copy)
        row.save()
        drop_old()
