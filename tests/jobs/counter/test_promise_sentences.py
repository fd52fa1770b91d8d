"""Ten books made by chance: every sentence of the promise panel has to follow from its numbers."""

import re
from datetime import timedelta

import pytest
from django.utils.html import strip_tags

from studio.shop import clock
from tests import factories as f
from tests.jobs.counter.html_form import Counter
from tests.jobs.counter.test_sums import live
from tests.jobs.planning.core.books import dice
from tests.thorough import thinned

LENGTH = r"((?:\d+ h)?(?: ?\d\d)?|\d+ min)"
ROOM = re.compile(rf"{LENGTH} of bench time, {LENGTH} wanted\. {LENGTH} too much")
WHY = re.compile(
    rf"there are {LENGTH} of bench time; {LENGTH} of it are promised.*?"
    rf"(?:\. {LENGTH} (?:is|are) left|\. Nothing is left)"
)
HOLDS = re.compile(rf"the bench holds {LENGTH} until then; {LENGTH} (?:is|are) wanted")
LEFT = re.compile(rf"Until [^.]*? only {LENGTH} of {LENGTH} (?:is|are) left")


def minutes(words):
    """``4 h 05``, ``4 h`` or ``25 min`` as minutes; nothing is none."""
    if not words:
        return 0
    if words.endswith("min"):
        return int(words.removesuffix("min"))
    hours, _, rest = words.partition(" h")
    return int(hours) * 60 + int(rest or 0)


def panel(counter):
    """The words of the promise without its calendar; there is always something to read."""
    page = counter.response.content.decode()
    part = page.partition('<section class="card promise"')[2].partition("</section>")[0]
    without = re.sub(r'<fieldset class="calendar">.*?</fieldset>', "", part, flags=re.DOTALL)
    words = " ".join(strip_tags(without).split()).partition(">")[2]
    assert "Ready by" in words, "There is no promise on the page."
    return words


@pytest.mark.parametrize("number", thinned(range(10), range(4).__contains__))
def test_what_it_says_follows(studio, owner, owner_client, number):
    live(studio, owner, number)
    rng = dice(1000 + number)
    length, gated = rng.choice([30, 180, 700, 3000]), rng.random() < 0.3
    work = f.OperationFactory(name="Lining", minutes=length, price=6000, fitting_first=gated)
    counter = Counter(owner_client, f"/drop-off/?client={f.ClientFactory().pk}")
    counter.put(work)
    assert "day-costs" not in counter.text, "the proposed day costs something"
    for ahead in (0, 1, 3, 4, 6, 12, 40):
        day = clock.today() + timedelta(days=ahead)
        text = panel(counter.type(promise_day=day.isoformat()).press("enter"))
        follows(text, length)


def follows(text, length):
    assert not re.search(r"\b0 min\b|Without:|None (?!of )|\.\.", text), text
    for bench, wanted, excess in ROOM.findall(text):
        assert minutes(wanted) - minutes(bench) == minutes(excess) > 0, text
    for bench, promised, left in WHY.findall(text):
        assert minutes(bench) - minutes(promised) == minutes(left) < length, text
    for bench, wanted in HOLDS.findall(text):
        assert minutes(bench) < minutes(wanted) == length, text
    # The line that is always seen says the same as the sentences behind it.
    for left, bench in LEFT.findall(text):
        assert (bench, left) in [(row[0], row[2]) for row in WHY.findall(text)], text
    assert "Why this day" in text or LEFT.search(text) or "left" in text, text
    # What nobody gives way for is no rush, and is no later than the honest day.
    calm = "nobody would be late. None of your own hours are taken" in text
    assert not (calm and "As a rush" in text), text
    if "nobody would be later than they are" in text and "too much" in text:
        assert "Without this job already:" in text, text
    if "is not possible" in text:
        assert "As a rush" not in text, text
