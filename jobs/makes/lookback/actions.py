"""What the owner says of a card in the look back, and of two that hang side by side."""

from dataclasses import dataclass
from datetime import datetime

from django.db import transaction
from django.db.models import Q

from jobs.makes.ideas import actions as ideas
from jobs.makes.ideas.actions import MakeError
from jobs.makes.ideas.steps import Step
from jobs.makes.models import Look, Make, Pair, State
from studio.shop import clock

LOOKED_AT = (State.IDEA, State.LINED_UP)


@dataclass(frozen=True)
class Said:
    """What was answered; ``step`` is what that did to the card; sent twice it is not ``new``."""

    look: Look
    words: str
    step: Step | None = None
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
        return Said(last, "", new=False)
    if make.state not in LOOKED_AT:
        raise MakeError(f"“{make.words}” hangs no longer among the ideas.")
    before.update(undone_at=clock.now())
    look = Look.objects.create(make=make, answer=answer, was=make.state, at=clock.now())
    if answer != Look.Answer.LET_GO:
        return Said(look, f"{Look.Answer(answer).label}: {make.words}")
    step = ideas.let_go(make=make)
    words = f"{step.words}. {step.aside}" if step.aside else step.words
    return Said(look, words, step)


@transaction.atomic
def take_back(*, look: Look, step: Step | None) -> None:
    """As if it had not been said: the card hangs where it hung, with the cloth meant for it.

    Twice is once. Raises MakeError if what was let go was taken up or changed meanwhile.
    """
    look = Look.objects.select_for_update().get(pk=look.pk)
    if look.undone_at:
        return
    if step:
        ideas.undo(step=step)
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
