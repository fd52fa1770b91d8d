"""``manage.py upgrade``: bring the data up to date, after a copy of what they were."""

from typing import Any

from django.core.management.base import BaseCommand

from studio.backup import restore
from studio.backup.upgrade import upgrade


class Command(BaseCommand):
    help = "Migrates the studio; where that changes data, a copy is made first."

    def handle(self, *args: Any, **options: Any) -> None:
        restore.finish_at_start()
        upgrade()
