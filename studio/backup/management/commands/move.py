"""``manage.py move``: the studio from SQLite to PostgreSQL, or back; its files to a store."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from studio.backup.core.manifest import BackupError
from studio.backup.moving import move, move_files


class Command(BaseCommand):
    help = "Moves the studio to another kind of database, compares all, and changes nothing here."

    def add_arguments(self, parser: ArgumentParser) -> None:
        to = parser.add_mutually_exclusive_group(required=True)
        to.add_argument("--to-postgresql", metavar="URL", default="")
        to.add_argument("--to-sqlite", action="store_true")
        to.add_argument("--files-to-store", action="store_true")
        to.add_argument("--files-to-folder", action="store_true")

    def handle(self, *args: Any, **choices: Any) -> None:
        url = choices["to_postgresql"]
        try:
            if choices["files_to_store"] or choices["files_to_folder"]:
                count = move_files(back=choices["files_to_folder"])
                self.stdout.write(f"{count} files, copied and equal.")
                return
            figures = move(url)
        except BackupError as error:
            raise CommandError(str(error)) from error
        rows = sum(table.rows for table in figures.tables.values())
        self.stdout.write(f"{rows} rows in {len(figures.tables)} tables, moved and equal.")
        setting = f"DATABASE_URL={url}" if url else "no DATABASE_URL"
        self.stdout.write(f"Start the program with {setting} from now on.")
