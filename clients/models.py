"""The room's tables: clients, and their bodies' measures."""

from typing import Any
from urllib.parse import quote
from uuid import uuid4

from django.conf import settings
from django.db import models
from django.urls import reverse

from clients.contact import ContactLink, dial
from studio.shop import history
from studio.shop.models import MOST_CODE, Entry
from studio.shop.territory import countries
from studio.shop.text import digits, fold
from studio.shop.words import language_name

# What is known of a client, in the order in which it is asked and written.
FACTS = (
    "name", "phone", "email", "street", "postcode", "city", "country", "vat_number", "tax_number",
    "way", "language", "notes",
)  # fmt: skip

MOST_NOTES = 4000
MOST_KEY = 250
LATEST = 8


def name_key(name: str) -> str:
    """The name as it is looked up and put in order."""
    return fold(name)[:MOST_KEY]


class ClientQuerySet(models.QuerySet["Client"]):
    def present(self) -> "ClientQuerySet":
        """Clients that were neither merged into another entry nor erased."""
        return self.filter(merged_into=None, erased_at=None)


class GoneError(Exception):
    """The entry was merged into another or erased meanwhile."""


class Client(models.Model):
    """One person or household. Look-up keys are derived from what was typed at each save."""

    class Way(models.TextChoices):
        CALL = "call", "Call"
        TEXT = "text", "Text message"
        EMAIL = "email", "E-mail"

    name = models.CharField(max_length=200)
    phone = models.CharField(max_length=40, blank=True)
    email = models.EmailField("e-mail", blank=True)
    street = models.CharField(max_length=200, blank=True)
    postcode = models.CharField(max_length=20, blank=True)
    city = models.CharField("town", max_length=100, blank=True)
    country = models.CharField(max_length=2, blank=True)
    vat_number = models.CharField("VAT number", max_length=40, blank=True)
    tax_number = models.CharField(max_length=40, blank=True)
    way = models.CharField("preferred way", max_length=5, choices=Way, default=Way.CALL)
    language = models.CharField("language of papers", max_length=MOST_CODE, blank=True)
    notes = models.TextField(blank=True, max_length=MOST_NOTES)
    created_at = models.DateTimeField(auto_now_add=True)
    merged_into = models.ForeignKey(
        "self", models.PROTECT, null=True, blank=True, related_name="merged"
    )
    erased_at = models.DateTimeField(null=True, blank=True)
    # By this the client stays erased when a copy of an earlier day is brought back.
    erasure_key = models.UUIDField(unique=True, default=uuid4, editable=False)
    name_key = models.CharField(max_length=MOST_KEY, db_index=True, editable=False)
    phone_digits = models.CharField(max_length=40, db_index=True, editable=False)
    phone_last4 = models.CharField(max_length=4, db_index=True, editable=False)

    objects = ClientQuerySet.as_manager()

    class Meta:
        ordering = ["name_key", "pk"]

    def __str__(self) -> str:
        return self.name

    def save(self, *args: Any, **kwargs: Any) -> None:
        self.fill_keys()
        if fields := kwargs.get("update_fields"):
            kwargs["update_fields"] = {*fields, "name_key", "phone_digits", "phone_last4"}
        super().save(*args, **kwargs)

    def locked(self) -> "Client":
        """The client read again and locked until the transaction ends. Raises GoneError."""
        client = Client.objects.select_for_update().get(pk=self.pk)
        if client.merged_into_id or client.erased_at:
            raise GoneError("This client's entry is no longer in use. Choose the client again.")
        return client

    def fill_keys(self) -> None:
        """Derive what the client is looked up by; ``bulk_create`` does not do it by itself."""
        self.name_key = name_key(self.name)
        self.phone_digits = digits(self.phone)
        self.phone_last4 = self.phone_digits[-4:]

    @property
    def address_lines(self) -> list[str]:
        place = f"{self.postcode} {self.city}".strip()
        return [line for line in (self.street, place) if line]

    @property
    def country_name(self) -> str:
        return countries().get(self.country, self.country)

    @property
    def language_name(self) -> str:
        return language_name(self.language) if self.language else ""

    @property
    def dialled(self) -> str:
        """The number for a ``tel:`` or ``sms:`` link; empty if there is none."""
        return dial(self.phone)

    def contact_links(self, text: str = "", subject: str = "") -> list[ContactLink]:
        """Links to call, text and mail, the liked one first; those without a number are left out.

        The text goes into ``sms:`` as RFC 5724 has it and into ``mailto:`` as RFC 6068 has it.
        """
        links = []
        if self.dialled:
            body = f"?body={quote(text)}" if text else ""
            links += [
                (self.Way.CALL, f"Call {self.phone}", f"tel:{self.dialled}"),
                (self.Way.TEXT, "Text", f"sms:{self.dialled}{body}"),
            ]
        if self.email:
            mail = f"mailto:{quote(self.email, safe='@')}"
            if text:
                mail += f"?subject={quote(subject)}&body={quote(text)}"
            links.append((self.Way.EMAIL, "E-mail", mail))
        rows = [ContactLink(words, href, way == self.way) for way, words, href in links]
        return sorted(rows, key=lambda row: not row.liked)

    @property
    def last_merge(self) -> Entry | None:
        """The latest merge into this entry that has not been undone."""
        return history.of(self).filter(verb="client.merge", undone_at=None).first()

    @property
    def latest_entries(self) -> list[Entry]:
        """The latest of what was done to this entry and its sheets."""
        return list(history.of(self)[:LATEST])


def length_field(
    name: str | None = None, *, optional: bool = False
) -> "models.DecimalField[Any, Any]":
    """Millimetres with four decimals, so that every sixteenth of an inch survives."""
    return models.DecimalField(name, max_digits=9, decimal_places=4, null=optional, blank=optional)


class Sheet(models.Model):
    """Measures of one client on one day. A correction of the same day replaces no other day."""

    class WaistAt(models.TextChoices):
        NATURAL = "natural", "Where a belt settles"
        MIDWAY = "midway", "Halfway between lowest rib and hip bone"
        WORN = "worn", "Where the garment is worn"

    class FrontFrom(models.TextChoices):
        NECK_SIDE = "neck_side", "From the side of the neck"
        NAPE = "nape", "From the nape, round the neck"

    client = models.ForeignKey(Client, models.PROTECT, related_name="sheets")
    taken_on = models.DateField()
    taken_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    worn = models.CharField("worn while measuring", max_length=200, blank=True)
    heel_mm = length_field("heel height", optional=True)
    heel_typed = models.CharField(max_length=20, blank=True)
    waist_at = models.CharField("waist taken", max_length=8, choices=WaistAt, blank=True)
    front_from = models.CharField("front length taken", max_length=9, choices=FrontFrom, blank=True)
    consent_on = models.DateField("agreed to keep these measures on")
    minor = models.BooleanField("a minor", default=False)
    guardian = models.CharField("parent or guardian who agreed", max_length=120, blank=True)
    note = models.TextField(blank=True, max_length=1000)
    sensitive = models.BooleanField("the note speaks of health", default=False)
    form_key = models.UUIDField(unique=True, default=uuid4, editable=False)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["client", "-taken_on", "-pk"]

    def __str__(self) -> str:
        return f"{self.client}, {self.taken_on}"

    def get_absolute_url(self) -> str:
        return reverse("sheet", args=[self.pk])


class Measured(models.Model):
    """One measure of a sheet. ``key`` is one of ``clients.fit.measures``."""

    class Side(models.TextChoices):
        BOTH = "", "Both alike"
        LEFT = "left", "Left"
        RIGHT = "right", "Right"

    sheet = models.ForeignKey(Sheet, models.CASCADE, related_name="values")
    key = models.CharField(max_length=20)
    side = models.CharField(max_length=5, choices=Side, blank=True)
    mm = length_field()
    typed = models.CharField(max_length=20)
    unit = models.CharField(max_length=2)

    class Meta:
        ordering = ["sheet", "pk"]
        constraints = [
            models.UniqueConstraint("sheet", "key", "side", name="one_value_per_measure_and_side")
        ]

    def __str__(self) -> str:
        return f"{self.key} {self.side} {self.typed}".replace("  ", " ")


class MeasureRange(models.Model):
    """The owner's own range of a measure; outside it the page asks whether that is right."""

    key = models.CharField(max_length=20, unique=True)
    low_mm = length_field()
    high_mm = length_field()

    def __str__(self) -> str:
        return f"{self.key} {self.low_mm} to {self.high_mm} mm"
