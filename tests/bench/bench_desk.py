"""Twenty files with 40,000 people come in by the desk's pages and are given back.

They are written by Python's own ``csv`` (RFC 4180), and by hand as a phone (vCard 2.1 and 3.0, RFC
2426) or a mail program writes them (common practice). Counts in and out are equal, no answer takes
more than ``MOST_SECONDS``, and undone the tables are the same by hash. Seconds are the processor's.
"""

import csv
import io
import os
from time import thread_time

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from clients.desk import actions
from clients.models import Client, ClientFile
from tests.clients.desk import clients_hash

pytestmark = pytest.mark.django_db
MOST_SECONDS = 5
ROWS = int(os.environ.get("ROWS", "40000"))
HEADINGS = {
    "as a spreadsheet writes it": ("Name", "Phone", "E-mail", "Town", "Notes"),
    "as a mail program writes it": (
        "Given Name", "Phone 1 - Value", "E-mail 1 - Value", "Address 1 - City", "Notes",
    ),
    "in German": ("Name", "Telefon", "E-Mail-Adresse", "Ort", "Bemerkung"),
}  # fmt: skip
WAYS = {"utf-8": ",", "utf-8-sig": ";", "utf-16": "\t", "cp1252": ";"}


def people(first: int, count: int) -> list[list[str]]:
    return [
        [f"Zoë Müller {n}", f"+353 86 {n:07d}", f"m{n}@mail.example", "Larkfield", f"tall\n{n}"]
        for n in range(first, first + count)
    ]


def table(rows: list[list[str]], headings: tuple[str, ...], charset: str) -> bytes:
    out = io.StringIO(newline="")
    writer = csv.writer(out, delimiter=WAYS[charset])
    writer.writerow(headings)
    writer.writerows(rows)
    return out.getvalue().encode(charset)


def card(version: str, row: list[str]) -> str:
    name, phone, mail, town, note = row
    kind = ";CELL" if version == "2.1" else ";TYPE=CELL"
    note = note.replace("\n", "=0A") if version == "2.1" else note.replace("\n", "\\n")
    quoted = ";CHARSET=UTF-8;ENCODING=QUOTED-PRINTABLE" if version == "2.1" else ""
    return (
        f"BEGIN:VCARD\r\nVERSION:{version}\r\nFN:{name}\r\nTEL{kind}:{phone}\r\nEMAIL:{mail}\r\n"
        f"ADR{';TYPE=HOME' if quoted == '' else ';HOME'}:;;;{town};;;\r\nNOTE{quoted}:{note}\r\n"
        "END:VCARD\r\n"
    )


def files() -> list[tuple[bytes, int]]:
    """Each with how many people it holds."""
    made: list[tuple[bytes, int]] = []
    share = ROWS // 20
    written = [(headings, charset) for headings in HEADINGS.values() for charset in WAYS]
    for number in range(20):
        rows = people(number * share, share)
        if number < len(written):
            made.append((table(rows, *written[number]), share))
        else:
            version = ("2.1", "3.0", "4.0")[number % 3]
            made.append(("".join(card(version, row) for row in rows).encode(), share))
    return made


def test_twenty_files_come_in_and_are_given_back(owner_client, record_property):
    slowest = {"send": 0.0, "read": 0.0, "take": 0.0, "undo": 0.0, "look": 0.0}

    def timed(step, page, fields=None):
        begun = thread_time()
        answer = owner_client.get(page) if fields is None else owner_client.post(page, fields)
        slowest[step] = max(slowest[step], thread_time() - begun)
        return answer

    def until(step, page, state):
        while ClientFile.objects.get(pk=page.split("/")[-2]).state != state:
            timed(step, page, {})

    before, pages, begun = clients_hash(), [], thread_time()
    for data, count in files():
        upload = SimpleUploadedFile("people", data)
        sent = timed("send", reverse("clients-import"), {"file": upload})
        page = sent["Location"]
        file = ClientFile.objects.get(pk=page.split("/")[-2])
        if file.headings:
            chosen = {
                f"column-{place}": file.columns[name]
                for place, (name, _) in enumerate(file.headings)
            }
            timed("read", page, chosen | {"intent": "columns"})
        until("read", page, "people")
        look = timed("look", page)
        assert look.context["ticked"] == count
        timed("take", page, {"intent": "take"})
        until("take", page, "taken")
        expected = {"added": count, "changed": 0, "left": 0, "wrong": 0}
        assert actions.counts(file) == expected
        pages.append(page)
    taken = thread_time() - begun
    assert Client.objects.count() == ROWS // 20 * 20
    ours = Client.objects.get(name=f"Zoë Müller {ROWS // 20 * 20 - 1}")
    assert (ours.city, ours.notes.splitlines()[0]) == ("Larkfield", "tall")
    for page in pages:
        timed("undo", page, {"intent": "undo"})
        until("undo", page, "undone")
    assert clients_hash() == before
    words = ", ".join(f"{step} {seconds:.1f} s" for step, seconds in slowest.items())
    back = thread_time() - begun - taken
    figure = f"{ROWS} people in {taken:.0f} s, back in {back:.0f} s; the longest answers: {words}"
    record_property("figure", figure)
    assert max(slowest.values()) < MOST_SECONDS
