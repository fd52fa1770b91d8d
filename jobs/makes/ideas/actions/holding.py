"""What a make has with it: pictures, and the cloth that is meant for it."""

from uuid import UUID

from django.db import transaction

from jobs.makes import pictures
from jobs.makes.ideas.actions.changing import change, locked, unchanged
from jobs.makes.ideas.steps import Step
from jobs.makes.lengths import ClothLength
from jobs.makes.models import Cloth, ClothPlan, Make, Picture
from studio.shop.pictures import Picture as Redrawn


@transaction.atomic
def add_pictures(
    *, make: Make, form_key: UUID, photo: Redrawn | None = None, sketch: Redrawn | None = None
) -> Step:
    """The same ``form_key`` twice adds them once."""
    make = locked(make.pk)
    words = f"Picture kept: {make.words}"
    here = list(make.pictures.all())
    if any(form_key.hex in str(picture.file) for picture in here):
        return unchanged(make, words)
    new = [
        pictures.keep(redrawn, drawn=drawn, key=form_key)
        for redrawn, drawn in ((photo, False), (sketch, True))
        if redrawn
    ]
    return change(make, words, pictures=[*here, *new])


@transaction.atomic
def take_picture_off(*, make: Make, picture: Picture) -> Step:
    make = locked(make.pk)
    return change(make, f"{picture} taken off.", pictures=make.pictures.exclude(pk=picture.pk))


@transaction.atomic
def mean_cloth(*, make: Make, cloth: Cloth, length: ClothLength | None) -> ClothPlan:
    """Say that ``cloth`` is for this make, and how much of it if that is known."""
    make = locked(make.pk)
    told = {"mm": length and length.mm, "typed": length.typed if length else ""}
    return ClothPlan.objects.update_or_create(make=make, cloth=cloth, defaults=told)[0]


@transaction.atomic
def spare_cloth(*, make: Make, cloth: Cloth) -> None:
    """The cloth is meant for this make no longer."""
    make = locked(make.pk)
    make.cloth_plans.filter(cloth=cloth).delete()
