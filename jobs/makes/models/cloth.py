"""Cloth on the shelf, what came in and went out of it, and how lengths are kept."""

from datetime import date
from typing import Any

from django.conf import settings
from django.db import models
from django.urls import reverse

from jobs.makes.matching import ShelfLength
from jobs.makes.models.pictures import picture_field
from studio.shop import clock


def length_field(
    name: str | None = None, *, optional: bool = False
) -> "models.DecimalField[Any, Any]":
    """Millimetres with four decimals; a quarter of a kilometre of cloth fits."""
    return models.DecimalField(name, max_digits=10, decimal_places=4, null=optional, blank=optional)


def shrink_field(name: str) -> "models.DecimalField[Any, Any]":
    """Shrinkage in per cent as it was measured, such as 7.5; empty when nobody measured it."""
    return models.DecimalField(name, max_digits=4, decimal_places=1, null=True, blank=True)


class Cloth(models.Model):
    """A length of fabric: what it is, how wide, how much is left.

    ``left_mm`` always equals the sum of its moves and never falls below zero; only
    ``jobs.makes.actions`` write it, under a lock. ``unit`` is the one the owner bought it in.
    """

    class Kind(models.TextChoices):
        WOVEN = "woven", "Woven"
        KNIT = "knit", "Knit"
        DENIM = "denim", "Denim, canvas"
        SUITING = "suiting", "Suiting, coating"
        SHEER = "sheer", "Sheer"
        SATIN = "satin", "Satin, lining"
        VELVET = "velvet", "Corduroy, velvet"
        LEATHER = "leather", "Leather, fur"

    class Unit(models.TextChoices):
        METRE = "m", "Metres"
        YARD = "yd", "Yards"

    name = models.CharField("what it is", max_length=120)
    kind = models.CharField(max_length=8, choices=Kind, default=Kind.WOVEN)
    fibre = models.CharField(max_length=120, blank=True)
    colour = models.CharField(max_length=60, blank=True)
    width_mm = length_field("usable width")
    width_typed = models.CharField(max_length=20)
    left_mm = length_field("length left")
    unit = models.CharField(max_length=2, choices=Unit, default=Unit.METRE)
    washed = models.BooleanField("washed already", default=False)
    shrink_along = shrink_field("shrinks along, %")
    shrink_across = shrink_field("shrinks across, %")
    one_way = models.BooleanField("nap, pile or one-way print", default=False)
    repeat_mm = length_field("repeat", optional=True)
    repeat_typed = models.CharField(max_length=20, blank=True)
    care = models.CharField(max_length=120, blank=True)
    price = models.PositiveBigIntegerField("paid for all of it", null=True, blank=True)
    place = models.CharField("where it lies", max_length=80, blank=True)
    bought_on = models.DateField(null=True, blank=True)
    note = models.TextField(max_length=1000, blank=True)
    swatch = picture_field()
    added_at = models.DateTimeField(auto_now_add=True)
    gone_at = models.DateTimeField("left the shelf", null=True, blank=True)

    class Meta:
        ordering = ["name", "pk"]
        verbose_name_plural = "cloth"
        constraints = [
            models.CheckConstraint(
                condition=models.Q(left_mm__gte=0), name="cloth_left_not_negative"
            )
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("cloth", args=[self.pk])

    @property
    def here_since(self) -> date:
        """When it was bought, else when it was written down."""
        return self.bought_on or clock.local(self.added_at).date()

    def as_length(self) -> ShelfLength:
        """As the sums of ``jobs.makes.matching`` take it."""
        return ShelfLength(
            id=self.pk,
            kind=self.kind,
            width=self.width_mm,
            left=self.left_mm,
            since=self.here_since,
            washed=self.washed,
            shrink_along=self.shrink_along,
            shrink_across=self.shrink_across,
            one_way=self.one_way,
            repeat=self.repeat_mm or ShelfLength.repeat,
        )


class ClothMove(models.Model):
    """Cloth came in (above zero) or went out (below zero); never changed, only put right anew."""

    class Why(models.TextChoices):
        BOUGHT = "bought", "Bought or given"
        CUT = "cut", "Cut"
        BACK = "back", "Put back"
        WASHED = "washed", "Shrunk in the wash"
        MEASURED = "measured", "Measured again"
        GONE = "gone", "Given away"

    cloth = models.ForeignKey(Cloth, models.PROTECT, related_name="moves")
    make = models.ForeignKey(
        "makes.Make", models.PROTECT, null=True, blank=True, related_name="cloth_moves"
    )
    why = models.CharField(max_length=8, choices=Why)
    mm = length_field()
    typed = models.CharField(max_length=20)
    day = models.DateField(db_index=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    form_key = models.UUIDField(unique=True)

    class Meta:
        ordering = ["-day", "-pk"]

    def __str__(self) -> str:
        return f"{self.get_why_display()} {self.mm} mm of {self.cloth}"
