"""What the owner says of an idea in a sitting, and of two that hang side by side."""

from datetime import datetime

from django.db import transaction
from django.db.models import Q

from jobs.makes import verbs
from jobs.makes.ideas.actions import MakeError, move_in, put_aside
from jobs.makes.models import Look, Make, MakeState, Pair
from studio.shop import clock
from studio.shop.history import record
from studio.shop.models import Entry, User

LOOKED_AT = (MakeState.IDEA, MakeState.LINED_UP, MakeState.RESTING)


@transaction.atomic
def answer(
    *, make: Make, answer: Look.Answer, since: datetime, words: str = "", by: User
) -> Entry | None:
    """One answer of a sitting that began at ``since``; another one in the same sitting replaces it.

    What is let go stays in the journal, and the cloth meant for it is free; what rests keeps its
    cloth, and carries on as an idea. Raises MakeError for what hangs no longer among the ideas.
    """
    make = Make.objects.select_for_update().get(pk=make.pk)
    before = Look.objects.filter(make=make, at__gte=since, undone_at=None)
    if (last := before.first()) and (last.answer, last.words) == (answer, words):
        return None
    if make.state not in LOOKED_AT:
        raise MakeError(f"“{make.words}” hangs no longer among the ideas.")
    with record(verbs.ANSWER[answer], about=make, by=by, words=make.words) as step:
        step.keep(before)
        before.update(undone_at=clock.now())
        facts = {"answer": answer, "words": words, "was": make.state, "at": clock.now()}
        step.add(Look.objects.create(make=make, **facts))
        rests = make.state == MakeState.RESTING
        if answer == Look.Answer.REST and not rests:
            move_in(step, make, MakeState.RESTING)
        elif answer == Look.Answer.KEEP and rests:
            move_in(step, make, MakeState.IDEA)
        if answer == Look.Answer.LET_GO:
            put_aside(step, make)
    return step.entry


@transaction.atomic
def choose(*, rather: Make, other: Make, by: User) -> Entry | None:
    """Rather this one than the other. What was said of the two before gives way."""
    two = [rather, other]
    list(Make.objects.select_for_update().filter(pk__in=[rather.pk, other.pk]).order_by("pk"))
    pairs = Pair.objects.filter(Q(rather=rather, other=other) | Q(rather=other, other=rather))
    if (standing := pairs.first()) and standing.rather_id == rather.pk:
        return None
    words = {"rather": rather.words, "other": other.words}
    with record(verbs.CHOOSE, about=two, by=by, **words) as step:
        step.keep(pairs)
        pair = standing or Pair()
        pair.rather, pair.other, pair.at = rather, other, clock.now()
        pair.save()
    return step.entry
