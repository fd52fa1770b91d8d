"""Every cloth: cut, meant and free are together what is there, after any sequence of acts."""

from decimal import Decimal
from fractions import Fraction
from uuid import uuid4

import pytest
from django.urls import reverse
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from jobs.makes.ideas import actions as ideas
from jobs.makes.lengths import ClothLength
from jobs.makes.models import Cloth, ClothPlan, Make, MakeState
from jobs.makes.shares import Meant, share_out
from jobs.makes.shelf import actions
from jobs.makes.shelf.actions import Washing
from jobs.makes.shelf.queries import free_lengths, shares_of
from jobs.makes.wall.actions import arrange
from tests import factories as f

pytestmark = pytest.mark.usefixtures("studio")

ACTS = [
    "cut", "cut_for", "back", "back_from", "give", "measure", "wash", "mean", "mean_some", "spare",
    "rest", "wake", "start", "let_go", "finish", "finish_left", "buy_another", "bring_more",
]  # fmt: skip
STEPS = st.lists(
    st.tuples(st.sampled_from(ACTS), st.integers(0, 2), st.integers(1, 40)), max_size=14
)
FACTS = {"name": "Linen", "width_mm": Decimal(1400), "width_typed": "140 cm"}


class OnPaper:
    """Every act done in the studio, and on paper in steps of 0.1 m or an eighth of a yard."""

    def __init__(self, unit: str, there: int, owner) -> None:
        self.unit, self.step, self.by = unit, UNITS[unit], owner
        self.cloth = self.bought(there)
        self.makes = [f.MakeFactory(words=str(number)) for number in range(3)]
        self.left, self.cut_off, self.otherwise = there, 0, there
        self.cut_of, self.plans = [0] * 3, [None] * 3
        self.put_away = [False] * 3

    def long(self, steps: int) -> ClothLength:
        return ClothLength(self.step * steps, f"{self.step * steps} mm", self.unit)

    def bought(self, steps: int, make: Make | None = None) -> Cloth:
        once = {"by": self.by, "form_key": uuid4(), "make": make}
        return actions.add_cloth(facts=FACTS, length=self.long(steps), **once)[0]

    def on_cloth(self, act, **facts) -> None:
        act(cloth=self.cloth, by=self.by, form_key=uuid4(), **facts)

    def make(self, number: int) -> Make:
        return Make.objects.get(pk=self.makes[number].pk)

    def cut(self, number: int, steps: int, make: Make | None = None) -> None:
        if steps := min(steps, self.left):
            self.on_cloth(actions.cut, length=self.long(steps), make=make)
            self.left, self.cut_off = self.left - steps, self.cut_off + steps
            self.cut_of[number] += steps if make else 0

    def cut_for(self, number: int, steps: int) -> None:
        self.cut(number, steps, self.make(number))

    def back(self, number: int, steps: int, make: Make | None = None) -> None:
        self.on_cloth(actions.put_back, length=self.long(steps), make=make)
        self.left, self.cut_off = self.left + steps, self.cut_off - steps
        self.cut_of[number] -= steps if make else 0

    def back_from(self, number: int, steps: int) -> None:
        self.back(number, steps, self.make(number))

    def give(self, number: int, steps: int) -> None:
        if steps := min(steps, self.left):
            self.on_cloth(actions.give_away, length=self.long(steps))
            self.came(-steps)

    def measure(self, number: int, steps: int) -> None:
        self.on_cloth(actions.measure_again, length=self.long(steps))
        self.came(steps - self.left)

    def wash(self, number: int, steps: int) -> None:
        if self.left:
            lost = self.left // 3
            before, after = self.long(self.left), self.long(self.left - lost)
            self.on_cloth(actions.wash, washed=Washing(before=before, after=after))
            self.came(-lost)

    def came(self, steps: int) -> None:
        self.left, self.otherwise = self.left + steps, self.otherwise + steps

    def mean(self, number: int, steps: int) -> None:
        length, make = self.long(steps), self.make(number)
        ideas.mean_cloth(cloth=self.cloth, length=length, make=make, by=self.by)
        self.plans[number] = steps

    def mean_some(self, number: int, steps: int) -> None:
        ideas.mean_cloth(cloth=self.cloth, length=None, make=self.make(number), by=self.by)
        self.plans[number] = None

    def spare(self, number: int, steps: int) -> None:
        ideas.spare_cloth(cloth=self.cloth, make=self.make(number), by=self.by)
        self.plans[number] = None

    def move(self, number: int, came_from: MakeState, to: MakeState) -> None:
        make = self.make(number)
        if make.state == came_from:
            arrange(make=make, to=to, by=self.by)

    def rest(self, number: int, steps: int) -> None:
        self.move(number, MakeState.IDEA, MakeState.RESTING)

    def wake(self, number: int, steps: int) -> None:
        self.move(number, MakeState.RESTING, MakeState.IDEA)

    def start(self, number: int, steps: int) -> None:
        if (make := self.make(number)).state == MakeState.IDEA:
            ideas.start(make=make, by=self.by)

    def let_go(self, number: int, steps: int) -> None:
        if (make := self.make(number)).state in {MakeState.IDEA, MakeState.UNDER_WAY}:
            ideas.let_go(make=make, by=self.by)
            self.plans[number], self.put_away[number] = None, True

    def finish(self, number: int, steps: int) -> None:
        if (make := self.make(number)).state in {MakeState.IDEA, MakeState.UNDER_WAY}:
            ideas.finish(make=make, by=self.by)
            self.put_away[number] = True

    def finish_left(self, number: int, steps: int) -> None:
        """Less than was thought was cut for it; more was put back, then measured again."""
        if (make := self.make(number)).state not in {MakeState.IDEA, MakeState.UNDER_WAY}:
            return
        ideas.finish(make=make, left={self.cloth: self.long(steps)}, by=self.by)
        self.put_away[number] = True
        back = min(max(0, steps - self.left), max(0, self.cut_of[number]))
        over = max(0, steps - self.left - back)
        cut = max(0, self.left - steps) - back
        self.left, self.cut_off = self.left - cut, self.cut_off + cut
        self.cut_of[number] += cut
        self.came(over)

    def buy_another(self, number: int, steps: int) -> None:
        """Another length for one of the makes: all of it is meant, and nothing changes here."""
        make = self.make(number)
        open_ = make.state in {MakeState.IDEA, MakeState.UNDER_WAY}
        cloth = self.bought(steps, make if open_ else None)
        shares = shares_of([cloth])[cloth.pk]
        there = self.step * steps
        assert (shares.meant, shares.free) == ((there, 0) if open_ else (0, there))

    def bring_more(self, number: int, steps: int) -> None:
        self.on_cloth(actions.bring_more, length=self.long(steps))
        self.came(steps)

    def sums(self) -> list[Fraction]:
        """Cut, meant, free, short and there."""
        rows = zip(self.plans, self.cut_of, self.put_away, strict=True)
        rests = [max(0, (plan or 0) - max(0, cut)) for plan, cut, away in rows if not away]
        meant, cut = min(sum(rests), self.left), max(0, self.cut_off)
        there = self.otherwise + max(0, -self.cut_off)
        sums = cut, meant, self.left - meant, sum(rests) - meant, there
        return [steps * Fraction(self.step) for steps in sums]


UNITS = {"m": Decimal(100), "yd": Decimal("114.3")}


@pytest.mark.parametrize("unit", UNITS)
@settings(
    max_examples=25,
    deadline=None,
    derandomize=True,
    phases=[Phase.generate],
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(there=st.integers(5, 60), steps=STEPS)
def test_cut_meant_and_free_are_what_is_there(owner, unit, there, steps):
    paper = OnPaper(unit, there, owner)
    for act, number, amount in steps:
        getattr(paper, act)(number, amount)
        cloth = Cloth.objects.get(pk=paper.cloth.pk)
        shares = shares_of([cloth])[cloth.pk]
        exact = [shares.cut, shares.meant, shares.free, shares.short]
        assert [*exact, sum(exact[:3])] == paper.sums()
        assert sum(shares.aside.values()) == shares.meant
    free = paper.sums()[2]
    assert dict(free_lengths()).get(paper.cloth, 0) == free


def test_what_is_meant_first_is_served_first():
    """4.5 m, 3 m and 2 m meant: by hand 1.5 m are left for the second, which is 0.5 m short."""
    plans = [Meant(1, Decimal(3000)), Meant(2, Decimal(2000)), Meant(3)]
    shares = share_out(Decimal(4500), Decimal(0), plans)
    assert (shares.aside[1], shares.aside[2], shares.aside[3]) == (3000, 1500, 0)
    assert (shares.meant, shares.free, shares.short, shares.there) == (4500, 0, 500, 4500)


def test_the_pages_say_what_is_short_and_draw_to_one_scale(owner_client, owner):
    """3 m with 3.2 m meant is 0.2 m short; 1.6 m is half of 3.2 m on the same scale."""
    keys = {"by": owner}
    linen = f.ClothFactory(name="Linen", left_mm=Decimal(3000), unit="m")
    wool = f.ClothFactory(name="Wool", left_mm=Decimal(1600), unit="m")
    coat = f.MakeFactory(words="Coat")
    ClothPlan.objects.create(make=coat, cloth=linen, mm=Decimal(3200), typed="3.2 m")
    page = owner_client.get(reverse("cloth-list")).text
    assert "4.6 m together: 3 m meant, 1.6 m free." in page
    assert "0.2 m short" in page
    assert '<svg x="0.00%" width="93.75%"' in page
    assert '<svg x="0.00%" width="50.00%"' in page
    assert 'style="' not in page
    actions.cut(cloth=linen, length=ClothLength(Decimal(1200), "1.2 m", "m"), make=coat,
                form_key=uuid4(), **keys)  # fmt: skip
    shown = owner_client.get(linen.get_absolute_url()).text
    assert "3.2 m (2 m still to cut)" in " ".join(shown.split())
    assert "<b>1.2 m</b> cut" in shown
    assert "<b>1.8 m</b> meant" in shown
    assert "of 3 m" in shown
    assert wool.name in page
