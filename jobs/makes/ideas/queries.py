"""What the wall, a make's page and the list of what was made are told."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from django.db.models import Prefetch, QuerySet
from django.forms import Form
from django.http import Http404

from jobs.makes.ideas.actions import ON_THE_WALL
from jobs.makes.models import ClothMove, ClothPlan, Make, MakeState, Picture
from studio.shop.models import Entry
from studio.shop.text import fold

SEARCHED = ["words", "kind", "whom", "occasion", "pattern__name"]
PUT_AWAY = (MakeState.FINISHED, MakeState.LET_GO)


@dataclass
class Card:
    """A make as it hangs on the wall. ``focus`` names the button that was pressed last."""

    make: Make
    place: int
    last: bool
    focus: str = ""

    @property
    def picture(self) -> Picture | None:
        return face_of(self.make)


@dataclass
class WallPart:
    state: MakeState
    cards: list[Card] = field(default_factory=list)


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


def wall(*, at: str = "", did: str = "") -> list[WallPart]:
    """What is under way, lined up and an idea, in four queries for any number of cards.

    ``at`` is the id of the card that was moved, ``did`` how: its button keeps the focus.
    """
    makes = (
        Make.objects.filter(state__in=ON_THE_WALL)
        .select_related("pattern")
        .prefetch_related("pictures", Prefetch("cloth_plans", _plans()))
    )
    parts = {state: WallPart(state) for state in ON_THE_WALL}
    for make in makes:
        cards = parts[MakeState(make.state)].cards
        for above in cards[-1:]:
            above.last = False
        cards.append(Card(make, place=len(cards), last=True))
    for card in (card for part in parts.values() for card in part.cards if str(card.make.pk) == at):
        card.focus = _focus(card, did)
    return list(parts.values())


def _focus(card: Card, did: str) -> str:
    """A button at its end can be pressed no further, so the other one is at hand."""
    if did == "up" and card.place == 0:
        return "down"
    if did == "down" and card.last:
        return "up"
    return did if did in {"up", "down"} else "more"


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
