"""Make a small studio as this state of the program keeps it, for later states to bring up to date.

Run in a checkout of the state, with what it needs to be tested installed:

    python PATH/TO/tests/upgrades/keep_state.py NAME FOLDER

It leaves ``FOLDER/NAME.zip``: the database as SQL, packed by LZMA, with its stored files beside it.
A state that can make copies of itself leaves ``NAME-backup.zip`` as well. What is done here is done
by the state's own actions, on a Tuesday in February 2026, before the day of the tests.
"""

import os
import sqlite3
import sys
import tempfile
import zipfile
from datetime import timedelta
from importlib import import_module
from pathlib import Path
from uuid import uuid4

import time_machine

NAME, TARGET = sys.argv[1], Path(sys.argv[2]).resolve()
FOLDER = Path(tempfile.mkdtemp(prefix="studio-state-"))
os.environ |= {
    "STUDIO_DATA": str(FOLDER),
    "DATABASE_URL": "",
    "DJANGO_SETTINGS_MODULE": "studio.settings",
    "STUDIO_HOSTS": "testserver",
    "STUDIO_DEBUG": "yes",
    "STUDIO_SECRET_KEY": "only-for-tests-" + "0123456789" * 4,
}
sys.path.insert(0, str(Path.cwd()))

import django  # noqa: E402 -- the surroundings come first

django.setup()

from django.core.management import call_command  # noqa: E402
from django.db import connection  # noqa: E402
from django.test import Client as Browser  # noqa: E402


def action(name: str, *modules: str):
    """The action of that name, in whichever of the modules this state has it."""
    for module in modules:
        try:
            return getattr(import_module(module), name)
        except (ImportError, AttributeError):
            continue
    raise SystemExit(f"{name} is in none of {modules}")


def fill() -> None:
    from studio.shop import clock
    from tests import factories as f
    from tests.drafts import hem, issued, paid, received, take_in, trousers

    try:
        from tests import own_factories as own
    except ImportError:
        own = f
    studio = f.ProfileFactory()
    clock.activate(studio)
    for weekday in range(7):
        f.WorkingDayFactory(weekday=weekday, minutes=480 if weekday < 5 else 0)
    f.PriceRulesFactory()
    by = f.UserFactory(username="owner", password="thimble-and-chalk")

    mary = f.ClientFactory(name="Mary Larkin", phone="085 555 0101")
    pieces = (trousers(), trousers(hem(), take_in()), trousers(take_in()))
    ticket = received(studio, by, *pieces, client=mary)
    f.PhotoFactory(garment=ticket.garments.order_by("letter").first())
    week = import_module("jobs.planning.actions")
    week.book_fitting(
        ticket=ticket, starts_at=clock.now() + timedelta(days=2), minutes=30, kind="first",
        studio=studio, by=by,
    )  # fmt: skip
    invoice = issued(studio, by, ticket)
    paid(studio, by, ticket, 2500)
    browser = Browser()
    browser.force_login(by, "django.contrib.auth.backends.ModelBackend")
    assert browser.get(f"/invoices/{invoice.number}/paper/").status_code == 200

    other = issued(studio, by, received(studio, by, client=f.ClientFactory(name="Orla Finn")))
    credit = import_module("jobs.billing.actions").credit_invoice
    credit(invoice=other, why="billed twice", by=by, studio=studio, form_key=uuid4())

    twin = f.ClientFactory(name="Mary Larken", phone="085 555 0101")
    received(studio, by, client=twin)
    action("merge", "clients.actions")(keep=mary, other=twin, by=by, facts={})
    gone = f.ClientFactory(name="Una Quigley", phone="085 555 0199")
    f.MeasuredFactory(sheet__client=gone)
    erase = action("erase", "jobs.counter.privacy.actions", "studio.counter.privacy.actions")
    erase(client=gone, studio=studio, by=by)

    own.ClothFactory()
    own.MakeFactory()
    own.ReleaseFactory()


def keep() -> None:
    connection.close()
    with sqlite3.connect(FOLDER / "studio.sqlite3") as database:
        text = "\n".join(database.iterdump())
    with zipfile.ZipFile(TARGET / f"{NAME}.zip", "w", zipfile.ZIP_LZMA) as archive:
        archive.writestr("studio.sql", text)
        for path in sorted((FOLDER / "files").rglob("*.*")):
            archive.write(path, path.relative_to(FOLDER).as_posix())
    for copy in (FOLDER / "backups").glob("studio-*.zip"):
        copy.rename(TARGET / f"{NAME}-backup.zip")


if __name__ == "__main__":
    with time_machine.travel("2026-02-10T10:00:00+00:00"):
        call_command("migrate", verbosity=0, interactive=False)
        fill()
        if "backup" in {path.stem for path in Path("studio/backup/management/commands").glob("*")}:
            call_command("backup")
    keep()
