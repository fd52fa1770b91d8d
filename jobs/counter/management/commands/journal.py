"""``manage.py journal``: builds the journals that were asked for, one after the other."""

import os
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand

from jobs.counter.year.bookbinder import build_all, let_go
from studio.shop import clock
from studio.shop.models import Profile


class Command(BaseCommand):
    help = "Builds the journals that were asked for. The program starts it by itself."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--lock", type=int, help="The handle of a lock that it was given.")

    def handle(self, *args: Any, lock: int | None = None, **options: Any) -> None:
        os.nice(10)  # the counter goes first
        clock.activate(Profile.objects.first())
        build_all()
        if lock is not None:
            let_go(lock)
