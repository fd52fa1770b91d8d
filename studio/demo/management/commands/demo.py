"""``manage.py demo``: fill an empty database with the demo studio."""

from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from studio.demo.fill import fill
from studio.demo.shop import HELPER, OWNER
from studio.shop import clock
from studio.shop.models import Profile


class Command(BaseCommand):
    help = "Fills an empty database with Larkfield Sewing Room, an invented studio."

    def handle(self, *args: Any, **options: Any) -> None:
        if not settings.DEMO:
            raise CommandError("Set STUDIO_DEMO=yes: the demo never goes into the owner's data.")
        if not Profile.objects.exists():
            self.stdout.write("Making the demo studio (about half a minute) ...")
            fill(clock.now())
        for who, (name, password) in (("owner", OWNER), ("helper", HELPER)):
            self.stdout.write(f"Log in as {who}: {name} / {password}")
