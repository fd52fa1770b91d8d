"""What a person does at the counter: type, press, tap. Every one is counted."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path
from typing import Any

from django.test import Client
from playwright.sync_api import CDPSession, Locator, Page, expect

from studio.shop.models import User
from tests.thorough import THOROUGH

# WCAG 2.2 AA is these rule sets together (the tags are axe-core's own names for them).
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
# What axe-core says of colours: its tag cat.color holds these two for WCAG 2.2 AA.
COLOURS = ["color-contrast", "link-in-text-block"]
# Half a megabyte: a page fetches it from the studio, once, as it does its scripts.
AXE_ADDRESS = "/static/axe.js"
# The looks of words in sight. A look is all that decides how well words can be read: their colours
# and type, those of the sentence they stand in, and the grounds under them, down to one that lets
# nothing through, with all that veils or tints them. What may lie over other things than those it
# is in, as it is placed or moved, is known by its class as well.
LOOKS = """
() => {
    const hash = text => {
        let [one, other] = [5381, 52711];
        for (let place = 0; place < text.length; place++) {
            one = Math.imul(one, 33) ^ text.charCodeAt(place);
            other = Math.imul(other, 37) ^ text.charCodeAt(place);
        }
        return String((one >>> 0) * 1048576 + ((other >>> 0) % 1048576));
    };
    // What is folded away is passed by with all that is in it; contents alone have no box.
    const shown = element => element.checkVisibility()
        || getComputedStyle(element).display === "contents"
        ? NodeFilter.FILTER_ACCEPT : NodeFilter.FILTER_REJECT;
    const clear = "rgba(0, 0, 0, 0)|none", bare = "1|none|normal";
    const grounds = new Map(), veils = new Map(), texts = new Map(), found = [];
    const walk = document.createTreeWalker(document, NodeFilter.SHOW_ELEMENT, shown);
    while (walk.nextNode()) {
        const element = walk.currentNode, parent = element.parentElement;
        const style = getComputedStyle(element);
        const words = element.matches("input, select, textarea") || [...element.childNodes].some(
            node => node.nodeType === Node.TEXT_NODE && node.data.trim());
        const paint = `${style.backgroundColor}|${style.backgroundImage}`;
        const veil = `${style.opacity}|${style.filter}|${style.mixBlendMode}`;
        const stays = ["static", "relative"].includes(style.position) && style.transform === "none"
            && [style.gridRowStart, style.gridColumnStart].includes("auto")
            && !style.marginTop.startsWith("-") && !style.marginLeft.startsWith("-");
        const placed = stays ? "" : `${element.tagName}|${element.getAttribute("class")}`;
        const under = veil === bare && !placed
            ? veils.get(parent) : hash([veils.get(parent), veil, placed].join("|"));
        const covers = style.backgroundColor.startsWith("rgb(") && style.backgroundImage === "none";
        const ground = paint === clear && veil === bare && !placed ? grounds.get(parent)
            : hash([covers ? "" : grounds.get(parent), paint, under].join("|"));
        const text = hash([
            style.display === "inline" ? texts.get(parent) : "", element.tagName, words,
            style.color, element.matches(":disabled, [aria-disabled=true]"), style.fontSize,
            style.fontWeight, style.textDecorationLine, style.textShadow,
        ].join("|"));
        grounds.set(element, ground);
        veils.set(element, under);
        texts.set(element, text);
        if (words && element.checkVisibility({opacityProperty: true, visibilityProperty: true}))
            found.push([element, hash([ground, text].join("|"))]);
    }
    window.looks = found;
    const scheme = matchMedia("(prefers-color-scheme: dark)").matches ? "dark" : "light";
    return {scheme, looks: [...new Set(found.map(([, look]) => look))]};
}
"""
# Asks by the ``options``, and after colours only where words have a look that is ``unknown``; tells
# the findings, and which looks were sound. Three of each are asked: one may lie under another. To
# report all that is sound, as axe-core does, takes a third more.
ASK = """
async ({unknown, options, address}) => {
    if (!window.axe) {
        const script = document.createElement("script");
        const loaded = new Promise((done, fail) => {
            Object.assign(script, {src: address, onload: done, onerror: fail});
        });
        document.head.append(script);
        await loaded;
    }
    const left = new Map(unknown.map(look => [look, 3])), asked = new Map();
    for (const [element, look] of window.looks) if (left.get(look) > 0) {
        left.set(look, left.get(look) - 1);
        asked.set(element, look);
    }
    axe.configure({rules: [
        {id: "color-contrast", selector: "[data-asked]"},
        {id: "link-in-text-block", selector: "a[href][data-asked]"},
    ]});
    axe.addReporter("found", (results, _, done) => done(results));
    for (const element of asked.keys()) element.setAttribute("data-asked", "");
    const results = await axe.run(document, {...options, reporter: "found", selectors: false});
    for (const element of asked.keys()) element.removeAttribute("data-asked");
    return {
        violations: results.filter(({violations}) => violations.length).map(
            ({id, impact, help, violations}) => ({id, impact, help,
                nodes: violations.map(({node}) => node.element.outerHTML)})),
        sound: results.filter(({id}) => id === "color-contrast").flatMap(
            ({passes}) => passes.map(({node}) => asked.get(node.element))),
    };
}
"""
# The looks that were found sound in this run of the tests.
SOUND: set[str] = set()
# Screens narrower than this, in CSS pixels, are touched.
TABLET = 800


MEASURES = (Path(__file__).parent / "measures.js").read_text()
TOUCH = 44
# WCAG 1.4.12: what a reader may set without losing anything.
SPACED = """* { line-height: 1.5 !important; letter-spacing: 0.12em !important;
  word-spacing: 0.16em !important; } p { margin-bottom: 2em !important; }"""
# Whatever the reader sets is set before it is measured.
READABLE = "asked.map(({css, most}) => measures.readable(css, most))"


@dataclass(frozen=True)
class Reader:
    """A window in CSS pixels, the letters the reader has set, and how long a word stays whole."""

    name: str
    width: int
    height: int
    letters: int = 16
    spaced: str = ""
    word: int = 14

    def window(self) -> tuple[int, int, int]:
        return self.width, self.height, self.letters


# A zoom of 400 % leaves 320 by 256 of a screen of 1280 by 1024 (WCAG 1.4.10), one of 200 % twice
# that. A tile of a phone holds a word of 7 letters that are spaced out, a line one of 9 large ones.
# A phone as it is comes first, since a page is opened on one: to change the window draws it anew.
READERS = [
    Reader("a phone, spaced", 390, 844, spaced=SPACED, word=7),
    Reader("letters of 200 % on a phone", 390, 844, letters=32, word=9),
    Reader("letters of 200 %", 1280, 1024, letters=32),
    Reader("zoom of 200 %", 640, 512),
    Reader("zoom of 400 %", 320, 256),
    Reader("zoom of 400 %, spaced", 320, 256, spaced=SPACED, word=7),
]
if not THOROUGH:
    # Spaced words have less room at a zoom of 400 %. One of 200 % meets the turns of the layout
    # that letters of 200 % meet, and what is too wide for it is so for one of 400 %.
    READERS = [one for one in READERS if one.name not in ("a phone, spaced", "zoom of 200 %")]


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


CONTROLS = """() => [...document.querySelectorAll(
    'a[href], button, input:not([type=hidden]), select, textarea, summary'
)].filter(one => {
    const box = one.getBoundingClientRect();
    return box.width > 1 && box.height > 1 && box.right > 0
        && one.checkVisibility({visibilityProperty: true});
}).map(one => (one.innerText || one.getAttribute("aria-label") || one.name).trim())"""


def controls_of(page: Page) -> list[str]:
    """What can be touched or typed into and is in sight, the frame of the page included."""
    names: list[str] = page.evaluate(CONTROLS)
    return names


def reach(page: Page, target: Locator, most: int = 90) -> None:
    """Go on with the Tab key until the target has the focus."""
    target.wait_for()
    for _ in range(most):
        page.keyboard.press("Tab")
        if target.evaluate("target => target === document.activeElement"):
            return
    raise AssertionError(f"{most} times Tab do not lead to {target}.")


def signed_in(page: Page, user: User) -> Page:
    """Give the page's browser the session of ``user``, as after a login."""
    client = Client()
    client.force_login(user)
    session = client.cookies["sessionid"].value
    cookie = {"name": "sessionid", "value": session, "domain": "localhost", "path": "/"}
    page.context.add_cookies([cookie])
    return page


def assert_accessible(
    page: Page, *, schemes: tuple[str, ...] = ("light", "dark"), targets: bool = True
) -> None:
    """No finding of axe-core, of any degree, in daylight and in the evening.

    The evening has other colours and nothing else, so only the rules about colours are asked again.
    These take by far the most time, and most words of the studio stand in the same colours on the
    same grounds, so a look that was found sound is not asked after again: see ``ASK``. Without
    ``schemes`` the page stays in the one it is in.
    Of the others ``target-size`` takes a third; ``assert_touched`` asks more than it, for less.
    """
    page.wait_for_load_state()
    if len(schemes) == 1:
        page.emulate_media(color_scheme=schemes[0])
    # The one it is in first: each change draws the page anew.
    now = _ask(page, RULES, rules={} if targets else {"target-size": {"enabled": False}})
    for scheme in set(schemes) - {now}:
        page.emulate_media(color_scheme=scheme)
        _ask(page, COLOURS)


def _ask(page: Page, tags: list[str], **options: object) -> str:
    """No finding; the looks that were sound are remembered. In which scheme the page is."""
    seen = page.evaluate(LOOKS)
    unknown = [look for look in seen["looks"] if look not in SOUND]
    if not unknown and tags == COLOURS:
        return seen["scheme"]
    options = {"runOnly": tags, **options}
    asked = {"unknown": unknown, "options": options, "address": AXE_ADDRESS}
    answer = page.evaluate(ASK, asked)
    amiss = [
        f"{rule['id']} ({rule['impact']}): {rule['help']}\n"
        + "\n".join(f"    {html[:200]}" for html in rule["nodes"][:5])
        for rule in answer["violations"]
    ]
    assert not amiss, f"{page.url} ({seen['scheme']}):\n" + "\n".join(amiss)
    SOUND.update(answer["sound"])
    return seen["scheme"]


def measured(page: Page, what: str, asked: object = None) -> Any:
    """Something of ``measures.js``, of which the page may not know yet, once its parts are here."""
    know = f"if (!window.measures?.aside) {{ {MEASURES} }}"
    ask = f"asked => {{ {know} return document.querySelector('.htmx-request') ? null : {what}; }}"
    answer = page.evaluate(ask, asked)
    if answer is None:
        expect(page.locator(".htmx-request")).to_have_count(0)
        answer = page.evaluate(ask, asked)
    return answer


def assert_laid_out(page: Page) -> None:
    """All that is asked of a page at this width: one heading, it fits, it can be touched."""
    found = measured(page, f"{{...{FITS}, ...{TOUCHED}, headings: measures.headings()}}")
    assert found["headings"] == 1, f"{page.url}: {found['headings']} headings of the first degree"
    _judge_fit(page, found)
    _judge_touch(page, found)


FITS = "{wide: measures.wide(), aside: measures.aside(), broken: measures.broken()}"
TOUCHED = f"{{small: measures.small({TOUCH}), filled: measures.filled()}}"


def assert_fits(page: Page) -> None:
    """Nothing makes the page, with its style sheet, scroll sideways, and no figure is broken."""
    page.wait_for_load_state()
    _judge_fit(page, measured(page, FITS))


def _judge_fit(page: Page, found: dict[str, Any]) -> None:
    wide, broken = found["wide"], found["broken"]
    assert wide <= 0, f"{page.url}, {wide} px too wide: {found['aside']}"
    assert not broken, f"{page.url}: broken across lines:\n" + "\n".join(broken)


def assert_touched(page: Page) -> None:
    """What can be touched is large enough, and at most one button is filled."""
    _judge_touch(page, measured(page, TOUCHED))


def _judge_touch(page: Page, found: dict[str, Any]) -> None:
    small, filled = found["small"], found["filled"]
    assert not small, f"{page.url}: less than {TOUCH} px:\n" + "\n".join(small)
    # The page of components shows them all.
    most = 9 if "/looks/" in page.url else 1
    assert len(filled) <= most, f"{page.url}: more than one filled button:\n" + "\n".join(filled)


def assert_readable_large(page: Page, browser: CDPSession) -> None:
    """At each zoom no word is squeezed or cut off, nothing scrolls sideways, no bar covers half.

    The page's session with the ``browser`` sets the letters as a reader does in its preferences.
    The window stays that of the last reader.
    """
    amiss = []
    letters = 16
    for (width, height, size), group in groupby(READERS, Reader.window):
        readers = list(group)
        resize(page, width, height)
        if letters != size:
            letters = size
            browser.send("Page.setFontSizes", {"fontSizes": {"standard": letters}})
        asked = [{"css": reader.spaced, "most": reader.word} for reader in readers]
        for reader, found in zip(readers, measured(page, READABLE, asked), strict=True):
            amiss += [f"{reader.name}, {kind}: {at}" for kind in found for at in found[kind][:8]]
    assert letters == 16, "The last reader leaves letters as they were."
    page.evaluate("document.adoptedStyleSheets = []")
    assert not amiss, f"{page.url}:\n" + "\n".join(amiss)


def resize(page: Page, width: int, height: int) -> None:
    """A window that has this size is left alone: to set it draws the page anew."""
    if page.viewport_size != (size := {"width": width, "height": height}):
        page.set_viewport_size(size)


def assert_in_sight(
    what: Locator, most: int, name: str, tell: Callable[[str, object], None]
) -> None:
    """It ends within the first ``most`` px of the page; the figure is told."""
    what.page.wait_for_load_state()
    box = what.bounding_box()
    assert box
    end = box["y"] + box["height"]
    tell("figure", f"{name}: end at {end:.0f} px of {most}")
    assert end <= most, name


def heights(targets: Locator) -> list[float]:
    """How high each of them is, in px, those in sight alone; at least one has to be."""
    found: list[float] = targets.evaluate_all(
        "all => all.map(one => one.getBoundingClientRect().height).filter(high => high > 0)"
    )
    assert found, f"Nothing is in sight of {targets}."
    return found


def minutes_of(shown: str) -> int:
    """``1 h 05`` is 65, ``45 min`` and ``45`` are 45, whatever spaces stand in it."""
    hours, rest = re.match(r"(?:(\d+)\sh\s?)?(\d+)?", shown.strip()).groups()
    return 60 * int(hours or 0) + int(rest or 0)
