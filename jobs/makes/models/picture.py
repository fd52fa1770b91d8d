"""Sketches, photographs and swatches of the owner's own things."""

from django.db import models
from django.urls import reverse


class Picture(models.Model):
    """A re-encoded picture, private to the studio; ``drawn`` on the page, or photographed."""

    file = models.FileField(upload_to="own/%Y/%m")
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    drawn = models.BooleanField(default=False)
    added_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{'Sketch' if self.drawn else 'Photograph'} {self.pk}"

    def get_absolute_url(self) -> str:
        return reverse("own-picture", args=[self.pk])


def picture_field(*, related_name: str = "+") -> models.ForeignKey:
    return models.ForeignKey(
        Picture, models.SET_NULL, null=True, blank=True, related_name=related_name
    )


def length_field(name: str | None = None, *, optional: bool = False) -> models.DecimalField:
    """Millimetres with four decimals; a quarter of a kilometre of cloth fits."""
    return models.DecimalField(name, max_digits=10, decimal_places=4, null=optional, blank=optional)


def shrink_field(name: str) -> models.DecimalField:
    """Shrinkage in per cent as it was measured, such as 7.5; empty when nobody measured it."""
    return models.DecimalField(name, max_digits=4, decimal_places=1, null=True, blank=True)
