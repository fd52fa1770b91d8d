"""What was hoped for in which season, what was missing, and what was said in the sittings."""

from django.db import models
from django.urls import reverse

from jobs.makes.models.cloth import length_field
from jobs.makes.models.ideas import Make
from jobs.makes.year.seasons import Name


class Gap(models.Model):
    """Something that was reached for and not there: a kind of garment, for some kind of days.

    ``filled`` is the make that came of it; ``dropped_at`` when it was missed no longer.
    """

    class Kind(models.TextChoices):
        TOP = "top", "Tops"
        TROUSERS = "trousers", "Trousers"
        SKIRT = "skirt", "Skirts"
        DRESS = "dress", "Dresses"
        OVER = "over", "Over it"
        OTHER = "other", "Other"

    class Days(models.TextChoices):
        COLD = "cold", "Cold days"
        MILD = "mild", "Mild days"
        HOT = "hot", "Hot days"

    words = models.CharField("in words", max_length=120)
    kind = models.CharField(max_length=8, choices=Kind, default=Kind.OTHER)
    days = models.CharField(max_length=4, choices=Days, default=Days.MILD)
    added_at = models.DateTimeField()
    filled = models.ForeignKey(Make, models.SET_NULL, null=True, blank=True, related_name="gaps")
    dropped_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["added_at", "pk"]

    def __str__(self) -> str:
        return self.words

    def get_absolute_url(self) -> str:
        """Where gaps are told and said to be missed no more."""
        return f"{reverse('gaps')}?at={self.pk}#gap-{self.pk}"


class Hope(models.Model):
    """A make, or something for a gap, was hoped for in a season, from ``since`` to ``until``.

    A season's plan is what stood when it began, at the first moment of ``begins``: nothing has to
    be copied on that day, and nothing that happens later changes it. ``place`` is the place in the
    season's row.
    """

    make = models.ForeignKey(Make, models.CASCADE, null=True, blank=True, related_name="hopes")
    gap = models.ForeignKey(Gap, models.CASCADE, null=True, blank=True, related_name="hopes")
    year = models.PositiveSmallIntegerField()
    season = models.CharField(max_length=6, choices=[(name.value, name.value) for name in Name])
    begins = models.DateField()
    place = models.IntegerField(default=0)
    since = models.DateTimeField()
    until = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["begins", "place", "pk"]
        indexes = [models.Index(fields=["year", "begins"])]
        constraints = [
            models.UniqueConstraint(
                "make", condition=models.Q(until=None), name="make_hoped_for_once"
            ),
            models.UniqueConstraint(
                "gap", condition=models.Q(until=None), name="gap_hoped_for_once"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.make or self.gap} in {self.season} {self.year}"


class Budget(models.Model):
    """About how many hours and how much cloth the owner means to give a season; empty is not said.

    Only shown beside what is hoped for: nothing is refused because of it.
    """

    year = models.PositiveSmallIntegerField()
    season = models.CharField(max_length=6, choices=[(name.value, name.value) for name in Name])
    minutes = models.PositiveIntegerField(null=True, blank=True)
    mm = length_field(optional=True)
    typed = models.CharField(max_length=40, blank=True)

    class Meta:
        ordering = ["year", "pk"]
        constraints = [models.UniqueConstraint("year", "season", name="one_budget_a_season")]

    def __str__(self) -> str:
        return f"{self.season.capitalize()} {self.year}"


class JournalBook(models.Model):
    """The journal of a year as a PDF of one size: asked for, being built, there, or given up.

    A new one takes the place of the old one of its size. ``done`` is in thousandths. It is built
    by a process of its own, and begun again where that was cut short; ``tries`` counts how often.
    """

    class State(models.TextChoices):
        WAITING = "waiting", "Waiting"
        BUILDING = "building", "Being built"
        DONE = "done", "There"
        FAILED = "failed", "Could not be built"

    year = models.PositiveSmallIntegerField()
    page = models.CharField("paper", max_length=10)
    state = models.CharField(max_length=8, choices=State, default=State.WAITING)
    done = models.PositiveSmallIntegerField(default=0)
    tries = models.PositiveSmallIntegerField(default=0)
    asked_at = models.DateTimeField()
    built_at = models.DateTimeField(null=True, blank=True)
    pages = models.PositiveIntegerField(default=0)
    size = models.PositiveBigIntegerField("bytes", default=0)
    file = models.FileField(upload_to="journals", blank=True)

    class Meta:
        ordering = ["asked_at", "pk"]
        constraints = [models.UniqueConstraint("year", "page", name="one_journal_of_a_size")]

    def __str__(self) -> str:
        return f"Journal {self.year}, {self.page}"

    @property
    def underway(self) -> bool:
        return self.state in {self.State.WAITING, self.State.BUILDING}


class Sitting(models.Model):
    """The owner sat down with a year; left and gone on with as often as they like."""

    year = models.PositiveSmallIntegerField(unique=True)
    begun_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-year"]

    def __str__(self) -> str:
        return f"Sitting of {self.year}"


class Judgement(models.Model):
    """What the owner said of something made, on a day: in a sitting, or just so.

    ``whys`` are short words they chose or added, ``words`` a line of their own. Never changed: what
    is said anew stands beside it. Within one sitting a later answer takes the place of the earlier.
    """

    class Verdict(models.TextChoices):
        KEEP = "keep", "Keep"
        LET_GO = "let_go", "Let go"
        UNSURE = "unsure", "Not sure"

    make = models.ForeignKey(Make, models.CASCADE, related_name="judgements")
    sitting = models.ForeignKey(
        Sitting, models.CASCADE, null=True, blank=True, related_name="judgements"
    )
    answer = models.CharField(max_length=6, choices=Verdict)
    whys = models.JSONField(default=list, blank=True)
    words = models.CharField(max_length=200, blank=True)
    at = models.DateTimeField(db_index=True)

    class Meta:
        ordering = ["-at", "-pk"]
        constraints = [
            models.UniqueConstraint("make", "sitting", name="one_judgement_a_sitting"),
        ]

    def __str__(self) -> str:
        return f"{self.make}: {self.get_answer_display()}"
