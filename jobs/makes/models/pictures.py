"""Pictures of own sewing, and the field that hangs one on a row."""

from typing import Any

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


def picture_field(*, related_name: str = "+") -> "models.ForeignKey[Any, Any]":
    return models.ForeignKey(
        Picture, models.SET_NULL, null=True, blank=True, related_name=related_name
    )
