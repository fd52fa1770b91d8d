"""Debian's chromium against a live server: a phone, a desktop, and nothing wrong on the console."""

import shutil
from collections.abc import Callable, Iterator
from functools import cache
from mimetypes import guess_type
from pathlib import Path

import pytest
import time_machine
from axe_playwright_python.base import AXE_SCRIPT
from django.contrib.staticfiles import finders
from django.contrib.staticfiles.handlers import StaticFilesHandler
from django.http import Http404, HttpRequest, HttpResponse
from playwright.sync_api import Browser, ConsoleMessage, Page, expect

from tests.browser.hands import AXE_ADDRESS
from tests.conftest import MOMENT

PHONE = {"width": 390, "height": 844}
DESKTOP = {"width": 1280, "height": 900}
KINDS = {
    "phone": {},
    "plain": {"java_script_enabled": False},
    "desktop": {"viewport": DESKTOP, "has_touch": False},
}
HERE = Path(__file__).parent
# A busy machine is not a failure: what is expected may take as long as any press of a button may.
expect.set_options(timeout=30_000)
# The shell draws the same pages without the frame of a browser around them, which takes two fifths
# of the time; where it cannot be had, the whole browser does as well.
BROWSER = shutil.which("chromium-headless-shell") or shutil.which("chromium")
# Those from quic to sync keep the browser from looking for its maker's servers. A process for
# graphics is started anew with every page unless the browser draws by itself. A page is gone before
# it pays to compile its scripts for speed, which would be done again for the next one; that takes
# both of V8's compilers, as without the last alone the first would do more.
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--in-process-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--js-flags=--no-opt --no-maglev",
]

# A page gives up a question when it has a newer one (``hx-sync="this:replace"``), as happens where
# answers are slow; what fails in earnest has other words beside these.
GIVEN_UP = ("htmx:sendAbort", "htmx:afterRequest")

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


class Window:
    """Lent to one test after another, and tidied between: to open one takes a process of its own.

    What is still the same for the next one is what scripts of Playwright put into it: a clock, or
    somebody who listens. A test that does so asks for ``own_page``.
    """

    def __init__(self, browser: Browser, how: dict) -> None:
        self.complaints: list[str] = []
        self.context = browser.new_context(**how)
        self.context.on("console", self._hear)
        self.context.on("weberror", lambda raised: self.complaints.append(str(raised.error)))
        self.page = self.context.new_page()
        self.size = how["viewport"]

    def _hear(self, said: ConsoleMessage) -> None:
        if said.type == "error" and not said.text.startswith(GIVEN_UP):
            self.complaints.append(f"{said.text} {said.location}")

    def tidy(self) -> None:
        """Nobody is logged in, nothing is kept, and nothing is left of the page.

        An empty page of the studio's address leads to the next in the same process, another would
        end it.
        """
        self.complaints = []
        for other in self.context.pages[1:]:
            other.close()
        self.page.unroute_all(behavior="ignoreErrors")
        self.page.goto("/static/nothing")
        self.page.evaluate("localStorage.clear(); sessionStorage.clear()")
        self.context.clear_cookies()
        if self.page.viewport_size != self.size:
            self.page.set_viewport_size(self.size)
        self.page.emulate_media(color_scheme="light")


@pytest.fixture(scope="session")
def window(browser: Browser, browser_context_args: dict) -> Iterator[Callable[[str], Window]]:
    windows: dict[str, Window] = {}

    def of(kind: str) -> Window:
        if kind not in windows:
            windows[kind] = Window(browser, browser_context_args | KINDS[kind])
        return windows[kind]

    yield of
    for each in windows.values():
        each.context.close()


@pytest.fixture
def lend(
    window: Callable[[str], Window], live_server, complaints: list[str]
) -> Iterator[Callable[[str], Page]]:
    """A window of one of the ``KINDS``, which this test alone has until it ends."""
    lent: list[Window] = []

    def of(kind: str) -> Page:
        lent.append(window(kind))
        lent[-1].complaints = complaints
        return lent[-1].page

    yield of
    for each in lent:
        each.tidy()


@pytest.fixture
def page(lend: Callable[[str], Page]) -> Page:
    """A phone: 390 by 844, touched."""
    return lend("phone")


@pytest.fixture
def plain(lend: Callable[[str], Page]) -> Page:
    """A phone without JavaScript."""
    return lend("plain")


@pytest.fixture
def desktop(lend: Callable[[str], Page]) -> Page:
    """A screen of 1280 by 900 with keyboard and mouse."""
    return lend("desktop")


@pytest.fixture
def own_page(
    browser: Browser, browser_context_args: dict, live_server, complaints: list[str]
) -> Iterator[Page]:
    """A phone that nobody had before and nobody has after."""
    window = Window(browser, browser_context_args)
    window.complaints = complaints
    yield window.page
    window.context.close()
