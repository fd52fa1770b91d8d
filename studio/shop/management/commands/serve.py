"""Open the studio on this machine: bring the data up to date, then answer until Ctrl-C."""

import fcntl
import socket
from argparse import ArgumentParser
from typing import Any

import waitress
from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError

from studio.backup import night, restore, running
from studio.backup.upgrade import upgrade
from studio.shop.doors.throttle import give_back_cut_off

TRIES = 20


def open_socket(address: str, port: int) -> socket.socket:
    """A socket bound to ``port`` or to the first free one of the next few. Raises CommandError."""
    family = socket.AF_INET6 if ":" in address else socket.AF_INET
    for candidate in range(port, port + TRIES):
        sock = socket.socket(family, socket.SOCK_STREAM)
        sock.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            sock.bind((address, candidate))
            # Two sockets may be bound to one port; only one of them may listen.
            sock.listen()
        except OSError:
            sock.close()
        else:
            return sock
    raise CommandError(f"No free port on {address} from {port} to {port + TRIES - 1}.")


def collect_and_load() -> Any:
    """The application, which looks once, when it is loaded, for all style sheets and scripts.

    Studios that run from one folder of the program, as the demo beside one's own, share them: of
    two that start at once one would find a file gone that the other is about to write.
    """
    settings.STATIC_ROOT.mkdir(parents=True, exist_ok=True)
    with settings.STATIC_ROOT.with_suffix(".lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        call_command("collectstatic", verbosity=0, interactive=False)
        from studio.wsgi import application  # noqa: PLC0415
    return application


class Command(BaseCommand):
    help = __doc__

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--address", default="127.0.0.1")
        parser.add_argument("--port", type=int, default=8000)

    def handle(self, *args: Any, address: str, port: int, **options: Any) -> None:
        # One of several that start at once brings the data up to date; the others find it done.
        with running.one_at_a_time("starting"):
            restore.finish_at_start()
            restore.carry_out(self.stdout)
            upgrade()
            give_back_cut_off()
            running.hold()
        application = collect_and_load()
        sock = open_socket(address, port)
        host = f"[{address}]" if ":" in address else address
        self.stdout.write(f"Open http://{host}:{sock.getsockname()[1]}/ (Ctrl-C closes)")
        self.stdout.flush()
        night.start()
        waitress.serve(
            application,
            sockets=[sock],
            threads=4,
            # STUDIO_HTTPS and STUDIO_PROXIES say what a web server in front may tell.
            clear_untrusted_proxy_headers=False,
            _quiet=True,
        )
