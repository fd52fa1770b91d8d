"""No line breaks within a figure, a day or a number: on every page, whoever made its sentence.

What belongs together is as the CLDR writes it (a day, a month) or as printers set it (a number and
its unit); HTML's own parser says that nothing but texts is another than it was.
"""

from html.parser import HTMLParser
from time import perf_counter

import pytest
from django.urls import reverse

from studio.shop import middleware
from studio.shop.text import figures_whole
from tests.conftest import as_read
from tests.drafts import received

# ~ stands for a space at which no line breaks, [ ] for a figure that is kept whole as it is.
SENTENCES = [
    ("Ready by Fri 4 Dec, 9 h 11 of 12 h", "Ready by Fri 4~Dec, 9~h~11 of 12~h"),
    ("on Fri 4 or Wednesday 11 March 2026", "on Fri~4 or Wednesday 11~March~2026"),
    ("30 Nov 16:30", "30~Nov 16:30"),
    ("27 3/8 in, 69.5 cm; 2½ yd, 15 mm, 4 m", "27~3/8~in, 69.5~cm; 2½~yd, 15~mm, 4~m"),
    ("20 % more, 45 min", "20~% more, 45~min"),
    ("Ticket 26-0143, I26-0001", "Ticket [26-0143], [I26-0001]"),
    ("-€90.00 back", "[-€90.00] back"),
    ("12 hems in 3 days, may 4 of 5", "12 hems in 3 days, may 4 of 5"),
    ("size 8-10, half-day", "size 8-10, half-day"),
    ("Sat on it", "Sat on it"),
]


def as_sent(words):
    return (
        words.replace("~", "\N{NO-BREAK SPACE}")
        .replace("[", '<span class="figure">')
        .replace("]", "</span>")
    )


@pytest.mark.parametrize(("words", "whole"), SENTENCES)
def test_what_stays_together(words, whole):
    assert figures_whole(f"<p>{words}</p>", "en_IE") == f"<p>{as_sent(whole)}</p>"
    assert as_read(as_sent(whole)) == words


@pytest.mark.parametrize(
    ("locale", "words", "on_paper"),
    [
        ("en_US", "Fri, Dec 4, 2026 or Dec 4", "Fri,~Dec~4,~2026 or Dec~4"),
        ("de_DE", "Fr. 4. Dez. 2026, 4. März", "Fr.~4.~Dez.~2026, 4.~März"),
        ("fr_FR", "ven. 4 déc. 2026", "ven.~4~déc.~2026"),
    ],
)
def test_days_as_the_locale_writes_them(locale, words, on_paper):
    """On a page, which may be read in large letters, a weekday may stand above its date."""
    assert figures_whole(words, locale, paper=True) == as_sent(on_paper)
    assert figures_whole(words, locale) == as_sent(on_paper.replace("~", " ", 1))


def test_what_a_form_sends_back_and_what_is_no_text_stays():
    html = """<title>9 h 11</title><a href="/t/26-0143/" title="9 h 11">x</a><!-- 4 cm -->
    <textarea>Fri 4 Dec, 26-0143</textarea><select><option>9 h 11</option></select>
    <script>const words = "4 cm";</script><svg><text>45 min</text></svg>"""
    assert figures_whole(html, "en_IE") == html


def test_a_drawing_without_an_end_hides_no_text():
    html = '<svg class="strut" height="2em"/><b>9 h 11</b><svg><path/></svg>'
    assert figures_whole(html, "en_IE") == html.replace("9 h 11", as_sent("9~h~11"))


class Parts(HTMLParser):
    """The tags with all that they say but the figures' own, and the texts, one after the other."""

    def __init__(self, html):
        super().__init__()
        self.tags, self.words = [], []
        self.feed(html)
        self.close()

    def handle_starttag(self, tag, attributes):
        if (tag, attributes) != ("span", [("class", "figure")]):
            self.tags.append((tag, attributes))

    def handle_data(self, data):
        self.words.append(data)


def test_a_page_says_the_same_with_the_same_links(
    owner_client, studio, owner, monkeypatch, record_property
):
    """Every tag, address, script and word of the pages is as it was but for the figures' own."""
    ticket = received(studio, owner)
    plain = []
    monkeypatch.setattr(middleware, "figures_whole", lambda html, _: plain.append(html) or html)
    for name in ("today", "week", "prices", "drop-off", "tickets", "money", "own"):
        owner_client.get(reverse(name))
    owner_client.get(ticket.get_absolute_url())
    assert len(plain) == 8
    changed = 0
    for html in plain:
        starts = perf_counter()
        whole = figures_whole(html, studio.locale)
        took = perf_counter() - starts
        size = f"figures kept whole in {len(html) >> 10} KB"
        record_property("figure", f"{size}: {took * 1e3:.1f} ms")
        changed += whole != html
        before, after = Parts(html), Parts(whole)
        assert after.tags == before.tags
        assert as_read("".join(after.words)) == as_read("".join(before.words))
    assert changed >= 4


def test_pages_and_parts_of_them_go_out_whole(owner_client, studio, owner):
    """What htmx asks for too, and a page that was not found; the tests read plain spaces."""
    ticket = received(studio, owner)
    page = owner_client.get(ticket.get_absolute_url())
    assert f'<span class="figure">{ticket.number}</span>' in page.sent.decode()
    assert "30\N{NO-BREAK SPACE}min" in page.sent.decode()
    assert "\N{NO-BREAK SPACE}" not in page.text
    assert int(page.headers["Content-Length"]) == len(page.sent)
