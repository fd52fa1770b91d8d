"""``manage.py doctor``: how the studio's computer is; it fails where something is wrong."""

from argparse import ArgumentParser
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from studio.shop import clock, doctor
from studio.shop.models import Profile


class Command(BaseCommand):
    help = "Says how the studio's computer is. Fails where something is wrong, for a nightly call."

    def add_arguments(self, parser: ArgumentParser) -> None:
        words = "also delete the files that belong to nothing, and lock the folder"
        parser.add_argument("--sweep", action="store_true", help=words)

    def handle(self, *args: Any, sweep: bool, **options: Any) -> None:
        studio = Profile.load()
        if studio is None:
            raise CommandError("There is no studio yet.")
        clock.activate(studio)
        if sweep:
            locked = doctor.lock_the_folder(settings.DATA_DIR)
            self.stdout.write(f"{doctor.sweep()} files swept, {locked} locked.")
        findings = doctor.findings(studio)
        for finding in findings:
            way = f" {finding.way}" if finding.way and not finding.good else ""
            details = f" ({finding.details})" if finding.details else ""
            state = "ok   " if finding.good else "WRONG"
            self.stdout.write(f"{state} {finding.name}: {finding.words}{details}{way}")
        if wrong := [finding for finding in findings if not finding.good]:
            raise CommandError(f"{len(wrong)} of {len(findings)} are wrong.")
