"""What is remembered of each copy. The copies themselves are files; see ``places``."""

from django.db import models


class Kind(models.TextChoices):
    NIGHT = "night", "Last night"
    HAND = "hand", "By hand"
    UPGRADE = "upgrade", "Before an upgrade"


class Backup(models.Model):
    """One copy, or the try at one. The program writes it by itself; nobody edits it.

    ``night`` is the day in whose small hours it was made: only one process has that night. ``paid``
    is minor units of ``currency``. ``wrong`` are sentences on what did not hold, ``second`` what
    went wrong with the other place, ``tested_at`` when it was restored for real, ``inside`` how
    many rows it has, by table, of what people count.
    """

    kind = models.CharField(max_length=8, choices=Kind)
    night = models.DateField(null=True, unique=True)
    started_at = models.DateTimeField()
    finished_at = models.DateTimeField(null=True)
    name = models.CharField(max_length=80, blank=True)
    size = models.PositiveBigIntegerField(default=0)
    locked = models.BooleanField(default=False)
    tickets = models.PositiveIntegerField(default=0)
    paid = models.BigIntegerField(default=0)
    currency = models.CharField(max_length=3, blank=True)
    inside = models.JSONField(default=dict)
    wrong = models.JSONField(default=list)
    second = models.CharField(max_length=300, blank=True)
    second_at = models.DateTimeField(null=True)
    tested_at = models.DateTimeField(null=True)
    test_wrong = models.JSONField(default=list)

    class Meta:
        ordering = ["-started_at", "-pk"]

    def __str__(self) -> str:
        return self.name or f"{self.kind} {self.started_at:%Y-%m-%d %H:%M}"

    @property
    def good(self) -> bool:
        """Read back and equal."""
        return bool(self.finished_at and self.name and not self.wrong)
