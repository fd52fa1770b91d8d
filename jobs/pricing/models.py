"""The price list: kinds of garment, operations on them, surcharges and the house rules."""

from decimal import Decimal
from fractions import Fraction

from django.core.validators import MaxValueValidator, MinValueValidator, RegexValidator
from django.db import models

from studio.shop.money import round_half_up


def percent_field(
    name: str | None = None, *, default: Decimal = Decimal(0)
) -> "models.DecimalField[Decimal, Decimal]":
    """A percentage from 0 to 1000 with three decimals."""
    return models.DecimalField(
        name,
        max_digits=6,
        decimal_places=3,
        default=default,
        validators=[MinValueValidator(Decimal(0)), MaxValueValidator(Decimal(1000))],
    )


class Concern(models.TextChoices):
    """What can hurt whoever wears it: the counter shows a caution (see ``cautions``)."""

    CHILD_NIGHT = "child_night", "Children's night clothes"
    CHILD = "child", "Children's clothes"
    PROTECTIVE = "protective", "Protective clothing"
    FLAME = "flame", "Flame-resistant clothing"
    LIFE = "life", "Life jacket, harness"


class GarmentKindQuerySet(models.QuerySet["GarmentKind"]):
    def on_offer(self) -> "GarmentKindQuerySet":
        """What the counter offers, in the list's order, in two queries.

        ``kind.operations.all()`` holds the operations on offer without asking the database again.
        """
        offered = models.Prefetch("operations", Operation.objects.filter(active=True))
        return self.filter(active=True).prefetch_related(offered)

    def whole(self) -> "GarmentKindQuerySet":
        """Everything that was ever on the list, also what is no longer offered."""
        return self.prefetch_related("operations")


class GarmentKind(models.Model):
    """Trousers, skirt, dress ...: a large button at the counter."""

    name = models.CharField(max_length=60, unique=True)
    concern = models.CharField("caution", max_length=12, choices=Concern, blank=True)
    position = models.PositiveSmallIntegerField(default=0)
    active = models.BooleanField(default=True)

    objects = GarmentKindQuerySet.as_manager()

    class Meta:
        ordering = ["position", "name"]

    def __str__(self) -> str:
        return self.name


class WorkOrder(models.IntegerChoices):
    """Place in the order of work on one garment (common practice).

    The body before the hem, zips before hem and lining, and last what sits on a finished edge.
    """

    BODY = 10, "Body"
    SLEEVES = 20, "Sleeves and straps"
    CLOSURES = 30, "Zips, pockets, patches"
    HEM = 40, "Hem"
    LINING = 50, "Lining"
    FINISH = 60, "Bustle, buttons, finished edges"


class FittingPlace(models.TextChoices):
    """Where work stands once a fitting is booked; that for which one comes first is after it."""

    AFTER = "after", "After it"
    BEFORE = "before", "Before it"
    ASK = "ask", "Ask at drop-off"


class Basis(models.TextChoices):
    TOTAL = "total", "Total"
    EACH = "each", "Each side"
    LEG = "leg", "Each leg"
    SLEEVE = "arm", "Each sleeve"


class Measure(models.TextChoices):
    FINISHED = "finished", "Finished"
    TAKE_OFF = "take_off", "Take off"
    LET_OUT = "let_out", "Let out"


class Operation(models.Model):
    """A kind of work on a kind of garment, with its price and bench minutes."""

    garment_kind = models.ForeignKey(GarmentKind, models.PROTECT, related_name="operations")
    name = models.CharField(max_length=80)
    price = models.PositiveBigIntegerField(help_text="Minor units of the studio's currency.")
    minutes = models.PositiveIntegerField("bench minutes", validators=[MaxValueValidator(6000)])
    fitting_first = models.BooleanField("a fitting comes first", default=False)
    fitting_place = models.CharField(
        "where a fitting is booked", max_length=6, choices=FittingPlace, default=FittingPlace.AFTER
    )
    work_order = models.PositiveSmallIntegerField(
        "order of work", choices=WorkOrder, default=WorkOrder.BODY
    )
    hang_days = models.PositiveSmallIntegerField(
        "days to hang", default=0, validators=[MaxValueValidator(14)]
    )
    stitch = models.CharField(
        "stitch type (ISO 4915)", max_length=3, blank=True,
        validators=[RegexValidator(r"^[1-6]\d\d$", "An ISO 4915 stitch is 101 to 699.")],
    )  # fmt: skip
    takes_amount = models.BooleanField("asks how far", default=False)
    usual_basis = models.CharField(max_length=5, choices=Basis, blank=True)
    usual_measure = models.CharField(max_length=8, choices=Measure, blank=True)
    position = models.PositiveSmallIntegerField(default=0)
    active = models.BooleanField(default=True)

    class Meta:
        ordering = ["garment_kind__position", "garment_kind__name", "position", "name"]
        constraints = [
            models.UniqueConstraint("garment_kind", "name", name="one_operation_per_kind_and_name")
        ]

    def __str__(self) -> str:
        return f"{self.garment_kind}: {self.name}"

    @property
    def an_hour(self) -> int | None:
        """What an hour of this work earns, in minor units; None for work without minutes."""
        return round_half_up(Fraction(self.price * 60, self.minutes)) if self.minutes else None


def usual_place(work: Operation) -> FittingPlace:
    """Where this work stands until somebody says more: after a fitting, unless the list says."""
    before = work.fitting_place == FittingPlace.BEFORE
    return FittingPlace.BEFORE if before else FittingPlace.AFTER


class Surcharge(models.Model):
    """Lined, beaded, leather ...: changes a line's price and minutes."""

    name = models.CharField(max_length=60, unique=True)
    percent = percent_field("price %")
    amount = models.PositiveBigIntegerField("fixed price for each", default=0)
    minutes_percent = percent_field("minutes %")
    minutes = models.PositiveIntegerField("fixed minutes for each", default=0)
    position = models.PositiveSmallIntegerField(default=0)
    active = models.BooleanField(default=True)

    class Meta:
        ordering = ["position", "name"]

    def __str__(self) -> str:
        return self.name


class PriceRules(models.Model):
    """The house rules of the list: one row, primary key 1."""

    minimum_charge = models.PositiveBigIntegerField(default=0)
    rush_percent = percent_field(default=Decimal(25))
    rounding_step = models.PositiveIntegerField(default=1, validators=[MinValueValidator(1)])
    deposit_percent = percent_field()

    class Meta:
        verbose_name_plural = "price rules"

    def __str__(self) -> str:
        return "House rules of the price list"

    @classmethod
    def load(cls) -> "PriceRules":
        return cls.objects.filter(pk=1).first() or cls(pk=1)
