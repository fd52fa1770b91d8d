"""The owner's own sewing: pictures, cloth, patterns, ideas and makes, the look back, releases."""

from datetime import date
from typing import Any
from uuid import uuid4

from django.conf import settings
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.urls import reverse

from jobs.makes.matching import ShelfLength
from studio.shop import clock
from studio.shop.text import fold


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


def length_field(
    name: str | None = None, *, optional: bool = False
) -> "models.DecimalField[Any, Any]":
    """Millimetres with four decimals; a quarter of a kilometre of cloth fits."""
    return models.DecimalField(name, max_digits=10, decimal_places=4, null=optional, blank=optional)


def shrink_field(name: str) -> "models.DecimalField[Any, Any]":
    """Shrinkage in per cent as it was measured, such as 7.5; empty when nobody measured it."""
    return models.DecimalField(name, max_digits=4, decimal_places=1, null=True, blank=True)


class Cloth(models.Model):
    """A length of fabric: what it is, how wide, how much is left.

    ``left_mm`` always equals the sum of its moves and never falls below zero; only
    ``jobs.makes.actions`` write it, under a lock. ``unit`` is the one the owner bought it in.
    """

    class Kind(models.TextChoices):
        WOVEN = "woven", "Woven"
        KNIT = "knit", "Knit"
        DENIM = "denim", "Denim, canvas"
        SUITING = "suiting", "Suiting, coating"
        SHEER = "sheer", "Sheer"
        SATIN = "satin", "Satin, lining"
        VELVET = "velvet", "Velvet, pile"
        LEATHER = "leather", "Leather, fur"

    class Unit(models.TextChoices):
        METRE = "m", "Metres"
        YARD = "yd", "Yards"

    name = models.CharField("what it is", max_length=120)
    kind = models.CharField(max_length=8, choices=Kind, default=Kind.WOVEN)
    fibre = models.CharField(max_length=120, blank=True)
    colour = models.CharField(max_length=60, blank=True)
    width_mm = length_field("usable width")
    width_typed = models.CharField(max_length=20)
    left_mm = length_field("length left")
    unit = models.CharField(max_length=2, choices=Unit, default=Unit.METRE)
    washed = models.BooleanField("washed already", default=False)
    shrink_along = shrink_field("shrinks along, %")
    shrink_across = shrink_field("shrinks across, %")
    one_way = models.BooleanField("nap, pile or one-way print", default=False)
    repeat_mm = length_field("repeat", optional=True)
    repeat_typed = models.CharField(max_length=20, blank=True)
    care = models.CharField(max_length=120, blank=True)
    price = models.PositiveBigIntegerField("paid for all of it", null=True, blank=True)
    place = models.CharField("where it lies", max_length=80, blank=True)
    bought_on = models.DateField(null=True, blank=True)
    note = models.TextField(max_length=1000, blank=True)
    swatch = picture_field()
    added_at = models.DateTimeField(auto_now_add=True)
    gone_at = models.DateTimeField("left the shelf", null=True, blank=True)

    class Meta:
        ordering = ["name", "pk"]
        verbose_name_plural = "cloth"
        constraints = [
            models.CheckConstraint(
                condition=models.Q(left_mm__gte=0), name="cloth_left_not_negative"
            )
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("cloth", args=[self.pk])

    @property
    def here_since(self) -> date:
        """When it was bought, else when it was written down."""
        return self.bought_on or clock.local(self.added_at).date()

    def as_length(self) -> ShelfLength:
        """As the sums of ``jobs.makes.matching`` take it."""
        return ShelfLength(
            id=self.pk,
            kind=self.kind,
            width=self.width_mm,
            left=self.left_mm,
            since=self.here_since,
            washed=self.washed,
            shrink_along=self.shrink_along,
            shrink_across=self.shrink_across,
            one_way=self.one_way,
            repeat=self.repeat_mm or ShelfLength.repeat,
        )


class ClothMove(models.Model):
    """Cloth came in (above zero) or went out (below zero); never changed, only put right anew."""

    class Why(models.TextChoices):
        BOUGHT = "bought", "Bought or given"
        CUT = "cut", "Cut"
        BACK = "back", "Put back"
        WASHED = "washed", "Shrunk in the wash"
        MEASURED = "measured", "Measured again"
        GONE = "gone", "Given away"

    cloth = models.ForeignKey(Cloth, models.PROTECT, related_name="moves")
    make = models.ForeignKey(
        "makes.Make", models.PROTECT, null=True, blank=True, related_name="cloth_moves"
    )
    why = models.CharField(max_length=8, choices=Why)
    mm = length_field()
    typed = models.CharField(max_length=20)
    day = models.DateField(db_index=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    form_key = models.UUIDField(unique=True)

    class Meta:
        ordering = ["-day", "-pk"]

    def __str__(self) -> str:
        return f"{self.get_why_display()} {self.mm} mm of {self.cloth}"


MOST_KEY = 250


class Pattern(models.Model):
    """A bought or drafted pattern. ``kinds`` are the kinds of cloth it is meant for; none is any.

    ``minutes`` is what one make takes, by the owner's guess or as it took before. ``key`` is what
    it is found by, derived at each save.
    """

    name = models.CharField(max_length=120)
    maker = models.CharField("drafted or sold by", max_length=120, blank=True)
    number = models.CharField(max_length=40, blank=True)
    garment = models.CharField("what it makes", max_length=60, blank=True)
    sizes = models.CharField(max_length=80, blank=True)
    size = models.CharField("size cut", max_length=20, blank=True)
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


class MakeState(models.TextChoices):
    IDEA = "idea", "Idea"
    LINED_UP = "lined_up", "Planned next"
    UNDER_WAY = "under_way", "Under way"
    FINISHED = "finished", "Finished"
    LET_GO = "let_go", "Let go"


class Fate(models.TextChoices):
    UNKNOWN = "", "Not yet said"
    OFTEN = "often", "Worn often"
    RARELY = "rarely", "Worn rarely"
    GIVEN = "given", "Given away"
    APART = "apart", "Taken apart"


class Make(models.Model):
    """Few words are all it asks for. ``place`` is its place on the wall within its state.

    ``wear_by`` with ``planned`` is a promise the owner makes to themself; without it nothing here
    ever is late. ``form_key`` makes a card once, however often it is sent.
    """

    class Season(models.TextChoices):
        ANY = "", "Any season"
        SPRING = "spring", "Spring"
        SUMMER = "summer", "Summer"
        AUTUMN = "autumn", "Autumn"
        WINTER = "winter", "Winter"

    words = models.CharField("a few words", max_length=120)
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
    changes = models.TextField("changes to the pattern", max_length=2000, blank=True)
    pictures = models.ManyToManyField(Picture, related_name="makes", blank=True)
    minutes = models.PositiveIntegerField("bench minutes, guessed", null=True, blank=True)
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
        return self.words

    def get_absolute_url(self) -> str:
        return reverse("make", args=[self.pk])


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


class Look(models.Model):
    """What the owner said of an idea in one sitting; ``undone_at`` takes it back."""

    class Answer(models.TextChoices):
        KEEP = "keep", "Keep"
        LET_GO = "let_go", "Let go"
        UNSURE = "unsure", "Not sure"

    make = models.ForeignKey(Make, models.CASCADE, related_name="looks")
    answer = models.CharField(max_length=6, choices=Answer)
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


class Release(models.Model):
    """``target_on`` is soft: passing it makes nothing late. ``price`` and ``rate`` (an hour of the
    owner) are minor units of the studio's currency; ``fee_percent`` is what each sale costs.
    """

    name = models.CharField(max_length=120)
    note = models.TextField(max_length=2000, blank=True)
    target_on = models.DateField(null=True, blank=True)
    published_on = models.DateField(null=True, blank=True)
    price = models.PositiveBigIntegerField("price of a copy", null=True, blank=True)
    fee_percent = models.DecimalField(
        "kept by the shop, %", max_digits=5, decimal_places=2, default=0
    )
    fee_amount = models.PositiveBigIntegerField("fixed fee of each sale", default=0)
    rate = models.PositiveBigIntegerField("an hour of mine is worth", null=True, blank=True)
    picture = picture_field()
    added_at = models.DateTimeField(auto_now_add=True)
    put_away_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["published_on", "target_on", "name", "pk"]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("release", args=[self.pk])


class Stage(models.Model):
    """Draft, toile, grade, test, write up, publish: the owner may name and order them anew."""

    release = models.ForeignKey(Release, models.CASCADE, related_name="stages")
    name = models.CharField(max_length=60)
    place = models.PositiveSmallIntegerField()
    minutes = models.PositiveIntegerField("minutes it will take", default=0)
    done_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["release", "place", "pk"]
        verbose_name = "release stage"

    def __str__(self) -> str:
        return self.name


class Tester(models.Model):
    """Somebody who sews the pattern before it is sold; a first name or initials are enough."""

    release = models.ForeignKey(Release, models.CASCADE, related_name="testers")
    name = models.CharField("first name or initials", max_length=60)
    size = models.CharField("size sewn", max_length=40, blank=True)
    sent_on = models.DateField(null=True, blank=True)
    back_on = models.DateField("answered on", null=True, blank=True)
    report = models.TextField(max_length=4000, blank=True)

    class Meta:
        ordering = ["release", "pk"]

    def __str__(self) -> str:
        return self.name


class Erratum(models.Model):
    """Something that is wrong in the pattern, and when it was put right."""

    release = models.ForeignKey(Release, models.CASCADE, related_name="errata")
    words = models.CharField("what is wrong", max_length=300)
    found_on = models.DateField()
    mended_on = models.DateField("put right on", null=True, blank=True)

    class Meta:
        ordering = ["release", "found_on", "pk"]
        verbose_name_plural = "errata"

    def __str__(self) -> str:
        return self.words


class Cost(models.Model):
    """Money spent on a release: printing, a photographer, cloth for toiles."""

    release = models.ForeignKey(Release, models.CASCADE, related_name="costs")
    words = models.CharField("for what", max_length=120)
    amount = models.PositiveBigIntegerField()
    day = models.DateField()

    class Meta:
        ordering = ["release", "day", "pk"]

    def __str__(self) -> str:
        return self.words


class Sale(models.Model):
    """Copies sold on a day. ``net`` is what was left of them after fees, in minor units.

    ``row_key`` tells the row of a file, so that the same file counts once.
    """

    release = models.ForeignKey(Release, models.CASCADE, related_name="sales")
    day = models.DateField()
    copies = models.IntegerField()
    net = models.BigIntegerField()
    row_key = models.CharField(max_length=64)

    class Meta:
        ordering = ["release", "day", "pk"]
        constraints = [models.UniqueConstraint("release", "row_key", name="one_sale_per_row")]

    def __str__(self) -> str:
        return f"{self.copies} on {self.day}"
