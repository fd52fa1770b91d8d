"""The studio opens on a machine as its owner opens it, with production's settings."""

import fcntl
import os
import re
import signal
import subprocess
import sys
from contextlib import closing
from http.client import HTTPConnection
from pathlib import Path
from types import SimpleNamespace

import pytest
from django.core.management.base import CommandError
from django.db import DatabaseError, connection

from studio.shop.management.commands import serve

ROOT = Path(serve.__file__).resolve().parents[4]


def test_a_taken_port_gives_way_to_the_next():
    with (
        serve.open_socket("127.0.0.1", 47_100) as first,
        serve.open_socket("127.0.0.1", first.getsockname()[1]) as second,
    ):
        assert second.getsockname()[1] > first.getsockname()[1]


def test_no_port_at_all_is_said(monkeypatch):
    monkeypatch.setattr(serve, "TRIES", 1)
    with serve.open_socket("127.0.0.1", 47_200) as taken:
        port = taken.getsockname()[1]
        with pytest.raises(CommandError, match=f"No free port on 127.0.0.1 from {port} to {port}"):
            serve.open_socket("127.0.0.1", port)


@pytest.fixture
def opened(tmp_path):
    """An empty studio, served by a process of its own; gives a connection to it."""
    kept = {key: value for key, value in os.environ.items() if not key.startswith("STUDIO_")}
    kept |= {
        "STUDIO_DATA": str(tmp_path),
        "DATABASE_URL": "",
        "DJANGO_SETTINGS_MODULE": "studio.settings",
    }
    # Who runs the tests in the background has SIGINT ignored, and what is started inherits that.
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    with subprocess.Popen(
        [sys.executable, "manage.py", "serve", "--port", "47300"],
        cwd=ROOT,
        env=kept,
        stdout=subprocess.PIPE,
        text=True,
    ) as process:
        signal.signal(signal.SIGINT, before)
        try:
            greeting = process.stdout.readline()
            port = int(re.search(r"127\.0\.0\.1:(\d+)/", greeting)[1])
            with closing(HTTPConnection("127.0.0.1", port, timeout=10)) as connection:
                yield connection
        finally:
            process.send_signal(signal.SIGINT)
            try:
                process.wait(timeout=20)
            finally:
                process.kill()


def get(connection: HTTPConnection, path: str):
    connection.request("GET", path)
    response = connection.getresponse()
    return response, response.read().decode()


@pytest.mark.django_db
def test_a_proxy_is_told_whether_all_is_well_and_nothing_else(client, settings, monkeypatch):
    """By any name, over plain HTTP, without a login, before there is a studio."""
    settings.SECURE_SSL_REDIRECT = True
    settings.SECURE_REDIRECT_EXEMPT = [r"^health/$"]
    settings.ALLOWED_HOSTS = ["studio.example"]
    answer = client.get("/health/", headers={"Host": "10.0.0.7:8000"})
    assert (answer.status_code, answer.content) == (200, b"well\n")
    assert client.get("/login/", headers={"Host": "studio.example"}).status_code == 301

    def gone() -> None:
        raise DatabaseError("no route to host")

    monkeypatch.setattr(connection, "cursor", gone)
    answer = client.get("/health/", headers={"Host": "10.0.0.7:8000"})
    assert (answer.status_code, answer.content) == (503, b"no database\n")


def test_an_empty_studio_leads_to_its_set_up(opened, tmp_path):
    response, _ = get(opened, "/")
    assert (response.status, response.headers["Location"]) == (302, "/setup/")
    response, page = get(opened, "/setup/")
    assert response.status == 200
    assert "default-src 'self'" in response.headers["Content-Security-Policy"]
    sheet = re.search(r'href="(/static/studio/studio\.[0-9a-f]{12}\.css)"', page)[1]
    response, css = get(opened, sheet)
    assert response.headers["Cache-Control"] == "max-age=315360000, public, immutable"
    assert "--" in css
    assert (tmp_path / "studio.sqlite3").exists()
    assert (tmp_path / "secret_key").stat().st_mode & 0o777 == 0o600


def test_style_sheets_are_collected_by_one_studio_at_a_time(monkeypatch, settings, tmp_path):
    """Two that run from one folder of the program write the same files."""
    settings.STATIC_ROOT = tmp_path / "static"
    looked = []

    def collect(*_words, **_facts):
        with (tmp_path / "static.lock").open("w") as other, pytest.raises(BlockingIOError):
            fcntl.flock(other, fcntl.LOCK_EX | fcntl.LOCK_NB)
        looked.append("held")

    monkeypatch.setattr(serve, "call_command", collect)
    monkeypatch.setitem(sys.modules, "studio.wsgi", SimpleNamespace(application="it"))
    assert (serve.collect_and_load(), looked) == ("it", ["held"])
