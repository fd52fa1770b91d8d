"""``manage.py unlock``: let everybody try again at once, or one person in without their phone."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from studio.shop.doors.actions import remove_second_factor
from studio.shop.models import LoginBucket, User


class Command(BaseCommand):
    help = "Forgets all wrong tries to log in, so that nobody has to wait."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--second-factor",
            metavar="LOGIN",
            help="also takes the second factor off this login, whose phone and paper are lost",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        if name := options["second_factor"]:
            person = User.objects.filter(username=name).first()
            if person is None:
                raise CommandError(f"Nobody logs in as {name}.")
            remove_second_factor(person=person, by=None)
            self.stdout.write(f"{name} logs in with the password alone now.")
        LoginBucket.objects.all().delete()
        self.stdout.write("Everybody may try to log in again now.")
