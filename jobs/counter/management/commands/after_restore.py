"""``manage.py after_restore``: what a restored copy has to learn before anybody works in it.

``restore`` runs it in the new place. The data are brought up to date, clients who were erased since
the copy was made are erased again, and whoever was logged in then has to log in anew.
"""

from typing import Any

from django.contrib.sessions.models import Session
from django.core.management import call_command
from django.core.management.base import BaseCommand

from clients.models import Client
from jobs.counter.privacy.actions import erase
from studio.backup.erasures import erased
from studio.shop import clock
from studio.shop.models import Profile


class Command(BaseCommand):
    help = __doc__

    def handle(self, *args: Any, **options: Any) -> None:
        call_command("migrate", verbosity=0, interactive=False)
        Session.objects.all().delete()
        studio = Profile.load()
        if studio is None:
            return
        clock.activate(studio)
        for client in Client.objects.filter(erasure_key__in=erased(), erased_at=None):
            own = client.merged_into or client
            if own.erased_at is None:
                erase(client=own, studio=studio, by=None, again=True)
