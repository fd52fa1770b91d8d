"""``manage.py restore FILE``: bring a copy of the studio back, in the place of what is there."""

from argparse import ArgumentParser
from getpass import getpass
from pathlib import Path
from typing import Any
from uuid import UUID

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import DatabaseError, connection

from clients.models import Client
from studio.backup import options, shelf
from studio.backup.core.archive import is_locked
from studio.backup.core.manifest import BackupError
from studio.backup.restore import restore, try_out
from studio.shop import clock


class Command(BaseCommand):
    help = "Brings a copy of the studio back; what is there now is kept beside."
    requires_system_checks = []

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path)
        parser.add_argument(
            "--passphrase-file", type=Path, help="A file whose first line is the passphrase."
        )
        parser.add_argument("--no-input", action="store_true", help="Ask for no passphrase.")
        parser.add_argument("--check", action="store_true", help="Only look whether it is whole.")

    def handle(self, *args: Any, file: Path, **choices: Any) -> None:
        """``file`` may also be the mere name of a copy, as *Backups* lists it."""
        try:
            if not file.is_file() and shelf.has(file.name):
                with shelf.at_hand(file.name) as copy:
                    self._bring_back(copy, choices)
            else:
                self._bring_back(file, choices)
        except BackupError as error:
            raise CommandError(str(error)) from error
        except OSError as error:
            words = f"{error.strerror}: {error.filename}" if error.strerror else str(error)
            raise CommandError(words) from error

    def _bring_back(self, file: Path, choices: dict[str, Any]) -> None:
        passphrase = self._passphrase(file, choices["passphrase_file"], choices["no_input"])
        if choices["check"]:
            manifest, faults = try_out(file, passphrase=passphrase)
        else:
            faults = []
            manifest, before = restore(
                file, moment=clock.now(), passphrase=passphrase, also_erased=erased_here()
            )
        rows = sum(table.rows for table in manifest.figures.tables.values())
        self.stdout.write(
            f"The copy of {manifest.moment} is whole: {rows} rows and {len(manifest.files) - 1} "
            "files, read and equal."
        )
        for fault in faults:
            self.stdout.write(fault)
        if choices["check"]:
            return
        self.stdout.write("It is in place.")
        if before.exists():
            self.stdout.write(f"What was there before lies in {before}.")
        if not shelf.sizes():
            self.stdout.write(
                "No copy lies here yet. Start the program, set second place and passphrase anew "
                "(Studio, Backups), and back up."
            )
        self.stdout.write("Now look at it all: manage.py prove, then manage.py doctor.")

    def _passphrase(self, file: Path, kept: Path | None, no_input: bool) -> str:
        if kept:
            return kept.read_text().splitlines()[0].strip()
        if no_input or not file.is_file() or not is_locked(file) or options.load().identity:
            return ""
        return getpass("Passphrase: ")


def erased_here() -> list[UUID]:
    """Clients that the present data know as erased; none where there are no data."""
    if not settings.DATABASE_URL and not Path(connection.settings_dict["NAME"]).exists():
        return []
    try:
        keys = Client.objects.exclude(erased_at=None).values_list("erasure_key", flat=True)
        return list(keys)
    except DatabaseError:
        return []
