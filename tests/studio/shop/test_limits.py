"""What nobody may take from the others: the processor, the memory, the door, the way back."""

import io
import os
import subprocess
import sys
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from time import thread_time

import pytest
import time_machine
from django.core import signals
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import OperationalError, close_old_connections
from django.http import QueryDict
from django.test import Client, RequestFactory
from django.urls import reverse
from PIL import Image, ImageFile

from studio import env
from studio.shop import files, imports
from studio.shop.charsets import letters_of
from studio.shop.files import UnreadableFileError, parse_csv
from studio.shop.http import go_back
from studio.shop.models import LoginBucket
from studio.shop.pictures import PictureError, redraw
from studio.wsgi import application
from tests.factories import PASSWORD, UserFactory

# Files


def test_a_table_has_two_hundred_headings_at_most():
    """60,000 were compared with each other: 84 seconds of the processor."""
    begun = thread_time()
    with pytest.raises(UnreadableFileError, match="more than 200 headings"):
        parse_csv(",".join(f"h{number}" for number in range(60_000)) + "\n1\n")
    assert thread_time() - begun < 2
    wide = ",".join(f"h{number}" for number in range(200)) + "," * 16_000
    assert len(parse_csv(f"{wide}\n1\n")[0].cells) == 200


def test_a_wide_table_has_fewer_rows():
    wide = ",".join(f"h{number}" for number in range(200))
    with pytest.raises(UnreadableFileError, match="more than 2500 rows"):
        parse_csv(wide + "\n1" * 2501)


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("text", "slow"),
    [
        ("name,phone\n" + "Ann,1\n" * 2000, "a table"),
        ("BEGIN:VCARD\nFN:Ann\n" + "NOTE:more\n" * 2000 + "END:VCARD\n", "a card with many notes"),
    ],
)
def test_a_file_has_so_long_and_no_longer(owner_client, monkeypatch, text, slow):
    sent = {"file": SimpleUploadedFile("clients.csv", text.encode())}
    monkeypatch.setattr(files, "MOST_SECONDS", 0.002)
    page = owner_client.post(reverse("clients-import"), sent)
    assert "This file takes too long to read. Send it in parts." in page.text, slow
    monkeypatch.undo()
    sent["file"].seek(0)
    assert "too long" not in owner_client.post(reverse("clients-import"), sent).text


def test_a_card_of_soft_line_breaks_is_read_in_time():
    """Its first line was looked through again for each further one."""
    from clients.vcard import read_cards

    head = "NOTE;ENCODING=QUOTED-PRINTABLE;X=" + "x" * 400_000 + ":a=\n"
    begun = thread_time()
    rows = read_cards("BEGIN:VCARD\nFN:A\n" + head + "b=\n" * 20_000 + "c\nEND:VCARD", most_cards=2)
    assert rows[0].cells["notes"].endswith("bbbc")
    assert thread_time() - begun < 1.5


HOSTILE = {
    "many phones": "TEL:08{0:07}\n",
    "agents within agents": "AGENT:\nBEGIN:VCARD\nTEL:08{0:07}\n",
    "labels": "item{0}.TEL:08{0:07}\nitem{0}.X-ABLabel:a{0}\n",
}


@pytest.mark.parametrize("kind", HOSTILE)
def test_a_card_of_many_lines_is_read_in_time(kind):
    """Each line was compared with every other, and what an agent holds copied at each depth."""
    from clients.vcard import read_cards

    lines = "".join(map(HOSTILE[kind].format, range(20_000)))
    begun = thread_time()
    (row,) = read_cards(f"BEGIN:VCARD\nFN:Ann\n{lines}END:VCARD\n", most_cards=1)
    assert thread_time() - begun < 3
    assert row.cells["phone 39"].startswith("0800")
    assert row.remarks == ["Only 39 of 20000 phones are kept."]


def test_a_file_of_no_letters_is_seen_through_in_time():
    begun = thread_time()
    assert letters_of(b"name\n" + b"\xe9\xe8" * 500_000).is_guess
    assert letters_of(("名前" * 100_000).encode() + b"\n\xe9").is_guess
    assert thread_time() - begun < 1.5


@pytest.mark.django_db
def test_one_file_is_read_at_a_time(owner_client, monkeypatch):
    monkeypatch.setattr(files, "_PATIENCE", 0)
    sent = {"file": SimpleUploadedFile("clients.csv", b"name\nAnn\n")}
    with imports.one_file():
        page = owner_client.post(reverse("clients-import"), sent)
    assert "Another file is being read." in page.text


# Pictures

FOUR = """
import io, threading
from PIL import Image
from studio.shop.pictures import redraw
from django.core.files.uploadedfile import SimpleUploadedFile
file = io.BytesIO()
Image.new("RGBA", (3000, 3000), "teal").save(file, "PNG", compress_level=1)
ups = [SimpleUploadedFile("a.png", file.getvalue()) for _ in range(4)]
jobs = [threading.Thread(target=redraw, args=[up]) for up in ups]
[job.start() for job in jobs]
[job.join() for job in jobs]
print(int(open("/proc/self/status").read().split("VmHWM:")[1].split()[0]) // 1024)
"""


def test_four_small_files_of_many_pixels_take_the_memory_of_one(record_property):
    """Nine million pixels in RGBA are 36 MB; four at once, each copied twice, were over 500."""
    done = subprocess.run(
        [sys.executable, "-c", FOUR], capture_output=True, text=True, check=True,
        env=os.environ | {"DJANGO_SETTINGS_MODULE": "tests.settings", "PYTHONPATH": os.getcwd()},
    )  # fmt: skip
    record_property("figure", f"four pictures of 9 megapixels: {done.stdout.strip()} MB")
    assert int(done.stdout) < 200


def test_what_a_decoder_would_hold_is_counted_by_pixels():
    file = io.BytesIO()
    Image.new("L", (10, 10)).save(file, "WEBP", lossless=True)
    # Width and height less one, in fourteen bits each (RFC 9649, 3.4).
    data = bytearray(file.getvalue())
    at = data.index(b"VP8L") + 9
    bits = int.from_bytes(data[at : at + 4], "little") & ~0xFFFFFFF
    data[at : at + 4] = (bits | 4999 | 4499 << 14).to_bytes(4, "little")
    file = io.BytesIO(data)
    with pytest.raises(PictureError, match="over 21 million pixels"):
        redraw(SimpleUploadedFile("a.webp", file.getvalue()))


def test_half_a_photograph_is_refused_after_papers_were_laid_out():
    """The library that lays them out lets it pass, for the whole program."""
    from studio.shop.paper import typesetting  # noqa: F401 -- loads the library

    ImageFile.LOAD_TRUNCATED_IMAGES = True  # as it does when it is loaded
    file = io.BytesIO()
    Image.effect_noise((800, 600), 90).convert("RGB").save(file, "JPEG")
    half = file.getvalue()[: file.tell() * 6 // 10]
    with pytest.raises(PictureError, match="no picture that can be read"):
        redraw(SimpleUploadedFile("half.jpg", half))


@pytest.mark.parametrize(
    ("size", "kept"),
    [
        ((6000, 1000), (3600, 600)),
        ((1000, 6000), (600, 3600)),
        ((6400, 400), (4800, 300)),
        ((1500, 500), (1500, 500)),
        ((3200, 2400), (1600, 1200)),
    ],
)
def test_a_panorama_keeps_its_height(size, kept):
    file = io.BytesIO()
    Image.new("RGB", size, "teal").save(file, "JPEG")
    picture = redraw(SimpleUploadedFile("wide.jpg", file.getvalue()))
    assert (picture.width, picture.height) == kept


# The door

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)


@pytest.fixture
def mara(studio):
    return UserFactory(username="mara")


@pytest.mark.django_db
@pytest.mark.parametrize("back", [timedelta(days=10), timedelta(days=4000), timedelta(hours=2)])
def test_a_clock_that_was_set_back_locks_nobody_out(mara, back):
    """The wait was as long as the clock had gone back: 14,390 minutes for ten days."""
    with time_machine.travel(NOON, tick=False) as travel:
        for _ in range(6):
            Client().post(reverse("login"), {"username": "mara", "password": "wrong"})
        travel.shift(-back)
        page = Client().post(reverse("login"), {"username": "mara", "password": PASSWORD})
        assert "Wait 3 minutes, then" in page.text
        travel.shift(timedelta(minutes=3))
        page = Client().post(reverse("login"), {"username": "mara", "password": PASSWORD})
        assert page.status_code == 302


@pytest.mark.django_db
def test_a_login_that_breaks_off_costs_no_try(mara, monkeypatch):
    def lost(*_args, **_facts):
        raise OperationalError("server closed the connection unexpectedly")

    monkeypatch.setattr("studio.shop.doors.forms.AuthenticationForm.clean", lost)
    with time_machine.travel(NOON, tick=False):
        for _ in range(7):
            sent = {"username": "mara", "password": PASSWORD}
            assert Client().post(reverse("login"), sent).status_code == 503
        monkeypatch.undo()
        sent["password"] = "wrong"
        assert "do not belong together" in Client().post(reverse("login"), sent).text


@contextmanager
def connections_kept():
    """As Django's own test client does: the test's transaction is on this connection."""
    signals.request_started.disconnect(close_old_connections)
    signals.request_finished.disconnect(close_old_connections)
    try:
        yield
    finally:
        signals.request_started.connect(close_old_connections)
        signals.request_finished.connect(close_old_connections)


def called(body: bytes, content_type: str, path: str = "/login/", **more: str) -> tuple[str, str]:
    """Status and text of what the program answers a server, without anything between."""
    environ = RequestFactory()._base_environ(
        REQUEST_METHOD="POST", PATH_INFO=path, CONTENT_TYPE=content_type,
        CONTENT_LENGTH=str(len(body)), HTTP_HOST="localhost",
    )  # fmt: skip
    environ |= {"wsgi.input": io.BytesIO(body)} | more
    heads: list[str] = []
    with connections_kept():
        answer = application(environ, lambda status, _headers: heads.append(status))
    return heads[0], b"".join(answer).decode()


@pytest.mark.django_db
def test_half_a_login_is_no_try(mara):
    door = Client()
    door.get(reverse("login"))
    token = door.cookies["csrftoken"].value
    fields = QueryDict(mutable=True)
    fields.update({"csrfmiddlewaretoken": token, "username": "mara", "password": PASSWORD})
    whole = fields.urlencode().encode()
    said = {"CONTENT_LENGTH": str(len(whole)), "HTTP_COOKIE": f"csrftoken={token}"}
    kind = "application/x-www-form-urlencoded"
    status, page = called(whole[:-4], kind, reverse("login"), **said)
    assert (status, LoginBucket.objects.count()) == ("400 Bad Request", 0)
    assert "Only a part of it came" in page
    assert called(whole, kind, reverse("login"), **said)[0] == "302 Found"


@pytest.mark.django_db
@pytest.mark.parametrize("letters", ["hex", "bogus", "undefined", "utf-16", "idna"])
@pytest.mark.parametrize(
    "kind", ["multipart/form-data; boundary=x; charset={}", "text/plain; charset={}"]
)
def test_letters_that_are_none_are_a_clear_page(studio, letters, kind):
    status, page = called(b"--x--", kind.format(letters))
    assert status == "400 Bad Request"
    assert "This could not be read" in page
    assert f"letters called “{letters}”; this program reads UTF-8" in page
    assert called(b"--x--", "text/plain; charset*=bogus'en'utf-8")[0] == "400 Bad Request"
    assert called(b"--x--", kind.format("UTF8"))[0] == "403 Forbidden"  # no token: it was read


# The way back


@pytest.mark.parametrize(
    "back",
    [
        "https://elsewhere.example/", "//elsewhere.example", "/\\elsewhere.example",
        "\\\\elsewhere.example", "/today\\", "http:today", "javascript:alert(1)", "today", "../x",
        "/\t/elsewhere.example", " /clients/", "/no/such/page/", "/clients/\n", "", "?x=1",
        "///elsewhere.example", "/%5c%5celsewhere.example",
    ],
)  # fmt: skip
def test_the_way_back_stays_in_the_house(rf, back):
    assert go_back(rf.post("/", {"back": back}), "clients").url == reverse("clients")


@pytest.mark.parametrize("back", ["/", "/clients/", "/tickets/?q=a%20b&page=2#row-7"])
def test_a_page_of_ours_is_gone_back_to(rf, back):
    assert go_back(rf.post("/", {"back": back}), "clients").url == back


# The key


@pytest.mark.parametrize("empty", ["", " \n"])
def test_an_empty_key_is_made_anew(tmp_path, monkeypatch, empty):
    monkeypatch.setenv("STUDIO_SECRET_KEY", "  ")
    (tmp_path / "secret_key").write_text(empty)
    key = env.secret_key(tmp_path)
    assert len(key) > 60
    assert env.secret_key(tmp_path) == key
    assert (tmp_path / "secret_key").stat().st_mode & 0o777 == 0o600
    assert [path.name for path in tmp_path.iterdir()] == ["secret_key"]


@pytest.mark.django_db
@pytest.mark.parametrize("day", ["0001-01-01", "9999-12-31"])
def test_a_day_that_no_book_holds_is_a_day_without_anything(day, owner_client):
    """The day after the last one, and the first one's midnight in UTC, are no dates."""
    tickets = owner_client.get(reverse("tickets"), {"day": day, "state": "all"})
    assert list(tickets.context["page"].object_list) == []
    day_end = owner_client.get(reverse("day-end"), {"day": day})
    assert day_end.context["takings"].payments == []
    paper = owner_client.get(reverse("paper-day-end"), {"day": day})
    assert "Signature" in paper.content.decode()
