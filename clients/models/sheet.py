"""Measurement sheets: one client's body, taken on one day, never overwritten."""

from uuid import uuid4

from django.conf import settings
from django.db import models
from django.urls import reverse

from clients.models.client import Client


def length_field(name: str | None = None, *, optional: bool = False) -> models.DecimalField:
    """Millimetres with four decimals, so that every sixteenth of an inch survives."""
    return models.DecimalField(name, max_digits=9, decimal_places=4, null=optional, blank=optional)


class Sheet(models.Model):
    """Measures of one client on one day. A correction of the same day replaces no other day."""

    class WaistAt(models.TextChoices):
        NATURAL = "natural", "Where a belt settles"
        MIDWAY = "midway", "Halfway between lowest rib and hip bone"
        WORN = "worn", "Where the garment is worn"

    class FrontFrom(models.TextChoices):
        NECK_SIDE = "neck_side", "From the side of the neck"
        NAPE = "nape", "From the nape, round the neck"

    client = models.ForeignKey(Client, models.PROTECT, related_name="sheets")
    taken_on = models.DateField()
    taken_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    worn = models.CharField("worn while measuring", max_length=200, blank=True)
    heel_mm = length_field("heel height", optional=True)
    heel_typed = models.CharField(max_length=20, blank=True)
    waist_at = models.CharField("waist taken", max_length=8, choices=WaistAt, blank=True)
    front_from = models.CharField("front length taken", max_length=9, choices=FrontFrom, blank=True)
    consent_on = models.DateField("agreed to keep these measures on")
    minor = models.BooleanField("a minor", default=False)
    guardian = models.CharField("parent or guardian who agreed", max_length=120, blank=True)
    note = models.TextField(blank=True, max_length=1000)
    sensitive = models.BooleanField("the note speaks of health", default=False)
    form_key = models.UUIDField(unique=True, default=uuid4, editable=False)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["client", "-taken_on", "-pk"]

    def __str__(self) -> str:
        return f"{self.client}, {self.taken_on}"

    def get_absolute_url(self) -> str:
        return reverse("sheet", args=[self.pk])


class Measured(models.Model):
    """One measure of a sheet. ``key`` is one of ``clients.fit.measures``."""

    class Side(models.TextChoices):
        BOTH = "", "Both alike"
        LEFT = "left", "Left"
        RIGHT = "right", "Right"

    sheet = models.ForeignKey(Sheet, models.CASCADE, related_name="values")
    key = models.CharField(max_length=20)
    side = models.CharField(max_length=5, choices=Side, blank=True)
    mm = length_field()
    typed = models.CharField(max_length=20)
    unit = models.CharField(max_length=2)

    class Meta:
        ordering = ["sheet", "pk"]
        constraints = [
            models.UniqueConstraint("sheet", "key", "side", name="one_value_per_measure_and_side")
        ]

    def __str__(self) -> str:
        return f"{self.key} {self.side} {self.typed}".replace("  ", " ")


class MeasureRange(models.Model):
    """The owner's own range of a measure; outside it the page asks whether that is right."""

    key = models.CharField(max_length=20, unique=True)
    low_mm = length_field()
    high_mm = length_field()

    def __str__(self) -> str:
        return f"{self.key} {self.low_mm} to {self.high_mm} mm"
