"""What the owner said of ideas, one sitting after another."""

from django.db import models

from jobs.makes.models.ideas import Make


class Look(models.Model):
    """What the owner said of an idea in one sitting; ``undone_at`` takes it back."""

    class Answer(models.TextChoices):
        KEEP = "keep", "Carry on"
        REST = "rest", "Resting"
        LET_GO = "let_go", "Drop"
        UNSURE = "unsure", "Not sure"

    make = models.ForeignKey(Make, models.CASCADE, related_name="looks")
    answer = models.CharField(max_length=6, choices=Answer)
    words = models.CharField("why, in words", max_length=200, blank=True)
    was = models.CharField("state before", max_length=9)
    at = models.DateTimeField(db_index=True)
    undone_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return f"{self.make}: {self.get_answer_display()}"


class Pair(models.Model):
    """Of two ideas the owner would rather sew one now."""

    rather = models.ForeignKey(Make, models.CASCADE, related_name="pairs_won")
    other = models.ForeignKey(Make, models.CASCADE, related_name="pairs_lost")
    at = models.DateTimeField()

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return f"{self.rather} rather than {self.other}"
