"""Patterns that the studio owns, and the cloth each asks for."""

from typing import Any

from django.db import models
from django.urls import reverse

from jobs.makes.models.cloth import Cloth, length_field
from jobs.makes.models.pictures import picture_field
from studio.shop.text import fold

MOST_KEY = 250


class Pattern(models.Model):
    """A bought or drafted pattern. ``kinds`` are the kinds of cloth it is meant for; none is any.

    ``body_sizes`` is the table of bodies on the envelope, a row of texts for each size: its name,
    and girths as they were typed, with their unit.
    ``minutes`` is what one make takes, by the owner's guess or as it took before. ``key`` is what
    it is found by, derived at each save.
    """

    name = models.CharField(max_length=120)
    maker = models.CharField("drafted or sold by", max_length=120, blank=True)
    number = models.CharField(max_length=40, blank=True)
    garment = models.CharField("what it makes", max_length=60, blank=True)
    sizes = models.CharField(max_length=80, blank=True)
    size = models.CharField("size cut", max_length=20, blank=True)
    body_sizes = models.JSONField("body measures of its sizes", default=list, blank=True)
    kinds = models.JSONField("kinds of cloth", default=list, blank=True)
    notions = models.TextField(max_length=500, blank=True)
    minutes = models.PositiveIntegerField("bench minutes", null=True, blank=True)
    stops = models.BooleanField("can be left half-way", default=True)
    widest_mm = length_field("widest piece", optional=True)
    widest_typed = models.CharField(max_length=20, blank=True)
    changes = models.TextField("changes made to it", max_length=2000, blank=True)
    place = models.CharField("where it lies", max_length=80, blank=True)
    picture = picture_field()
    key = models.CharField(max_length=MOST_KEY, db_index=True, editable=False)
    added_at = models.DateTimeField(auto_now_add=True)
    gone_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["name", "pk"]

    def __str__(self) -> str:
        return self.name

    def save(self, *args: Any, **kwargs: Any) -> None:
        self.key = fold(f"{self.name} {self.number} {self.maker} {self.garment}")[:MOST_KEY]
        if fields := kwargs.get("update_fields"):
            kwargs["update_fields"] = {*fields, "key"}
        super().save(*args, **kwargs)

    def get_absolute_url(self) -> str:
        return reverse("pattern", args=[self.pk])


class Need(models.Model):
    """Length of cloth that a pattern asks for in one size at one width."""

    pattern = models.ForeignKey(Pattern, models.CASCADE, related_name="needs")
    size = models.CharField(max_length=20, blank=True)
    width_mm = length_field()
    width_typed = models.CharField(max_length=20)
    length_mm = length_field()
    length_typed = models.CharField(max_length=20)
    unit = models.CharField(max_length=2, choices=Cloth.Unit)

    class Meta:
        ordering = ["pattern", "size", "width_mm"]
        constraints = [
            models.UniqueConstraint(
                "pattern", "size", "width_mm", name="one_need_per_size_and_width"
            )
        ]

    def __str__(self) -> str:
        return f"{self.length_typed} at {self.width_typed}"


class PatternVersion(models.Model):
    """A change that stands in a pattern since ``carried_at``, carried in from a make.

    ``words`` are copied: what is written on the make later changes no pattern. What did no good is
    taken out again and stays to be read.
    """

    pattern = models.ForeignKey(Pattern, models.CASCADE, related_name="versions")
    make = models.ForeignKey(
        "makes.Make", models.SET_NULL, null=True, blank=True, related_name="versions"
    )
    words = models.TextField("what was changed", max_length=2000)
    carried_at = models.DateTimeField()
    taken_out_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-carried_at", "-pk"]

    def __str__(self) -> str:
        return f"{self.pattern}: {self.words}"
