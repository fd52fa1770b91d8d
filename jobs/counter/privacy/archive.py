"""Everything that is kept of one client in one ZIP file."""

import json
import zipfile
from tempfile import SpooledTemporaryFile
from typing import IO

from django.core.serializers.json import DjangoJSONEncoder
from django.template.loader import render_to_string

from clients.models import Client
from jobs.counter.privacy.files import Kept, kept_files
from jobs.counter.privacy.gathering import belongings
from jobs.counter.privacy.lists import tables
from jobs.counter.privacy.record import whole
from studio.shop import clock
from studio.shop.models import Profile

# Above this an archive under way is kept in a file that vanishes when it is closed.
MOST_IN_MEMORY = 8 * 1024 * 1024
# The earliest day a ZIP file can tell: two archives of the same data are the same bytes.
NO_DAY = (1980, 1, 1, 0, 0, 0)
BYTE_ORDER_MARK = "\ufeff"


def write_archive(client: Client, studio: Profile) -> IO[bytes]:
    """The archive, opened at its beginning. The README comes first and names the rest.

    A stored file that is gone from the disk is named in the README instead of being in it.
    """
    held = belongings(client)
    files = kept_files(held)
    named = {(file.model, file.pk): file.name for file in files}
    record = json.dumps(whole(held, named), cls=DjangoJSONEncoder, ensure_ascii=False, indent=2)
    missing = [file.name for file in files if not file.storage.exists(file.path)]
    facts = {"client": client, "studio": studio, "day": clock.today(), "missing": missing}
    spooled = SpooledTemporaryFile(max_size=MOST_IN_MEMORY)  # noqa: SIM115 -- the response closes it
    with zipfile.ZipFile(spooled, "w") as archive:
        _write(archive, "README.txt", render_to_string("counter/privacy/readme.txt", facts))
        _write(archive, "client.json", record)
        for name, table in tables(held).items():
            _write(archive, name, BYTE_ORDER_MARK + table)
        for file in files:
            if file.name not in missing:
                _copy(archive, file)
    spooled.seek(0)
    return spooled


def _write(archive: zipfile.ZipFile, name: str, text: str) -> None:
    archive.writestr(_entry(name), text.encode(), zipfile.ZIP_DEFLATED)


def _copy(archive: zipfile.ZipFile, kept: Kept) -> None:
    """Pictures and PDF are packed already."""
    with kept.storage.open(kept.path, "rb") as file:
        archive.writestr(_entry(kept.name), file.read(), zipfile.ZIP_STORED)


def _entry(name: str) -> zipfile.ZipInfo:
    entry = zipfile.ZipInfo(name, NO_DAY)
    entry.external_attr = 0o600 << 16
    return entry
