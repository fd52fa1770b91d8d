"""Ideas and makes, and the cloth that is meant for them."""

from uuid import uuid4

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.urls import reverse

from clients.models import Client
from jobs.makes.models.cloth import Cloth, length_field
from jobs.makes.models.patterns import Pattern
from jobs.makes.models.pictures import Picture, picture_field

UNTITLED = "Untitled"


class MakeState(models.TextChoices):
    IDEA = "idea", "Idea"
    LINED_UP = "lined_up", "Planned next"
    UNDER_WAY = "under_way", "Under way"
    RESTING = "resting", "Resting"
    FINISHED = "finished", "Finished"
    LET_GO = "let_go", "Let go"


class Fate(models.TextChoices):
    UNKNOWN = "", "Not yet said"
    OFTEN = "often", "Worn often"
    RARELY = "rarely", "Worn rarely"
    GIVEN = "given", "Given away"
    APART = "apart", "Taken apart"


class Make(models.Model):
    """A picture or a few words are all it asks for.

    ``place`` is its place among those of its state; in a pile it has another, of ``PilePlace``.
    What rests stays on the wall's list, out of sight, with the cloth that is meant for it.
    ``pattern`` with ``size`` and ``changes`` is the first it is sewn from; ``FurtherPattern`` has
    the others.
    ``wear_by`` with ``planned`` is a promise the owner makes to themself; without it nothing here
    ever is late. ``form_key`` makes a card once, however often it is sent.
    """

    class Season(models.TextChoices):
        ANY = "", "Any season"
        SPRING = "spring", "Spring"
        SUMMER = "summer", "Summer"
        AUTUMN = "autumn", "Autumn"
        WINTER = "winter", "Winter"

    words = models.CharField("a few words", max_length=120, blank=True)
    state = models.CharField(max_length=9, choices=MakeState, default=MakeState.IDEA, db_index=True)
    place = models.IntegerField(default=0)
    heat = models.PositiveSmallIntegerField(
        "how keen", null=True, blank=True,
        validators=[MinValueValidator(1), MaxValueValidator(5)],
    )  # fmt: skip
    kind = models.CharField("what it is", max_length=60, blank=True)
    whom = models.CharField("for whom", max_length=80, blank=True)
    season = models.CharField(max_length=6, choices=Season, blank=True)
    occasion = models.CharField(max_length=80, blank=True)
    cloths = models.ManyToManyField(Cloth, through="ClothPlan", related_name="makes")
    pattern = models.ForeignKey(
        Pattern, models.SET_NULL, null=True, blank=True, related_name="makes"
    )
    size = models.CharField("size sewn", max_length=20, blank=True)
    changes = models.TextField("changes to the pattern", max_length=2000, blank=True)
    pictures = models.ManyToManyField(Picture, related_name="makes", blank=True)
    face = picture_field()
    note = models.TextField("notes and links", max_length=4000, blank=True)
    piles = models.ManyToManyField("makes.Pile", through="PilePlace", related_name="makes")
    stopped = models.CharField("where it stopped", max_length=300, blank=True)
    minutes = models.PositiveIntegerField("bench minutes, guessed", null=True, blank=True)
    paid = models.PositiveBigIntegerField("paid for notions", null=True, blank=True)
    wear_by = models.DateField(null=True, blank=True)
    planned = models.BooleanField("plan it like a promise", default=False)
    learnt = models.TextField("what was learnt", max_length=2000, blank=True)
    fate = models.CharField(max_length=6, choices=Fate, blank=True)
    whim = models.BooleanField("made already", default=False)
    added_at = models.DateTimeField()
    started_at = models.DateTimeField(null=True, blank=True)
    finished_on = models.DateField(null=True, blank=True, db_index=True)
    let_go_at = models.DateTimeField(null=True, blank=True)
    form_key = models.UUIDField(unique=True, default=uuid4, editable=False)

    class Meta:
        ordering = ["state", "place", "-pk"]

    def __str__(self) -> str:
        return self.words or UNTITLED

    def get_absolute_url(self) -> str:
        return reverse("make", args=[self.pk])

    @property
    def client(self) -> Client | None:
        """Whom of the studio's book it is for. A query, unless ``made_for__client`` is here."""
        made_for = getattr(self, "made_for", None)
        return made_for.client if made_for else None

    @property
    def for_whom(self) -> str:
        """The client it is for, and what else was written."""
        return ", ".join(str(who) for who in (self.client, self.whom) if who)


class MadeFor(models.Model):
    """A make that is for somebody of the studio's book. Erasing the client takes the row away;
    nothing of a make names the client but this.
    """

    make = models.OneToOneField(Make, models.CASCADE, related_name="made_for")
    client = models.ForeignKey(Client, models.CASCADE, related_name="makes_for")

    def __str__(self) -> str:
        return f"{self.make} for {self.client}"


class FurtherPattern(models.Model):
    """A pattern that a make is sewn from beside its first: other sleeves, another collar."""

    make = models.ForeignKey(Make, models.CASCADE, related_name="further_patterns")
    pattern = models.ForeignKey(Pattern, models.PROTECT, related_name="further_uses")
    size = models.CharField("size sewn", max_length=20, blank=True)
    changes = models.TextField("changes to the pattern", max_length=2000, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [models.UniqueConstraint("make", "pattern", name="once_sewn_from_a_pattern")]

    def __str__(self) -> str:
        return f"{self.pattern} for {self.make}"


class Pile(models.Model):
    """Ideas that the owner put together and gave a name; ``place`` is its place among the piles."""

    name = models.CharField("name of the pile", max_length=60)
    place = models.IntegerField(default=0)

    class Meta:
        ordering = ["place", "pk"]

    def __str__(self) -> str:
        return self.name


class PilePlace(models.Model):
    """A make in a pile, and its place there. In none it is loose."""

    pile = models.ForeignKey(Pile, models.CASCADE, related_name="places")
    make = models.ForeignKey(Make, models.CASCADE, related_name="pile_places")
    place = models.IntegerField(default=0)

    class Meta:
        ordering = ["place", "-pk"]
        constraints = [models.UniqueConstraint("pile", "make", name="once_in_each_pile")]

    def __str__(self) -> str:
        return f"{self.make} in {self.pile}"


class ClothPlan(models.Model):
    """Cloth meant for a make; ``mm`` is how much of it, empty while nobody has said."""

    make = models.ForeignKey(Make, models.CASCADE, related_name="cloth_plans")
    cloth = models.ForeignKey(Cloth, models.PROTECT, related_name="plans")
    mm = length_field(optional=True)
    typed = models.CharField(max_length=20, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [models.UniqueConstraint("make", "cloth", name="one_plan_per_make_and_cloth")]

    def __str__(self) -> str:
        return f"{self.cloth} for {self.make}"
