"""A file of 25 MB or of 20,000 people is read within its time, in linear time, in 200 MB."""

import base64
import csv
import io
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from studio.shop.files import MOST_SECONDS

MEGABYTE = 1024 * 1024
MOST_MEMORY = 200
MOST_TIMES = 3
"""For twice as much, measured on a machine that does other things too."""

# In a process of its own, whose memory is that of the program with this one file.
READ = """
import json, os, sys, time
import django
django.setup()
from django.db import models
from clients.files import read_file
from studio.shop.files import read_letters
from django.core.files.base import File
models.QuerySet.first = lambda rows: "IE"  # the studio's country, without a database
with open(sys.argv[1], "rb") as file:
    begun = time.thread_time()
    letters = read_letters(File(file), most_bytes=30 * 1024 * 1024)
    reading = read_file(letters.text)
    spent = time.thread_time() - begun
memory = int(open("/proc/self/status").read().split("VmHWM:")[1].split()[0]) // 1024
print(json.dumps([len(reading.rows), len(reading.wrong), reading.left_out, spent, memory]))
"""


def people(count: int, letters: int) -> list[list[str]]:
    return [
        [
            f"Zoë Müller {n}",
            f"086 {n:07d}",
            f"m{n}@larkfield.example",
            f"Mill Lane {n}",
            "x" * letters,
        ]
        for n in range(count)
    ]


def table(count: int, letters: int) -> bytes:
    """By Python's own writer."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, delimiter=";")
    writer.writerow(["Name", "Telefon", "E-Mail", "Straße", "Notizen"])
    writer.writerows(people(count, letters))
    return out.getvalue().encode("cp1252")


def cards(count: int, letters: int) -> bytes:
    """Version 3.0, with a photograph of so many letters in base64 (RFC 2426, 3.1.4)."""
    photograph = base64.b64encode(bytes(n * n % 251 for n in range(letters * 3 // 4))).decode()
    folded = "\r\n ".join(photograph[at : at + 74] for at in range(0, len(photograph), 74))
    return "".join(
        f"BEGIN:VCARD\r\nVERSION:3.0\r\nFN:{name}\r\nTEL;TYPE=CELL:{phone}\r\nEMAIL:{mail}\r\n"
        f"ADR;TYPE=HOME:;;{street};Larkfield;;X00 XX00;Ireland\r\n"
        f"PHOTO;ENCODING=b;TYPE=JPEG:{folded}\r\nEND:VCARD\r\n"
        for name, phone, mail, street, _ in people(count, 0)
    ).encode()


KINDS = {
    "a table of 20,000 rows": lambda share: table(20_000 // share, 1200),
    "20,000 cards": lambda share: cards(20_000 // share, 1000),
    "25 MB of photographs": lambda share: cards(300 // share, 84_000),
    "one photograph of 25 MB": lambda share: cards(1, 25_000_000 // share),
}


@pytest.mark.parametrize("kind", KINDS)
def test_a_large_file_is_read_in_time(kind, tmp_path, record_property):
    spent = {}
    for share in (2, 1):
        path = tmp_path / "file"
        path.write_bytes(KINDS[kind](share))
        rows, wrong, left_out, spent[share], memory = read(path)
        size = path.stat().st_size / MEGABYTE
        figure = f"{kind}: {rows} rows, {size:.1f} MB, {spent[share]:.2f} s, {memory} MB of memory"
        record_property("figure", figure)
        assert wrong == 0
        assert left_out == ("" if "table" in kind else left_out)
        assert memory < MOST_MEMORY
    assert 20 < size < 26
    assert spent[1] < MOST_SECONDS
    assert spent[1] < MOST_TIMES * max(spent[2], 0.1)


def read(path: Path) -> tuple[int, int, str, float, int]:
    where = {"DJANGO_SETTINGS_MODULE": "tests.settings", "PYTHONPATH": os.getcwd()}
    done = subprocess.run(
        [sys.executable, "-c", READ, str(path)], capture_output=True, text=True, check=True,
        env=os.environ | where,
    )  # fmt: skip
    return tuple(json.loads(done.stdout.splitlines()[-1]))
