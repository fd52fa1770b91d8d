"""``manage.py prove``: whether invoices and receipts are as the program wrote them."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from jobs.billing.sealed_book import prove
from studio.shop import clock
from studio.shop.models import Profile


class Command(BaseCommand):
    help = "Reads the sealed book: says what was changed, removed or added behind the program."

    def add_arguments(self, parser: ArgumentParser) -> None:
        words = "a seal from a day-end sheet or the year's paper, or its first groups"
        parser.add_argument("printed", nargs="*", help=words)

    def handle(self, *args: Any, printed: list[str], **options: Any) -> None:
        clock.activate(Profile.load())
        proof = prove("".join(printed))
        for flaw in proof.flaws:
            self.stderr.write(flaw)
        if proof.flaws:
            raise CommandError(f"The book does not hold: {len(proof.flaws)} found.")
        late = f", {proof.late} of them when the book began" if proof.late else ""
        self.stdout.write(f"{proof.sealed} sealed{late}; nothing was changed.")
        self.stdout.write(f"The last seal: {proof.last}")
