"""``manage.py journal``: builds the journals that were asked for, one after the other."""

import os
from typing import Any

from django.core.management.base import BaseCommand

from jobs.counter.year.bookbinder import build_all
from studio.shop import clock
from studio.shop.models import Profile


class Command(BaseCommand):
    help = "Builds the journals that were asked for. The program starts it by itself."

    def handle(self, *args: Any, **options: Any) -> None:
        os.nice(10)  # the counter goes first
        clock.activate(Profile.objects.first())
        build_all()
