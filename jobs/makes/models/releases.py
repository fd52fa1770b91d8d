"""Patterns on their way to sale, and what comes of them."""

from django.db import models
from django.urls import reverse

from jobs.makes.models.ideas import Make
from jobs.makes.models.patterns import Pattern
from jobs.makes.models.pictures import Picture, picture_field


class Release(models.Model):
    """``target_on`` is soft: passing it makes nothing late. ``price`` and ``rate`` (an hour of the
    owner) are minor units of the studio's currency; ``fee_percent`` is what each sale costs.
    ``sizes`` are those it is graded in, where its pattern does not say. ``samples`` are makes
    sewn to show it, ``pictures`` its photographs.
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
    pattern = models.ForeignKey(
        Pattern, models.SET_NULL, null=True, blank=True, related_name="releases"
    )
    sizes = models.CharField("sizes it comes in", max_length=120, blank=True)
    samples = models.ManyToManyField(Make, blank=True, related_name="sample_of")
    pictures = models.ManyToManyField(Picture, blank=True, related_name="releases")
    added_at = models.DateTimeField(auto_now_add=True)
    put_away_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["published_on", "target_on", "name", "pk"]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("release", args=[self.pk])


class Stage(models.Model):
    """Draft, toile, grade, test and on to publish: the owner may name and order them anew."""

    release = models.ForeignKey(Release, models.CASCADE, related_name="stages")
    name = models.CharField(max_length=60)
    place = models.PositiveSmallIntegerField()
    minutes = models.PositiveIntegerField("minutes it will take", default=0)
    done_at = models.DateTimeField(null=True, blank=True)
    picture = picture_field()

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
