"""The room's tables: clients, and their bodies' measures."""

from dataclasses import asdict, dataclass
from typing import Any
from urllib.parse import quote
from uuid import uuid4

from django.conf import settings
from django.db import models
from django.urls import reverse

from clients.contact import ContactLink, dial
from clients.fit.measures import ANY, MEASURES, BodyMeasure, Range
from clients.fit.pieces import PieceMeasure
from studio.shop import history
from studio.shop.models import MOST_CODE, Entry
from studio.shop.territory import countries
from studio.shop.text import digits, fold
from studio.shop.words import language_name

# What is known of a client, in the order in which it is asked and written.
FACTS = (
    "name", "who", "legal_name", "contact_person", "phone", "phone_label", "email",
    "email_label", "street", "postcode", "city", "country", "address_label", "vat_number",
    "tax_number", "way", "language", "notes",
)  # fmt: skip
PLACE = ("street", "postcode", "city", "country")
# Whose the first phone, e-mail and address are goes with them.
LABELS = {"phone_label": "phone", "email_label": "email", "address_label": "street"}
MOST_LABEL = 40

MOST_NOTES = 4000
MOST_KEY = 250
LATEST = 8
OWN = "own-"  # begins the key of a measure of the owner's own


def name_key(name: str) -> str:
    """The name as it is looked up and put in order."""
    return fold(name)[:MOST_KEY]


def reach_key(*parts: str) -> str:
    """An e-mail or a place as it is looked up, with a blank before each word."""
    return f" {fold(' '.join(parts).replace(',', ' '))}"[:MOST_KEY] if any(parts) else ""


class ClientQuerySet(models.QuerySet["Client"]):
    def present(self) -> "ClientQuerySet":
        """Clients that were neither merged into another entry nor erased."""
        return self.filter(merged_into=None, erased_at=None)


@dataclass(frozen=True)
class ContactFacts:
    """A phone, e-mail or address before it is saved: what a ``Contact`` holds, as text.

    ``kind`` is ``phone``, ``email`` or ``address``; ``country`` an ISO 3166 code.
    """

    kind: str
    label: str = ""
    value: str = ""
    street: str = ""
    postcode: str = ""
    city: str = ""
    country: str = ""

    @property
    def place(self) -> tuple[str, ...]:
        return (self.street, self.postcode, self.city, self.country)

    @property
    def same_as(self) -> tuple[str, ...]:
        """What two that are one have in common, however they are written and called."""
        number = digits(self.value) if self.kind == "phone" else fold(self.value)
        return (self.kind, number, *(fold(part) for part in self.place))


class GoneError(Exception):
    """The entry was merged into another or erased meanwhile."""


class Address(models.Model):
    """The columns of an address."""

    street = models.CharField(max_length=200, blank=True)
    postcode = models.CharField(max_length=20, blank=True)
    city = models.CharField("town", max_length=100, blank=True)
    country = models.CharField(max_length=2, blank=True)

    class Meta:
        abstract = True

    @property
    def address_lines(self) -> list[str]:
        place = f"{self.postcode} {self.city}".strip()
        return [line for line in (self.street, place) if line]

    @property
    def country_name(self) -> str:
        return countries().get(self.country, self.country)


DERIVED = ("name_key", "phone_digits", "phone_last4", "reach_key")


class Client(Address):
    """One person or company. Look-up keys are derived from what was typed at each save.

    The phone, e-mail and address of these columns are the first, which papers use; more of each
    are the client's ``contacts``. ``household`` is who pays or answers for this client; all who
    have the same one are a household, a company's people among them.
    """

    class Way(models.TextChoices):
        CALL = "call", "Call"
        TEXT = "text", "Text message"
        EMAIL = "email", "E-mail"
        ONLY = "only", "Call only"

    class Who(models.TextChoices):
        PERSON = "", "A person"
        COMPANY = "company", "A company"

    name = models.CharField(max_length=200)
    who = models.CharField("person or company", max_length=7, choices=Who, blank=True)
    legal_name = models.CharField("name on invoices", max_length=200, blank=True)
    contact_person = models.CharField(max_length=120, blank=True)
    phone = models.CharField(max_length=40, blank=True)
    phone_label = models.CharField("whose phone", max_length=MOST_LABEL, blank=True)
    email_label = models.CharField("whose e-mail", max_length=MOST_LABEL, blank=True)
    address_label = models.CharField("whose address", max_length=MOST_LABEL, blank=True)
    household = models.ForeignKey(
        "self", models.PROTECT, null=True, blank=True, related_name="household_members"
    )
    email = models.EmailField("e-mail", blank=True)
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
    reach_key = models.CharField(max_length=MOST_KEY, default="", editable=False)

    objects = ClientQuerySet.as_manager()

    class Meta:
        ordering = ["name_key", "pk"]

    def __str__(self) -> str:
        return self.name

    def save(self, *args: Any, **kwargs: Any) -> None:
        self.fill_keys()
        if fields := kwargs.get("update_fields"):
            kwargs["update_fields"] = {*fields, *DERIVED}
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
        self.reach_key = reach_key(self.email, self.street, self.postcode, self.city)

    @property
    def is_company(self) -> bool:
        return self.who == self.Who.COMPANY

    @property
    def phones(self) -> "list[Contact]":
        """Every number with its label, the first first. A query, unless ``contacts`` are here."""
        return self._reached(Contact.Kind.PHONE)

    @property
    def emails(self) -> "list[Contact]":
        return self._reached(Contact.Kind.EMAIL)

    @property
    def addresses(self) -> "list[Contact]":
        return self._reached(Contact.Kind.ADDRESS)

    def _reached(self, kind: str) -> "list[Contact]":
        more = [contact for contact in self.contacts.all() if contact.kind == kind]
        first = self.first(kind)
        return [first, *more] if first.is_filled else more

    def first(self, kind: str) -> "Contact":
        """The client's own columns of this kind, as a contact that is not saved."""
        if kind == Contact.Kind.ADDRESS:
            place = {name: getattr(self, name) for name in PLACE}
            return Contact(client=self, kind=kind, label=self.address_label, **place)
        value, label = getattr(self, kind), getattr(self, f"{kind}_label")
        return Contact(client=self, kind=kind, label=label, value=value)

    @property
    def language_name(self) -> str:
        return language_name(self.language) if self.language else ""

    @property
    def dialled(self) -> str:
        """The number for a ``tel:`` or ``sms:`` link; empty if there is none."""
        return dial(self.phone)

    @property
    def may_be_written_to(self) -> bool:
        return self.way != self.Way.ONLY

    def contact_links(
        self, text: str = "", subject: str = "", to: "Contact | None" = None
    ) -> list[ContactLink]:
        """Links to call, text and mail, the liked one first; those without a number are left out,
        and where the client does not want to be written to, all but the call.

        The text goes into ``sms:`` as RFC 5724 has it and into ``mailto:`` as RFC 6068 has it.
        They lead to the client's first phone and e-mail, or to the one contact that is given.
        """
        links = []
        phone = to or self.first(Contact.Kind.PHONE)
        email = to or self.first(Contact.Kind.EMAIL)
        if phone.dialled:
            body = f"?body={quote(text)}" if text else ""
            links += [
                (self.Way.CALL, f"Call {phone.value}", f"tel:{phone.dialled}"),
                (self.Way.TEXT, "Text", f"sms:{phone.dialled}{body}"),
            ]
        if email.kind == Contact.Kind.EMAIL and email.value:
            mail = f"mailto:{quote(email.value, safe='@')}"
            if text:
                mail += f"?subject={quote(subject)}&body={quote(text)}"
            links.append((self.Way.EMAIL, "E-mail", mail))
        if not self.may_be_written_to:
            links = [link for link in links if link[0] == self.Way.CALL]
        liked = self.way if self.may_be_written_to else self.Way.CALL
        rows = [ContactLink(words, href, way == liked) for way, words, href in links]
        return sorted(rows, key=lambda row: not row.liked)

    @property
    def last_merge(self) -> Entry | None:
        """The latest merge into this entry that has not been undone."""
        return history.of(self).filter(verb="client.merge", undone_at=None).first()

    @property
    def latest_entries(self) -> list[Entry]:
        """The latest of what was done to this entry and its sheets."""
        return list(history.of(self)[:LATEST])


class Contact(Address):
    """One more phone, e-mail or address of a client, and whose or where it is.

    A phone or an e-mail is in ``value``, an address in the columns of a place. ``label`` is what
    the owner calls it: home, mobile, work, her daughter. Rows are in the order of their keys.
    Rows are written by ``clients.actions`` from ``ContactFacts``.
    """

    class Kind(models.TextChoices):
        PHONE = "phone", "Phone"
        EMAIL = "email", "E-mail"
        ADDRESS = "address", "Address"

    client = models.ForeignKey(Client, models.CASCADE, related_name="contacts")
    kind = models.CharField(max_length=7, choices=Kind)
    label = models.CharField(max_length=MOST_LABEL, blank=True)
    value = models.CharField(max_length=254, blank=True)
    digits = models.CharField(max_length=40, db_index=True, editable=False)
    last4 = models.CharField(max_length=4, db_index=True, editable=False)
    reach_key = models.CharField(max_length=MOST_KEY, editable=False)

    class Meta:
        ordering = ["client", "pk"]

    def __str__(self) -> str:
        return self.value or ", ".join([*self.address_lines, self.country_name]).strip(", ")

    def save(self, *args: Any, **kwargs: Any) -> None:
        self.fill_keys()
        super().save(*args, **kwargs)

    def fill_keys(self) -> None:
        """Derive what it is looked up by; ``bulk_create`` does not do it by itself."""
        is_phone = self.kind == self.Kind.PHONE
        self.digits = digits(self.value)[:40] if is_phone else ""
        self.last4 = self.digits[-4:]
        written = "" if is_phone else self.value
        self.reach_key = reach_key(written, self.street, self.postcode, self.city)

    def hold(self, facts: ContactFacts) -> "Contact":
        """Become what ``facts`` say; not saved."""
        for name, value in asdict(facts).items():
            setattr(self, name, value)
        return self

    @property
    def facts(self) -> ContactFacts:
        return ContactFacts(self.kind, self.label, self.value, *(getattr(self, n) for n in PLACE))

    @property
    def is_filled(self) -> bool:
        return any((self.value, self.street, self.postcode, self.city, self.country))

    @property
    def dialled(self) -> str:
        """The number for a ``tel:`` or ``sms:`` link; empty if there is none."""
        return dial(self.value) if self.kind == self.Kind.PHONE else ""


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
    born = models.PositiveSmallIntegerField("year of birth", null=True, blank=True)
    guardian = models.CharField("parent or guardian who agreed", max_length=120, blank=True)
    note = models.TextField(blank=True, max_length=1000)
    sensitive = models.BooleanField("the note speaks of health", default=False)
    pregnant = models.BooleanField(default=False)
    week = models.PositiveSmallIntegerField("week of the pregnancy", null=True, blank=True)
    form_key = models.UUIDField(unique=True, default=uuid4, editable=False)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["client", "-taken_on", "-pk"]

    def __str__(self) -> str:
        return f"{self.client}, {self.taken_on}"

    def get_absolute_url(self) -> str:
        return reverse("sheet", args=[self.pk])


class OwnMeasure(models.Model):
    """A measure of the owner's own, beside those of ``clients.fit``: of the body, or of a garment
    that lies flat.

    One that a sheet has, or that a garment may have, is retired, never deleted. ``at`` is the
    measure of the list whose place on the figure it has; ``drawings`` are the garments, as they are
    drawn, that have it: none is every garment but curtains.
    """

    class Of(models.TextChoices):
        BODY = "body", "The body"
        GARMENT = "garment", "A garment, laid flat"

    class Kind(models.TextChoices):
        GIRTH = "girth", "Round it"
        LENGTH = "length", "Along or across"

    name = models.CharField(max_length=40)
    how = models.CharField("how it is taken", max_length=200)
    of = models.CharField("of what", max_length=7, choices=Of, default=Of.BODY)
    drawings = models.JSONField("garments that have it", default=list, blank=True)
    kind = models.CharField("which way", max_length=6, choices=Kind, default=Kind.LENGTH)
    sided = models.BooleanField("left and right may differ", default=False)
    low_mm = length_field("usually from", optional=True)
    high_mm = length_field("usually to", optional=True)
    at = models.CharField("where on the figure", max_length=20, blank=True)
    place = models.PositiveIntegerField(default=0, editable=False)
    retired_at = models.DateTimeField(null=True, blank=True, editable=False)

    class Meta:
        ordering = ["place", "pk"]

    def __str__(self) -> str:
        return self.name

    @property
    def key(self) -> str:
        return f"{OWN}{self.pk}"

    def as_measure(self) -> BodyMeasure:
        """As the fit sums know it, numbered after those of the list."""
        usual = ANY
        if self.low_mm is not None and self.high_mm is not None:
            usual = Range(self.low_mm, self.high_mm)
        return BodyMeasure(
            number=len(MEASURES) + self.pk, key=self.key, name=self.name, kind=self.kind,
            sided=self.sided, usual=False, sets=("own",), range=usual, definition="",
            landmark=self.how, how=self.how, source="", label="", own=True,
            at=self.at if self.at in MEASURES else "", retired=self.retired_at is not None,
        )  # fmt: skip

    def as_piece(self) -> PieceMeasure:
        """As a garment sheet knows it; round a garment that lies flat is half of the way."""
        return PieceMeasure(
            key=self.key, name=self.name, drawings=tuple(self.drawings),
            half=self.kind == self.Kind.GIRTH, place="", sided=self.sided, range=ANY, how=self.how,
        )  # fmt: skip


class MeasureSet(models.Model):
    """A set of the owner's own for a job: the keys of its measures, in the order of the tape."""

    name = models.CharField(max_length=40)
    keys = models.JSONField(default=list)

    class Meta:
        ordering = ["name", "pk"]

    def __str__(self) -> str:
        return self.name


class Measured(models.Model):
    """One measure of a sheet.

    ``key`` is one of ``clients.fit.measures``, or that of ``own``, one of the owner's.
    """

    class Side(models.TextChoices):
        BOTH = "", "Both alike"
        LEFT = "left", "Left"
        RIGHT = "right", "Right"

    sheet = models.ForeignKey(Sheet, models.CASCADE, related_name="values")
    key = models.CharField(max_length=20)
    own = models.ForeignKey(OwnMeasure, models.PROTECT, null=True, blank=True, related_name="+")
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


class ClientFile(models.Model):
    """A file of clients that was sent, kept with its rows until it is taken back or erased.

    ``headings`` are a table's own, as written, by the names that its rows call them; ``columns``
    what each is taken for. An address book has neither. Erased after ``KEPT_DAYS``.
    """

    class State(models.TextChoices):
        COLUMNS = "columns", "Columns to match"
        READING = "reading", "Being read"
        PEOPLE = "people", "To look at"
        TAKING = "taking", "Being taken"
        TAKEN = "taken", "Taken"
        UNDOING = "undoing", "Being undone"
        UNDONE = "undone", "Undone"

    name = models.CharField(max_length=200)
    state = models.CharField(max_length=7, choices=State)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()
    taken_at = models.DateTimeField(null=True)
    headings = models.JSONField(default=list)
    columns = models.JSONField(default=dict)
    left_out = models.TextField(blank=True)
    letters = models.CharField("letters, where they are a guess", max_length=40, blank=True)

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("clients-file", args=[self.pk])


class FileRow(models.Model):
    """One row of a ``ClientFile``: what it says, whom it is about, what became of it.

    ``cells`` are as they stand in the file, ``facts`` as they were checked. ``beside`` is the line
    of the same file with the same person. ``offers`` are what it would change of the client, see
    ``desk.matching.FactOffered``. The client's key is only remembered: the row holds nobody back.
    """

    class Kind(models.TextChoices):
        ALIKE = "alike", "Looks like somebody"
        CHANGED = "changed", "Changed"
        NEW = "new", "New"
        SAME = "same", "Here already"
        WRONG = "wrong", "Cannot be taken"

    class Ending(models.TextChoices):
        ADDED = "added", "Added"
        FILLED = "filled", "Changed"
        LEFT = "left", "Left out"

    file = models.ForeignKey(ClientFile, models.CASCADE, related_name="rows")
    line = models.PositiveIntegerField()
    cells = models.JSONField(default=dict)
    facts = models.JSONField(default=dict)
    problems = models.JSONField(default=list)
    remarks = models.JSONField(default=list)
    kind = models.CharField(max_length=7, choices=Kind, blank=True)
    name_key = models.CharField(max_length=MOST_KEY, blank=True)
    reach = models.JSONField(default=dict)
    client = models.ForeignKey(
        Client, models.DO_NOTHING, null=True, db_constraint=False, related_name="+"
    )
    beside = models.PositiveIntegerField(null=True)
    offers = models.JSONField(default=list)
    ticked = models.BooleanField(default=False)
    outcome = models.CharField(max_length=6, choices=Ending, blank=True)
    why = models.TextField(blank=True)
    entry = models.ForeignKey(Entry, models.SET_NULL, null=True, related_name="+")

    class Meta:
        ordering = ["file", "line"]
        indexes = [models.Index(fields=["file", "kind", "name_key"], name="rows_by_kind_and_name")]

    def __str__(self) -> str:
        return f"{self.file}, line {self.line}"
