"""The page on which developers see every component, and the colours it shows them in."""

import re
from pathlib import Path

from django.urls import reverse

from studio.shop.look.colours import contrast

STYLES = Path(__file__).parents[3] / "studio/shop/static/studio"
PAIRS = [
    ("ink", "linen"), ("ink", "cloth"), ("ink", "chalk"), ("ink", "accent-soft"),
    ("ink-soft", "linen"), ("ink-soft", "cloth"), ("ink-soft", "chalk"), ("accent", "linen"),
    ("accent", "cloth"), ("accent", "accent-soft"), ("on-accent", "accent"), ("own", "linen"),
    ("own", "own-soft"), ("cloth", "own"), ("release", "release-soft"), ("warn", "warn-soft"),
    ("warn", "linen"), ("wrong", "wrong-soft"), ("wrong", "linen"), ("linen", "ink"),
    ("tape-ink", "tape"),
]  # fmt: skip


def colours(text: str) -> dict[str, str]:
    return dict(re.findall(r"--([a-z-]+|coin-soft): (#[0-9a-f]{6});", text))


def schemes(file: str) -> tuple[dict[str, str], dict[str, str]]:
    """The colours of a stylesheet by daylight and in the evening."""
    text = (STYLES / file).read_text()
    day, evening = re.split(r"prefers-color-scheme: dark|\.in-evening", text, maxsplit=1)
    return colours(day), colours(evening.split("\n}", 1)[0])


def test_every_class_of_the_components_is_shown(owner_client):
    """Each class that a component of the stylesheets starts with stands on the page."""
    shown = owner_client.get(reverse("looks")).text
    words = {word for said in re.findall(r'class="([^"]*)"', shown) for word in said.split()}
    for name in ["btn", "chip", "chips", "choices", "segments", "tick", "stepper", "field"]:
        assert name in words, name
    for name in ["notice", "banner", "state", "pill", "mark", "refused", "lookup", "empty"]:
        assert name in words, name
    for name in ["garment", "rail", "kinds", "load", "columns", "trend", "weeks-ahead", "thread"]:
        assert name in words, name
    for name in ["now", "line", "by-day", "strip", "sums", "figures", "facts", "slip", "step"]:
        assert name in words, name
    for name in ["drawers", "tabs", "card", "table", "huge-number", "letter", "hint", "errorlist"]:
        assert name in words, name


def test_the_sample_form_shows_its_errors_and_keeps_what_was_typed(owner_client):
    shown = owner_client.get(reverse("looks")).text
    assert "This field is required." in shown
    assert 'value="soon"' in shown


def test_words_stand_out_from_what_they_are_written_on():
    """WCAG 2.2, 1.4.3: at least 4.5 to 1, in daylight and in the evening."""
    for scheme in schemes("studio.css"):
        for front, behind in PAIRS:
            ratio = contrast(scheme[front], scheme[behind])
            assert ratio >= 4.5, f"{front} on {behind}: {ratio:.2f}"


def test_the_page_shows_the_very_colours_of_the_pages():
    assert schemes("looks.css") == schemes("studio.css")


def test_fonts_are_ours_and_their_licences_stand_beside_them():
    named = re.findall(r'url\("(fonts/[^"]+)"\)', (STYLES / "fonts.css").read_text())
    assert len(named) == 14
    assert all((STYLES / name).is_file() for name in named)
    for family in ["inter", "literata"]:
        text = (STYLES / f"fonts/{family}-OFL.txt").read_text()
        assert "SIL OPEN FONT LICENSE Version 1.1" in text
    assert sum((STYLES / name).stat().st_size for name in named) < 600_000
    papers = list((STYLES / "fonts").glob("paper-*.woff2"))
    assert len(papers) == 4, "browsers never fetch those of papers"
    assert sum(file.stat().st_size for file in papers) < 400_000
