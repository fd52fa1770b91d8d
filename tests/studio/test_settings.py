"""What the tests' own settings change for speed is in force where a studio runs."""

import os
import runpy
import subprocess
import sys

import pytest
import time_machine
from django.core.management import call_command

from studio import settings


def test_what_was_saved_survives_a_power_cut():
    """SQLite's documentation of PRAGMA synchronous: FULL waits until the disk has it."""
    assert "PRAGMA synchronous=FULL;" in settings.SQLITE["OPTIONS"]["init_command"]


def test_behind_https_the_check_before_going_public_is_clean(tmp_path):
    """Django's deployment checklist; without STUDIO_HTTPS it names what is missing."""
    told = {"STUDIO_DATA": str(tmp_path), "STUDIO_HOSTS": "studio.example", "STUDIO_HTTPS": "yes"}
    kept = {
        name: it for name, it in os.environ.items() if not name.startswith(("STUDIO_", "DJANGO_"))
    }
    command = [sys.executable, "manage.py", "check", "--deploy", "--fail-level", "WARNING"]
    environment = kept | told | {"DJANGO_SETTINGS_MODULE": "studio.settings"}
    answer = subprocess.run(
        command, cwd=settings.BASE_DIR, env=environment, capture_output=True, text=True, check=False
    )
    assert answer.returncode == 0, answer.stderr


def test_at_nine_in_the_morning_nothing_is_wrong_either():
    """A time that a field begins with was taken for the present moment."""
    with time_machine.travel("2026-03-02T09:00:03+00:00", tick=False):
        call_command("check", fail_level="WARNING")


@pytest.mark.parametrize("https", ["yes", "no"])
def test_only_behind_https_a_web_server_in_front_is_believed(monkeypatch, tmp_path, https):
    monkeypatch.setenv("STUDIO_DATA", str(tmp_path))
    monkeypatch.setenv("STUDIO_HTTPS", https)
    told = runpy.run_path(settings.__file__)
    assert told["SESSION_COOKIE_SECURE"] is told["CSRF_COOKIE_SECURE"] is (https == "yes")
    for name in ("SECURE_PROXY_SSL_HEADER", "SECURE_SSL_REDIRECT", "SECURE_HSTS_SECONDS"):
        assert (name in told) is (https == "yes")
