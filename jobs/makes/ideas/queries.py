"""What the wall, a make's page and the list of what was made are told."""

from collections.abc import Iterable, Mapping
from typing import Any

from django.db.models import Prefetch, QuerySet
from django.forms import Form
from django.http import Http404

from jobs.makes.models import ClothMove, ClothPlan, Make, MakeState, Picture
from studio.shop.models import Entry
from studio.shop.text import fold

SEARCHED = ["words", "kind", "whom", "occasion", "pattern__name"]


def face_of(make: Make) -> Picture | None:
    """Its face: the one chosen, else the latest of its pictures, which were prefetched."""
    pictures = list(make.pictures.all())
    chosen = [picture for picture in pictures if picture.pk == make.face_id]
    return next(reversed(chosen or pictures), None)


def freed_by(entry: Entry | None) -> str:
    """What cloth is free since a make was let go, in a sentence."""
    names = entry.parameters.get("freed") if entry else None
    if not names:
        return ""
    return f"{' and '.join(names)} {'is' if len(names) == 1 else 'are'} free for something else."


def other_pictures(make: Make, pictures: Iterable[Picture]) -> list[Picture]:
    """Those of ``pictures`` that the make does not have yet."""
    return [picture for picture in pictures if not has_picture(make, picture.file.read())]


def has_picture(make: Make, jpeg: bytes) -> bool:
    """Whether this very picture, to the byte, hangs on the card."""
    return any(picture.file.read() == jpeg for picture in make.pictures.all())


def differing(
    make: Make, facts: Mapping[str, Any], pictures: Iterable[Picture], form: Form
) -> list[str]:
    """What a form says otherwise than the card that it has made, by its labels."""
    labels = [
        str(form.fields[name].label or name)
        for name, value in facts.items()
        if name not in {"cloth", "length"} and getattr(make, name) != value
    ]
    cloth, length = facts.get("cloth"), facts.get("length")
    plans = {plan.cloth: plan.mm for plan in make.cloth_plans.select_related("cloth")}
    if cloth and (cloth not in plans or plans[cloth] != (length and length.mm)):
        labels.append("Cloth")
    return labels + ["Pictures"] * bool(other_pictures(make, pictures))


def _plans() -> QuerySet[ClothPlan]:
    return ClothPlan.objects.select_related("cloth__swatch")


def make_or_404(pk: int) -> Make:
    """The make with pattern, pictures, the cloth meant for it and the cloth cut for it."""
    cut = ClothMove.objects.select_related("cloth")
    make = (
        Make.objects.filter(pk=pk)
        .select_related("pattern")
        .prefetch_related(
            "pictures", Prefetch("cloth_plans", _plans()), Prefetch("cloth_moves", cut)
        )
        .first()
    )
    if make is None:
        raise Http404
    return make


def put_away(*, state: MakeState, wanted: str = "") -> QuerySet[Make]:
    """Finished or let go, the latest first; ``wanted`` is looked for in whatever is written.

    Letters are folded in Python, one row a make: no database folds all of them alike.
    """
    makes = Make.objects.filter(state=state).order_by("-finished_on", "-let_go_at", "-pk")
    if words := fold(wanted).split():
        rows = makes.values_list("pk", *SEARCHED)
        written = {pk: fold(" ".join(text or "" for text in texts)) for pk, *texts in rows}
        makes = makes.filter(
            pk__in=[pk for pk, text in written.items() if all(word in text for word in words)]
        )
    return makes.prefetch_related("pictures")
