"""What the owner says of a card in the look back, and of two that hang side by side."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction
from django.db.models import Q

from jobs.makes.ideas import actions as ideas
from jobs.makes.ideas.errors import MakeError
from jobs.makes.models import Cloth, ClothPlan, Look, Make, Pair, State
from studio.shop import clock

LOOKED_AT = (State.IDEA, State.LINED_UP)
CHANGED_SINCE = "It was changed since, so this cannot be taken back any more."

Freed = list[tuple[int, str | None, str]]
"""Cloth that is free again: its id, how much was meant (mm as text) and how that was typed."""


@dataclass(frozen=True)
class Said:
    """What was answered; ``freed`` can be meant for it again. ``new`` is False when sent twice."""

    look: Look
    words: str
    freed: Freed
    new: bool = True


@transaction.atomic
def answer(*, make: Make, answer: Look.Answer, since: datetime) -> Said:
    """One answer of a sitting that began at ``since``; another one in the same sitting replaces it.

    What is let go stays in the journal, and the cloth meant for it is free. Raises MakeError for
    what hangs no longer among the ideas.
    """
    make = Make.objects.select_for_update().get(pk=make.pk)
    before = Look.objects.filter(make=make, at__gte=since, undone_at=None)
    if (last := before.first()) and last.answer == answer:
        return Said(last, "", [], new=False)
    if make.state not in LOOKED_AT:
        raise MakeError(f"“{make.words}” hangs no longer among the ideas.")
    before.update(undone_at=clock.now())
    look = Look.objects.create(make=make, answer=answer, was=make.state, at=clock.now())
    if answer != Look.Answer.LET_GO:
        return Said(look, f"{Look.Answer(answer).label}: {make.words}", [])
    step = ideas.let_go(make=make)
    plans = list(make.cloth_plans.select_related("cloth"))
    make.cloth_plans.all().delete()
    return Said(look, _let_go_words(step.words, [plan.cloth for plan in plans]), _freed(plans))


@transaction.atomic
def take_back(*, look: Look, freed: Freed) -> None:
    """As if it had not been said: the card hangs where it hung, with the cloth meant for it.

    Twice is once. Raises MakeError if what was let go was taken up or changed meanwhile.
    """
    make = Make.objects.select_for_update().get(pk=look.make_id)
    look = Look.objects.select_for_update().get(pk=look.pk)
    if look.undone_at:
        return
    if look.answer == Look.Answer.LET_GO:
        if make.state != State.LET_GO:
            raise MakeError(CHANGED_SINCE)
        make.state, make.let_go_at = look.was, None
        make.save(update_fields=["state", "let_go_at"])
        for cloth in Cloth.objects.filter(pk__in=[pk for pk, *_ in freed]):
            mm, typed = next((mm, typed) for pk, mm, typed in freed if pk == cloth.pk)
            told = {"mm": mm, "typed": typed}
            ClothPlan.objects.get_or_create(make=make, cloth=cloth, defaults=told)
    look.undone_at = clock.now()
    look.save(update_fields=["undone_at"])


@transaction.atomic
def choose(*, rather: Make, other: Make) -> Pair:
    """Rather this one than the other. What was said of the two before gives way."""
    list(Make.objects.select_for_update().filter(pk__in=[rather.pk, other.pk]).order_by("pk"))
    standing = Pair.objects.filter(
        Q(rather=rather, other=other) | Q(rather=other, other=rather)
    ).first()
    if standing is None:
        return Pair.objects.create(rather=rather, other=other, at=clock.now())
    if standing.rather_id != rather.pk:
        standing.rather, standing.other, standing.at = rather, other, clock.now()
        standing.save()
    return standing


def _freed(plans: Iterable[ClothPlan]) -> Freed:
    return [
        (plan.cloth_id, None if plan.mm is None else str(plan.mm), plan.typed) for plan in plans
    ]


def _let_go_words(words: str, cloths: list[Cloth]) -> str:
    if not cloths:
        return words
    names = " and ".join(str(cloth) for cloth in cloths)
    return f"{words}. {names} {'is' if len(cloths) == 1 else 'are'} free for something else."
