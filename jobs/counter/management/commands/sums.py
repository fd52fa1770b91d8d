"""``manage.py sums``: whether what the pages say adds up."""

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from jobs.counter.sums import all_sums
from studio.shop import clock
from studio.shop.models import Profile


class Command(BaseCommand):
    help = "Calculates hours, money and cloth from the raw rows and compares them with the pages."

    def handle(self, *args: Any, **options: Any) -> None:
        studio = Profile.objects.first()
        if studio is None:
            raise CommandError("There is no studio yet.")
        clock.activate(studio)
        sums = list(all_sums(studio))
        wrong = [each for each in sums if not each.right]
        for each in wrong:
            self.stderr.write(str(each))
        if wrong:
            raise CommandError(f"{len(wrong)} of {len(sums)} figures do not add up.")
        self.stdout.write(f"All {len(sums)} figures add up.")
