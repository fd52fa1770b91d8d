"""Pictures of own sewing, and the field that hangs one on a row."""

from typing import Any

from django.db import models
from django.urls import reverse

from studio.shop.stored.files import small_of

LONGEST_SMALL = 400
"""Pixels of the longer side of a picture as it hangs on the wall."""


class Picture(models.Model):
    """A re-encoded picture, private to the studio; ``drawn`` on the page, or photographed.

    ``step`` is what it shows of a make; pictures of cloth and patterns have none. Its small copy
    lies beside ``file``, is made from it when it is first wanted, and goes with it.
    """

    class Step(models.TextChoices):
        IDEA = "idea", "Idea"
        SKETCH = "sketch", "Sketch"
        CLOTH = "cloth", "Cloth"
        CUT = "cut", "Cut"
        FITTED = "fitted", "Fitted"
        WORN = "worn", "Worn"

    file = models.FileField(upload_to="own/%Y/%m")
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    drawn = models.BooleanField(default=False)
    step = models.CharField("what it shows", max_length=6, choices=Step, blank=True)
    added_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{'Sketch' if self.drawn else 'Photograph'} {self.pk}"

    def get_absolute_url(self) -> str:
        return reverse("own-picture", args=[self.pk])

    @property
    def small_address(self) -> str:
        return reverse("own-picture-small", args=[self.pk])

    @property
    def small_size(self) -> tuple[int, int]:
        """Width and height of the small copy, whole and in proportion."""
        sides = self.width, self.height
        longer = max(sides)
        if longer <= LONGEST_SMALL:
            return sides
        width, height = (max(1, round(side * LONGEST_SMALL / longer)) for side in sides)
        return width, height

    @property
    def small_file(self) -> str:
        """Where the small copy lies among the studio's files."""
        return small_file_of(str(self.file))


def small_file_of(file: str) -> str:
    """The path of the small copy of the picture that lies at ``file``."""
    return small_of(file)


def picture_field(*, related_name: str = "+") -> "models.ForeignKey[Any, Any]":
    return models.ForeignKey(
        Picture, models.SET_NULL, null=True, blank=True, related_name=related_name
    )
