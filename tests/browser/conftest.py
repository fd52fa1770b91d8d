"""Debian's chromium against a live server: a phone, a desktop, and nothing wrong on the console."""

import shutil
from collections.abc import Iterator
from functools import cache
from mimetypes import guess_type
from pathlib import Path

import pytest
import time_machine
from axe_playwright_python.base import AXE_SCRIPT
from django.contrib.staticfiles import finders
from django.contrib.staticfiles.handlers import StaticFilesHandler
from django.http import Http404, HttpRequest, HttpResponse
from playwright.sync_api import Browser, BrowserContext, Page, expect

from tests.browser.hands import AXE_ADDRESS
from tests.conftest import MOMENT

PHONE = {"width": 390, "height": 844}
DESKTOP = {"width": 1280, "height": 900}
HERE = Path(__file__).parent
# A busy machine is not a failure: what is expected may take as long as any press of a button may.
expect.set_options(timeout=30_000)
# The shell draws the same pages without the frame of a browser around them, which takes two fifths
# of the time; where it cannot be had, the whole browser does as well.
BROWSER = shutil.which("chromium-headless-shell") or shutil.which("chromium")
# The last five keep the browser from looking for its maker's servers. A process for graphics is
# started anew with every page unless the browser draws by itself.
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--in-process-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]

# Served beside the static files of the studio: what to ask a page with, and nothing at all.
OWN = {
    AXE_ADDRESS.removeprefix("/static/"): (AXE_SCRIPT.encode(), "text/javascript"),
    "nothing": (b"<!doctype html><title>Nothing</title>", "text/html"),
}


@pytest.fixture(autouse=True)
def watch() -> Iterator[time_machine.Traveller]:
    """A person's taps take time, so the watch starts at ``MOMENT`` and goes."""
    with time_machine.travel(MOMENT) as traveller:
        yield traveller


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if HERE in item.path.parents:
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: dict) -> dict:
    return {**browser_type_launch_args, "executable_path": BROWSER, "args": FLAGS}


@pytest.fixture(scope="session", autouse=True)
def _static_files_are_kept() -> Iterator[None]:
    """As in a studio at work: a browser asks once for a style sheet, a script or a font.

    Each page has some fifteen of them. By the server's watch they left months ago, hence the years.
    """

    @cache
    def file(path: str) -> tuple[bytes, str]:
        if path in OWN:
            return OWN[path]
        found = finders.find(path)
        if not found:
            raise Http404(path)
        return Path(found).read_bytes(), guess_type(path)[0] or "application/octet-stream"

    def serve(self: StaticFilesHandler, request: HttpRequest) -> HttpResponse:
        content, kind = file(self.file_path(request.path))
        headers = {"Cache-Control": "max-age=315360000, immutable"}
        return HttpResponse(content, content_type=kind, headers=headers)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(StaticFilesHandler, "serve", serve)
        yield


@pytest.fixture(scope="session")
def base_url(live_server) -> str:
    return live_server.url


@pytest.fixture(scope="session")
def browser_context_args(browser_context_args: dict) -> dict:
    return {
        **browser_context_args,
        "viewport": PHONE,
        "has_touch": True,
        "locale": "en-IE",
        "timezone_id": "Europe/Dublin",
        "reduced_motion": "reduce",
    }


@pytest.fixture
def complaints() -> Iterator[list[str]]:
    """What the browser complained of: script errors, refused content, pages the server broke on.

    A test that provokes one on purpose removes it; what is left when the test ends fails it.
    """
    found: list[str] = []
    yield found
    assert not found, "The browser complained:\n" + "\n".join(found)


def listen(context: BrowserContext, complaints: list[str]) -> None:
    context.on(
        "console",
        lambda said: said.type == "error" and complaints.append(f"{said.text} {said.location}"),
    )
    context.on("weberror", lambda raised: complaints.append(str(raised.error)))


@pytest.fixture
def page(context: BrowserContext, live_server, complaints: list[str]) -> Page:
    """A phone: 390 by 844, touched."""
    listen(context, complaints)
    return context.new_page()


@pytest.fixture(scope="module")
def one_window(
    browser: Browser, browser_context_args: dict, live_server
) -> Iterator[tuple[Page, list[str]]]:
    heard: list[str] = []
    context = browser.new_context(**browser_context_args)
    listen(context, heard)
    yield context.new_page(), heard
    context.close()


@pytest.fixture
def same_page(
    one_window: tuple[Page, list[str]], live_server, complaints: list[str]
) -> Iterator[Page]:
    """A phone that all tests of a file share: opening one takes longer than looking at a page.

    For tests that only look. Nobody is logged in, and nothing is left of the page before. An empty
    page of the studio's address leads to the next in the same process, another would end it.
    """
    page, heard = one_window
    page.context.clear_cookies()
    page.goto("/static/nothing")
    heard.clear()
    yield page
    complaints.extend(heard)


@pytest.fixture
def desktop(
    browser: Browser, browser_context_args: dict, live_server, complaints: list[str]
) -> Iterator[Page]:
    """A screen of 1280 by 900 with keyboard and mouse."""
    own = {"viewport": DESKTOP, "has_touch": False}
    context = browser.new_context(**{**browser_context_args, **own})
    listen(context, complaints)
    yield context.new_page()
    context.close()
