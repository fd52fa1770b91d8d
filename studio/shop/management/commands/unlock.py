"""``manage.py unlock``: let everybody try to log in again at once."""

from typing import Any

from django.core.management.base import BaseCommand

from studio.shop.models import LoginBucket


class Command(BaseCommand):
    help = "Forgets all wrong tries to log in, so that nobody has to wait."

    def handle(self, *args: Any, **options: Any) -> None:
        LoginBucket.objects.all().delete()
        self.stdout.write("Everybody may try to log in again now.")
