"""``manage.py backup``: a copy of the studio, read back and compared."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from studio.backup import night
from studio.backup.models import Kind
from studio.backup.queries import sentence
from studio.backup.write import back_up
from studio.shop import clock
from studio.shop.models import Profile


class Command(BaseCommand):
    help = "Makes a copy of the studio in one file, reads it back and compares."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--night", action="store_true", help="Only unless this night's copy is made already."
        )
        parser.add_argument(
            "--try-out", action="store_true", help="Restore it for real into a place that goes."
        )

    def handle(self, *args: Any, **choices: Any) -> None:
        studio = Profile.load()
        if studio is None:
            raise CommandError("There is no studio yet.")
        clock.activate(studio)
        row = night.look() if choices["night"] else back_up(Kind.HAND)
        if row is None:
            self.stdout.write("This night's copy is made already.")
            return
        if row.name and choices["try_out"]:
            night.try_out(row)
        wrong = [*row.wrong, *row.test_wrong, *([row.second] if row.second else [])]
        if row.name:
            self.stdout.write(f"backups/{row.name}")
        if wrong:
            raise CommandError(" ".join(wrong))
        self.stdout.write(sentence(row, studio))
