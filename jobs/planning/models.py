"""The week: fittings, waiting work, bench time, and the hours that are the owner's."""

from datetime import datetime, timedelta
from uuid import uuid4

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from jobs.makes.models import Cloth, Gap, Make, Release, Stage
from jobs.tickets.models import Line, Ticket


class PlanRules(models.Model):
    """How the owner wants the week planned: one row, primary key 1."""

    own_percent = models.PositiveSmallIntegerField(
        "share of each week that is mine, %", default=30, validators=[MaxValueValidator(100)]
    )
    lost_percent = models.PositiveSmallIntegerField(
        "bench time lost to the door and the phone, %",
        default=10,
        validators=[MaxValueValidator(90)],
    )
    min_piece = models.PositiveSmallIntegerField(
        "shortest sitting in minutes", default=15, validators=[MinValueValidator(1)]
    )

    safe_percent = models.PositiveSmallIntegerField(
        "chance of the day that is proposed, %",
        default=80,
        validators=[MinValueValidator(50), MaxValueValidator(99)],
    )

    # Days before a client's event by step, see ``event_book.STEPS``; what is missing is as usual.
    event_days = models.JSONField("days before an event", default=dict, blank=True)

    ONLY = 1

    class Meta:
        verbose_name_plural = "plan rules"

    def __str__(self) -> str:
        return "How the week is planned"

    @classmethod
    def load(cls) -> "PlanRules":
        return cls.objects.filter(pk=cls.ONLY).first() or cls(pk=cls.ONLY)


class Fitting(models.Model):
    """An appointment at which the client tries the garment on.

    It keeps its row when it is moved; ``sequence`` counts the moves (RFC 5545, 3.8.7.4), and the
    ticket's history says from when to when.
    """

    class Kind(models.TextChoices):
        FIRST = "first", "First fitting"
        NEXT = "next", "Next fitting"
        FINAL = "final", "Final fitting"

    class State(models.TextChoices):
        BOOKED = "booked", "Booked"
        KEPT = "kept", "Kept"
        MISSED = "missed", "Missed"
        CANCELLED = "cancelled", "Cancelled"

    ticket = models.ForeignKey(Ticket, models.PROTECT, related_name="fittings")
    kind = models.CharField(max_length=5, choices=Kind, default=Kind.FIRST)
    state = models.CharField(max_length=9, choices=State, default=State.BOOKED)
    starts_at = models.DateTimeField(db_index=True)
    minutes = models.PositiveSmallIntegerField(
        default=30, validators=[MinValueValidator(5), MaxValueValidator(480)]
    )
    note = models.CharField(max_length=200, blank=True)
    uid = models.UUIDField(default=uuid4, unique=True, editable=False)
    sequence = models.PositiveSmallIntegerField(default=0)

    class Meta:
        ordering = ["starts_at", "pk"]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} of {self.ticket}"

    @property
    def ends_at(self) -> datetime:
        return self.starts_at + timedelta(minutes=self.minutes)


FELL_THROUGH = (Fitting.State.MISSED, Fitting.State.CANCELLED)
"""What a fitting is when the work after it needs another one."""
STANDS = (Fitting.State.BOOKED, Fitting.State.KEPT)

CALENDAR = "calendar"
"""What is locked while a time is taken: fittings of all tickets and appointments share one day."""


class Appointment(models.Model):
    """Time at which the bench rests for something that is no fitting.

    A visit, the accounts; or own hours that the owner put on a day instead of leaving them loose.
    """

    class Kind(models.TextChoices):
        OTHER = "other", "Appointment"
        OWN = "own", "Own sewing"

    kind = models.CharField(max_length=5, choices=Kind, default=Kind.OTHER)
    name = models.CharField("what", max_length=120, blank=True)
    starts_at = models.DateTimeField(db_index=True)
    minutes = models.PositiveSmallIntegerField(
        default=30, validators=[MinValueValidator(5), MaxValueValidator(1440)]
    )

    class Meta:
        ordering = ["starts_at", "pk"]

    def __str__(self) -> str:
        return self.name or self.get_kind_display()

    @property
    def ends_at(self) -> datetime:
        return self.starts_at + timedelta(minutes=self.minutes)


class AfterFitting(models.Model):
    """This operation's work starts only after that fitting."""

    line = models.OneToOneField(Line, models.PROTECT, related_name="gate")
    fitting = models.ForeignKey(Fitting, models.PROTECT, related_name="work_after")

    def __str__(self) -> str:
        return f"{self.line} after {self.fitting}"


class ReadyToCut(models.Model):
    """The hem is marked, in the shoes it will be worn with. Without this nobody cuts it."""

    line = models.OneToOneField(Line, models.PROTECT, related_name="cut_mark")
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    class Meta:
        verbose_name_plural = "ready to cut"

    def __str__(self) -> str:
        return f"{self.line} may be cut"


class SewingDay(models.Model):
    """The owner put this operation on one day: it is planned there, and nowhere else."""

    line = models.OneToOneField(Line, models.PROTECT, related_name="sewing_day")
    day = models.DateField()

    def __str__(self) -> str:
        return f"{self.line} on {self.day}"


class Wait(models.Model):
    """An operation cannot go on: for the client, for a zip, for washing. The clock is on hold."""

    class What(models.TextChoices):
        CLIENT = "client", "The client's answer"
        PART = "part", "A zip or other part"
        WASHING = "washing", "Washing"
        SHOES = "shoes", "The event shoes"

    line = models.ForeignKey(Line, models.PROTECT, related_name="waits")
    what = models.CharField("waits for", max_length=7, choices=What)
    question = models.CharField(max_length=300, blank=True)
    since = models.DateTimeField()
    expected = models.DateField("expected on", null=True, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    class Meta:
        ordering = ["since", "pk"]
        constraints = [
            models.UniqueConstraint(
                "line", condition=models.Q(ended_at=None), name="one_open_wait_per_line"
            )
        ]

    def __str__(self) -> str:
        return f"{self.line} waits for {self.get_what_display().lower()}"


class BenchTime(models.Model):
    """Minutes really spent. ``minutes`` is empty while the clock runs.

    Client work names its ``line``; own sewing may name its ``make`` and a release its ``stage``.
    """

    class Purpose(models.TextChoices):
        CLIENT = "client", "Client work"
        OWN = "own", "Own sewing"
        RELEASE = "release", "Pattern release"

    purpose = models.CharField(max_length=7, choices=Purpose, default=Purpose.CLIENT)
    line = models.ForeignKey(
        Line, models.PROTECT, null=True, blank=True, related_name="bench_times"
    )
    make = models.ForeignKey(
        Make, models.PROTECT, null=True, blank=True, related_name="bench_times"
    )
    stage = models.ForeignKey(
        Stage, models.PROTECT, null=True, blank=True, related_name="bench_times"
    )
    started_at = models.DateTimeField(db_index=True)
    minutes = models.PositiveIntegerField(null=True, blank=True)
    note = models.CharField(max_length=200, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-started_at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                "by", condition=models.Q(minutes=None), name="one_running_clock_each"
            )
        ]

    def __str__(self) -> str:
        return f"{self.minutes} min {self.get_purpose_display().lower()}"


FORGOTTEN = timedelta(hours=4)
"""After this a running clock was surely forgotten (common practice: a long sitting)."""


def is_forgotten(started_at: datetime, now: datetime) -> bool:
    """Whether a clock runs for longer than anybody sits at the bench."""
    return now - started_at > FORGOTTEN


class OwnWeek(models.Model):
    """The owner's hours of one week where they differ from the usual share."""

    monday = models.DateField(unique=True)
    minutes = models.PositiveIntegerField(validators=[MaxValueValidator(10080)])

    class Meta:
        ordering = ["monday"]

    def __str__(self) -> str:
        return f"{self.monday}: {self.minutes} min"


class OwnSewingDay(models.Model):
    """Own minutes that the owner put on a day, at no hour in particular; perhaps for one make."""

    day = models.DateField(db_index=True)
    make = models.ForeignKey(
        Make, models.PROTECT, null=True, blank=True, related_name="sewing_days"
    )
    minutes = models.PositiveSmallIntegerField(
        validators=[MinValueValidator(1), MaxValueValidator(1440)]
    )

    class Meta:
        ordering = ["day", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["day", "make"], name="one_own_sewing_day_a_make"),
            models.UniqueConstraint(
                fields=["day"],
                condition=models.Q(make=None),
                name="one_own_sewing_day_for_nothing",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.day}: {self.minutes} min"


class LongerDay(models.Model):
    """Bench time beyond the working week on one day, by the clock: begun earlier, today later."""

    day = models.DateField(unique=True)
    minutes = models.PositiveSmallIntegerField(
        validators=[MinValueValidator(1), MaxValueValidator(480)]
    )

    class Meta:
        ordering = ["day"]

    def __str__(self) -> str:
        return f"{self.day}: {self.minutes} min longer"


class HoursTaken(models.Model):
    """Own minutes of a week that one ticket took, as it was decided: the ledger's rows."""

    ticket = models.ForeignKey(Ticket, models.PROTECT, related_name="hours_taken")
    monday = models.DateField(db_index=True)
    minutes = models.PositiveIntegerField()
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-monday", "pk"]
        verbose_name_plural = "hours taken"

    def __str__(self) -> str:
        return f"{self.minutes} min of {self.monday} for {self.ticket}"


class Declined(models.Model):
    """A rush job that was not taken, and why; one learns from these before a season."""

    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    wanted_by = models.DateField()
    minutes = models.PositiveIntegerField()
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["-at"]
        verbose_name_plural = "declined"

    def __str__(self) -> str:
        return f"{self.minutes} min for {self.wanted_by}"


class CalendarFeed(models.Model):
    """The one address under which a calendar program reads fittings and promise dates."""

    key = models.CharField(max_length=43, unique=True)
    full_names = models.BooleanField(default=False)
    made_at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"Calendar since {self.made_at:%Y-%m-%d}"


class Todo(models.Model):
    """A line to remember, the studio's, the owner's own, or something to buy; it has no date.

    It hangs on one thing or on nothing. The owner's own hang on no ticket: what tells of a client
    is the studio's, or is to be bought for it. A line that is done leaves the page the next day and
    stays here.
    """

    class Side(models.TextChoices):
        STUDIO = "studio", "Studio"
        MINE = "mine", "Mine"
        BUY = "buy", "To buy"

    words = models.CharField("what", max_length=200)
    side = models.CharField(max_length=6, choices=Side, default=Side.STUDIO)
    place = models.IntegerField(default=0)
    ticket = models.ForeignKey(
        Ticket, models.PROTECT, null=True, blank=True, related_name="todo_lines"
    )
    make = models.ForeignKey(Make, models.SET_NULL, null=True, blank=True, related_name="+")
    cloth = models.ForeignKey(Cloth, models.SET_NULL, null=True, blank=True, related_name="+")
    release = models.ForeignKey(Release, models.SET_NULL, null=True, blank=True, related_name="+")
    gap = models.ForeignKey(Gap, models.SET_NULL, null=True, blank=True, related_name="+")
    added_at = models.DateTimeField()
    done_at = models.DateTimeField(null=True, blank=True, db_index=True)

    class Meta:
        ordering = ["place", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=~models.Q(side="mine") | models.Q(ticket=None),
                name="tickets_hang_not_among_mine",
            )
        ]

    def __str__(self) -> str:
        return self.words

    @property
    def hangs_on(self) -> Ticket | Make | Cloth | Release | Gap | None:
        return self.ticket or self.make or self.cloth or self.release or self.gap


class Bought(models.Model):
    """A notion of a make's pattern that is here; ``key`` are its words, folded.

    Under the key ``CLOTH`` no cloth is to be bought for the make.
    """

    CLOTH = ""

    make = models.ForeignKey(Make, models.CASCADE, related_name="bought")
    key = models.CharField(max_length=500)
    at = models.DateTimeField()

    class Meta:
        verbose_name_plural = "bought"
        constraints = [models.UniqueConstraint("make", "key", name="bought_once_for_a_make")]

    def __str__(self) -> str:
        return f"{self.key} for {self.make}"
