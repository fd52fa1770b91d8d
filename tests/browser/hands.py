"""What a person does at the counter: type, press, tap. Every one is counted."""

from collections.abc import Callable

from axe_playwright_python.base import AXE_SCRIPT
from django.test import Client
from playwright.sync_api import Locator, Page

from studio.shop.models import User

# WCAG 2.2 AA is these rule sets together (the tags are axe-core's own names for them).
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
# What axe-core says of colours: its tag cat.color holds these two for WCAG 2.2 AA.
COLOURS = ["color-contrast", "link-in-text-block"]
GRAVE = {"serious", "critical"}
# Screens narrower than this, in CSS pixels, are touched.
TABLET = 800


class Hands:
    """Counts keystrokes and taps. A chord counts each of its keys, a ``<select>`` two taps."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.done: list[str] = []

    @property
    def count(self) -> int:
        return len(self.done)

    def type(self, text: str) -> None:
        """Each letter into the field that has the focus, once one has it."""
        field = self.page.locator("input:focus, textarea:focus, select:focus")
        field.first.wait_for(state="attached")
        for letter in text:
            self.page.keyboard.type(letter)
            self.done.append(letter)

    def press(self, chord: str) -> None:
        """A key by its name, such as ``Enter`` or ``Shift+Tab``."""
        self.page.keyboard.press(chord)
        self.page.wait_for_load_state()
        self.done.extend(f"[{key}]" for key in chord.split("+"))

    def tap(self, target: str | Locator) -> None:
        locator = self._locator(target)
        # Asking the page itself would fail while it gives way to the next one.
        if self.page.viewport_size["width"] < TABLET:
            locator.tap()
        else:
            locator.click()
        # A page that was opened by it has its scripts.
        self.page.wait_for_load_state()
        self.done.append("(tap)")

    def choose(self, target: str | Locator, label: str) -> None:
        """An option of a ``<select>``: a tap opens the list, another takes the option."""
        self._locator(target).select_option(label=label)
        self.done.extend(["(tap)", "(tap)"])

    def _locator(self, target: str | Locator) -> Locator:
        return self.page.locator(target) if isinstance(target, str) else target

    def report(self, what: str, most: int, tell: Callable[[str, object], None]) -> None:
        """Tell the count (``tell`` is pytest's ``record_property``); more than ``most`` fails."""
        figure = f"{what}: {self.count} keystrokes and taps of at most {most}"
        tell("figure", f"{figure}: {' '.join(self.done)}")
        assert self.count <= most, figure


def signed_in(page: Page, user: User) -> Page:
    """Give the page's browser the session of ``user``, as after a login."""
    client = Client()
    client.force_login(user)
    session = client.cookies["sessionid"].value
    cookie = {"name": "sessionid", "value": session, "domain": "localhost", "path": "/"}
    page.context.add_cookies([cookie])
    return page


def assert_accessible(page: Page, *, schemes: tuple[str, ...] = ("light", "dark")) -> None:
    """No serious or critical finding of axe-core, in daylight and in the evening.

    The evening has other colours and nothing else, so only the rules about colours are asked again.
    """
    page.evaluate(f"() => {{ if (!window.axe) {{ {AXE_SCRIPT} }} }}")
    for scheme in schemes:
        page.emulate_media(color_scheme=scheme)
        rules = RULES if scheme == schemes[0] else COLOURS
        options = {"runOnly": rules, "resultTypes": ["violations"]}
        found = page.evaluate("options => axe.run(document, options)", options)["violations"]
        grave = [
            f"{rule['id']} ({rule['impact']}): {rule['help']}\n"
            + "\n".join(f"    {node['html'][:200]}" for node in rule["nodes"][:5])
            for rule in found
            if rule["impact"] in GRAVE
        ]
        assert not grave, f"{page.url} ({scheme}):\n" + "\n".join(grave)


def assert_fits(page: Page) -> None:
    """Nothing makes the page, with its style sheet, scroll sideways."""
    page.wait_for_load_state()
    wide = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
    assert wide <= 0, f"{page.url} is {wide} px wider than the screen."


def assert_in_sight(
    what: Locator, most: int, name: str, tell: Callable[[str, object], None]
) -> None:
    """It ends within the first ``most`` px of the page; the figure is told."""
    box = what.bounding_box()
    assert box
    end = box["y"] + box["height"]
    tell("figure", f"{name}: end at {end:.0f} px of {most}")
    assert end <= most, name
