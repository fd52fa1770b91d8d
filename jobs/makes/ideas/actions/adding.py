"""A new card: an idea, or something that was made on a whim."""

from collections.abc import Iterable
from typing import Any
from uuid import UUID, uuid4

from django.db import transaction

from jobs.makes.ideas.actions.changing import unchanged
from jobs.makes.ideas.steps import Step, look
from jobs.makes.lengths import ClothLength
from jobs.makes.models import Cloth, ClothPlan, Make, Picture, State
from studio.shop import clock


@transaction.atomic
def add_idea(
    *,
    words: str,
    form_key: UUID,
    pictures: Iterable[Picture] = (),
    cloth: Cloth | None = None,
    length: ClothLength | None = None,
    **fields: Any,
) -> Step:
    """Few words are enough; ``fields`` are any others of a make. Sent twice it is one idea."""
    make, new = _add(words, form_key, fields)
    if new:
        make.pictures.set(pictures)
        if cloth:
            told = {"mm": length.mm, "typed": length.typed} if length else {}
            ClothPlan.objects.create(make=make, cloth=cloth, **told)
    return _added(make, f"Kept: {make.words}", new)


@transaction.atomic
def made_on_a_whim(*, words: str, form_key: UUID, pictures: Iterable[Picture] = ()) -> Step:
    """Finished today, without ever having been an idea. Sent twice it is one make."""
    told = {"state": State.FINISHED, "whim": True, "finished_on": clock.today()}
    make, new = _add(words, form_key, told)
    if new:
        make.pictures.set(pictures)
    return _added(make, f"Made on a whim: {make.words}", new)


def _add(words: str, form_key: UUID, fields: dict[str, Any]) -> tuple[Make, bool]:
    told = {"words": words, "added_at": clock.now(), **fields}
    make, new = Make.objects.get_or_create(form_key=form_key, defaults=told)
    if not new and make.words != words:
        # The browser went back to a page that had been sent, and something else was typed there.
        return Make.objects.create(form_key=uuid4(), **told), True
    return make, new


def _added(make: Make, words: str, new: bool) -> Step:
    if not new:
        return unchanged(make, words)
    return Step(make.pk, words, after=look(make, ["state"]), added=True)
