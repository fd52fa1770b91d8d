"""A year lived through: ideas, whims, seasons, cloth and hours, a sitting, the journal.

Each figure is reckoned by hand beside it; no page's sum is taken from another page.
"""

from datetime import date, timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
import time_machine
from django.urls import reverse

from jobs.makes.ideas import actions as ideas
from jobs.makes.lengths import parse_cloth
from jobs.makes.models import Gap
from jobs.makes.shelf import actions as shelf
from jobs.makes.year import actions as year
from jobs.makes.year.seasons import Name, season
from tests import factories as f
from tests import papers
from tests.jobs.counter.year.making import at
from tests.jobs.planning.pages import words


@pytest.fixture
def on():
    """``on(3, 5)`` is noon of the 5th of March 2026 from then on."""
    with time_machine.travel("2025-12-10 12:00Z", tick=False) as traveller:
        yield lambda month, day: traveller.move_to(at(date(2026, month, day)))


def sewn(make, day: date, minutes: int) -> None:
    f.BenchTimeFactory(
        line=None, purpose="own", make=make, minutes=minutes, started_at=at(day, "09:00")
    )


def sat_with(client, answers, planned) -> None:
    """``answers`` are of makes, ``planned`` an idea for next winter."""
    for act, about, facts in [
        *(("made", make, {"answer": answer}) for make, answer in answers),
        ("ideas", planned, {"answer": "keep", "words": "Next winter"}),
        ("plan", planned, {"to": "winter"}),
    ]:
        address = reverse("sitting-act", args=[2026, act])
        client.post(f"{address}?at={about.pk}", facts)


@pytest.mark.postgres
def test_planned_against_made_equals_a_reckoning_by_hand(studio, owner, owner_client, on):
    """Calendar quarters. Planned when its season began: coat (winter), vest (winter), shirt
    (spring), dress (summer), and a gap, warm trousers (autumn). Made: coat in winter, vest only in
    summer, shirt in spring; the dress is let go. The skirt was hoped for in May, when spring ran,
    and so is unplanned, and so is the bag, a whim. 5 made = 3 planned and made + 2 unplanned;
    4 makes were planned.
    """
    winter, spring, summer, autumn = (season(2026, name, 1) for name in Name)
    make = {
        name: f.MakeFactory(words=name, minutes=minutes)
        for name, minutes in
        {"Coat": 600, "Vest": 120, "Shirt": 240, "Dress": 300, "Skirt": 180, "Quilt": None}.items()
    }  # fmt: skip
    cloth = f.ClothFactory(name="Sand linen", left_mm=Decimal(9000))
    plans = {"Coat": winter, "Vest": winter, "Shirt": spring, "Dress": summer}
    for name, to in plans.items():
        year.hope(thing=make[name], to=to, by=owner)
    gap, _ = year.miss(words="Warm trousers", kind=Gap.Kind.TROUSERS, days="cold", by=owner)
    year.hope(thing=gap, to=autumn, by=owner)

    def made(name: str, month: int, day: int, minutes: int, metres: str) -> None:
        on(month, day)
        sewn(make[name], date(2026, month, day) - timedelta(days=2), minutes)
        length = parse_cloth(metres, "m")
        facts = {"cloth": cloth, "length": length, "form_key": uuid4(), "by": owner}
        shelf.cut(make=make[name], **facts)
        ideas.finish(make=make[name], by=owner)

    made("Coat", 2, 20, 660, "2.4 m")
    on(5, 4)
    year.hope(thing=make["Skirt"], to=spring, by=owner)
    made("Shirt", 5, 10, 250, "1.5 m")
    made("Skirt", 6, 20, 170, "1.1 m")
    on(7, 3)
    bag, _ = ideas.made_on_a_whim(words="Bag", form_key=uuid4(), by=owner)
    made("Vest", 8, 12, 90, "0.8 m")
    on(9, 1)
    ideas.let_go(make=make["Dress"], by=owner)

    on(12, 28)
    page = owner_client.get(reverse("board-of", args=[2026]))
    board = page.context["board"]
    assert [[tile.words for tile in lane.made] for lane in board.lanes] == [
        ["Coat"], ["Shirt"], ["Vest"], [],
    ]  # fmt: skip
    assert [[tile.words for tile in lane.unplanned] for lane in board.lanes] == [
        [], ["Skirt"], ["Bag"], [],
    ]  # fmt: skip
    assert "5 made 3 of 4 hoped for 2 unplanned" in words(page.text)
    # 600 + 120 min; 240; 300; none. Sewn: 660; 250 + 170; 90; none. Cut: 2.4; 1.5 + 1.1; 0.8 m.
    assert [lane.wanted for lane in board.lanes] == [720, 240, 300, 0]
    assert [lane.sewn for lane in board.lanes] == [660, 420, 90, 0]
    assert [lane.cut for lane in board.lanes] == [2400, 2600, 800, 0]
    assert "In all 19 h 30 sewn of 21 h hoped for, 5.8 m cut." in words(page.text)
    assert [[(strip.words, strip.outcome) for strip in lane.strips] for lane in board.lanes] == [
        [("Coat", "made"), ("Vest", "made in summer")],
        [("Shirt", "made")],
        [("Dress", "let go")],
        [("Warm trousers", "still missing")],
    ]

    answers = {"Coat": "keep", "Shirt": "keep", "Skirt": "keep", "Vest": "unsure"}
    said = [(make[name], answer) for name, answer in answers.items()]
    sat_with(owner_client, [*said, (bag, "let_go")], make["Quilt"])
    came = owner_client.get(reverse("sitting-end", args=[2026])).context["outcome"]
    assert (came.made, came.keep, came.unsure, came.let_go) == (5, 3, 1, 1)
    assert (came.carried, came.gaps) == (1, 1)

    owner_client.post(reverse("journal-build", args=[2026]), {"paper": "A5"})
    pdf = owner_client.get(reverse("journal-file", args=[2026, "A5"])).content
    text = papers.text(pdf)
    for sentence in [
        "5 made, 19 h 30 sewn, 5.8 m of cloth.",
        "Winter 2 1 0 11 h 2.4 m",
        "Spring 1 1 1 7 h 2.6 m",
        "Summer 1 1 1 1 h 30 0.8 m",
        "Autumn 1 0 0 0 min 0 m",
        "In all 4 3 2 19 h 30 5.8 m",
        "Vest made in summer",
        "Hours 11 h, guessed 10 h",
        "Said of it Not sure",
        "Let go Dress, Tue 1 Sept 2026",
        "2027, loosely",
    ]:
        assert sentence in text, sentence
    assert text.index("2027, loosely") < text.rindex("Quilt")
