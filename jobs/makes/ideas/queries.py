"""What the wall, a make's page and the list of what was made are told."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django.db.models import Prefetch, QuerySet
from django.forms import Form
from django.http import Http404

from jobs.makes import verbs
from jobs.makes.models import (
    Cloth,
    ClothMove,
    ClothPlan,
    FurtherPattern,
    Hope,
    Make,
    MakeState,
    Picture,
)
from jobs.makes.shares import ClothShares
from jobs.makes.shelf.queries import CUT, NO_LONGER_MEANT, shares_of
from jobs.makes.wishes import asked_by_pattern
from studio.shop.models import Entry
from studio.shop.money import exact, round_half_up
from studio.shop.text import fold

SEARCHED = ["words", "kind", "whom", "made_for__client__name", "occasion", "pattern__name"]


def face_of(make: Make) -> Picture | None:
    """Its face: the one chosen, else the latest of its pictures, which were prefetched."""
    pictures = list(make.pictures.all())
    chosen = [picture for picture in pictures if picture.pk == make.face_id]
    return next(reversed(chosen or pictures), None)


def sewn_before(make: Make) -> Make | None:
    """The make that this one is to be, or was, sewn again from. At most three queries."""
    entries = Entry.objects.filter(verb=verbs.SEW_AGAIN.key, undoes=None)
    entry = entries.filter(subjects__label="makes.make", subjects__row=make.pk).first()
    pk = entry.parameters.get("of") if entry else None
    return Make.objects.filter(pk=pk).prefetch_related("pictures").first() if pk else None


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
    """The make with all that its card shows of own sewing."""
    cut = ClothMove.objects.filter(why__in=CUT).select_related("cloth__swatch")
    further = FurtherPattern.objects.select_related("pattern__picture")
    make = (
        Make.objects.filter(pk=pk)
        .select_related("pattern__picture", "made_for__client")
        .prefetch_related(
            "pictures", "pattern__needs", "versions", "pile_places", "judgements",
            Prefetch("cloth_plans", _plans()), Prefetch("cloth_moves", cut),
            Prefetch("further_patterns", further),
            Prefetch("hopes", Hope.objects.filter(until=None)),
        )
        .first()
    )  # fmt: skip
    if make is None:
        raise Http404
    return make


@dataclass(frozen=True)
class StackStep:
    """The pictures that show one step of a make, the newest last; ``swatch`` stands in for cloth.

    ``current`` says that one of them is in front.
    """

    step: Picture.Step
    pictures: list[Picture]
    swatch: Cloth | None = None
    current: bool = False

    @property
    def top(self) -> Picture | None:
        return self.pictures[-1] if self.pictures else None


def step_of(picture: Picture) -> Picture.Step:
    """What a picture shows; of old ones nobody said."""
    unsaid = Picture.Step.SKETCH if picture.drawn else Picture.Step.IDEA
    return Picture.Step(picture.step or unsaid)


def stack_of(make: Make, front: Picture | None) -> list[StackStep]:
    """From the idea to the garment worn, each with its pictures, which were prefetched."""
    by_step: dict[Picture.Step, list[Picture]] = {step: [] for step in Picture.Step}
    for picture in make.pictures.all():
        by_step[step_of(picture)].append(picture)
    swatches = (plan.cloth for plan in make.cloth_plans.all() if plan.cloth.swatch)
    return [
        StackStep(
            step,
            pictures,
            None if pictures or step != Picture.Step.CLOTH else next(swatches, None),
            front in pictures,
        )
        for step, pictures in by_step.items()
    ]


@dataclass(frozen=True)
class ClothOfMake:
    """A cloth that is meant for a make or was ``cut`` for it. Lengths are mm.

    ``rest`` is still to be cut: what was meant, else what its pattern asks for; None if unknown.
    ``asked`` is what the pattern asks for where that is more than there is, in whole centimetres or
    quarters of an inch.
    """

    cloth: Cloth
    shares: ClothShares
    plan: ClothPlan | None
    moves: list[ClothMove]
    cut: Decimal
    rest: Decimal | None
    asked: Decimal | None = None

    @property
    def lacking(self) -> Decimal:
        """By how much the pattern asks for more than there is."""
        left: Decimal = self.cloth.left_mm
        return self.asked - left if self.asked else Decimal(0)

    @property
    def left_after(self) -> Decimal:
        """What will be left of it, as far as one can tell."""
        left: Decimal = self.cloth.left_mm
        return max(Decimal(0), left - (self.rest or Decimal(0)))


def cloths_of(make: Make) -> list[ClothOfMake]:
    """Two queries more than ``make_or_404``."""
    plans = {plan.cloth: plan for plan in make.cloth_plans.all()}
    moves: dict[Cloth, list[ClothMove]] = {cloth: [] for cloth in plans}
    for move in make.cloth_moves.all():
        moves.setdefault(move.cloth, []).append(move)
    shares = shares_of(moves)
    return [
        _of_make(make, cloth, shares[cloth.pk], plans.get(cloth), moves[cloth]) for cloth in moves
    ]


def _of_make(
    make: Make, cloth: Cloth, shares: ClothShares, plan: ClothPlan | None, moves: list[ClothMove]
) -> ClothOfMake:
    over = make.state in NO_LONGER_MEANT
    off = max(Decimal(0), -sum((move.mm for move in moves), Decimal(0)))
    rest = Decimal(0) if over or plan is None else shares.rest(make.pk)
    asked = None if over or off else asked_by_pattern(make, cloth)
    short = asked is not None and asked > cloth.left_mm
    return ClothOfMake(
        cloth=cloth,
        shares=shares,
        plan=plan,
        moves=moves,
        cut=off,
        rest=asked if rest is None else rest,
        asked=asked if short else None,
    )


@dataclass(frozen=True)
class MakeCost:
    """Minor units: what the ``cloth`` that was cut cost, and what else was ``paid``.

    ``unknown`` are cloths of which nobody wrote down what they cost.
    """

    cloth: int
    paid: int
    unknown: list[Cloth]

    @property
    def total(self) -> int:
        return self.cloth + self.paid


def cost_of(make: Make, cloths: Iterable[ClothOfMake]) -> MakeCost:
    """Each cloth by its length: what was paid for all that came in and did not shrink. One query.

    Rounded once, half up.
    """
    used = [row for row in cloths if row.cut]
    came: dict[int, Decimal] = defaultdict(Decimal)
    why = ClothMove.Why
    kept = ClothMove.objects.filter(
        cloth__in=[row.cloth.pk for row in used], why__in=[why.BOUGHT, why.WASHED, why.MEASURED]
    )
    for pk, mm in kept.order_by().values_list("cloth_id", "mm"):
        came[pk] += mm
    sums = [
        row.cloth.price * exact(row.cut) / exact(max(came[row.cloth.pk], row.cut))
        for row in used
        if row.cloth.price is not None
    ]
    return MakeCost(
        cloth=round_half_up(sum(sums, Fraction(0))),
        paid=make.paid or 0,
        unknown=[row.cloth for row in used if row.cloth.price is None],
    )


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
