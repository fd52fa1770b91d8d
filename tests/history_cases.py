"""How a room shows that each of its verbs can be taken back, or not.

A case is a generator with one ``yield``: what stands above makes the ground, what stands below does
the thing once, through the room's own action::

    @case(TICK)
    def _(house):
        line = house.line()
        yield
        actions.tick(line=line, by=house.owner)

Put a room's cases into ``tests/<room>/history_cases.py`` as functions of any name. They are found
by that file's name, and ``tests/test_history.py`` walks them.
"""

import importlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from jobs.tickets.models import Line, Ticket
from studio.shop.history import Verb
from studio.shop.models import Profile, User
from tests.drafts import hem, received, take_in, trousers

HERE = Path(__file__).parent


@dataclass
class House:
    """A studio with an owner, and what most cases start from."""

    studio: Profile
    owner: User

    @cached_property
    def ticket(self) -> Ticket:
        """Garments A with two lines and B with one."""
        return received(self.studio, self.owner, trousers(take_in(), hem()), trousers(hem()))

    def line(self) -> Line:
        return Line.objects.filter(garment__ticket=self.ticket).order_by("pk")[0]


Do = Callable[[House], Iterator[None]]


@dataclass(frozen=True)
class Case:
    """``leaves`` are tables of which undo leaves rows that were not there before, such as a new
    version of the agreement. ``money`` says that an invoice issued afterwards stands on it.
    """

    verb: Verb
    do: Do
    leaves: tuple[str, ...] = ()
    money: bool = False


CASES: list[Case] = []


def case(verb: Verb, *, leaves: tuple[str, ...] = (), money: bool = False) -> Callable[[Do], Do]:
    def put(do: Do) -> Do:
        CASES.append(Case(verb, do, leaves, money))
        return do

    return put


def all_cases() -> list[Case]:
    for path in sorted(HERE.rglob("*/history_cases.py")):
        importlib.import_module(".".join(path.relative_to(HERE.parent).with_suffix("").parts))
    return CASES
