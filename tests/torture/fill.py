"""Fill an empty data folder with a small studio: its owner, its prices, its clients from a CSV.

Run as a program, with STUDIO_DATA in the environment: ``python -m tests.torture.fill CLERKS``.
"""

import csv
import io
import os
import sys

import django
from django.core.management import call_command

PASSWORD = "thimble-and-chalk"
CLIENTS = "\n".join(
    ["name,phone", *(f"{name} Holm,0855550{place:03}" for place, name in enumerate(
        ["Ada", "Bea", "Cleo", "Dora", "Edda", "Finn", "Gwen", "Hugo", "Ines", "Jon"]
    ))]
)  # fmt: skip


def clerk_name(place: int | str) -> str:
    return f"clerk{place}"


def fill(clerks: int) -> None:
    from studio.shop.models import User
    from tests import factories as f

    f.ProfileFactory()
    for weekday in range(7):
        f.WorkingDayFactory(weekday=weekday, minutes=480 if weekday < 5 else 0)
    f.PriceRulesFactory()
    for name in ("Trousers", "Skirt"):
        f.OperationFactory(
            garment_kind=f.GarmentKindFactory(name=name), name=f"Shorten {name.lower()}", minutes=1
        )
    for place in range(clerks):
        f.UserFactory(username=clerk_name(place), password=PASSWORD)
    f.UserFactory(username="helper", password=PASSWORD, role=User.Role.HELPER)
    for row in csv.DictReader(io.StringIO(CLIENTS)):
        f.ClientFactory(**row)


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "studio.settings")
    django.setup()
    call_command("migrate", verbosity=0, interactive=False)
    fill(int(sys.argv[1]))
