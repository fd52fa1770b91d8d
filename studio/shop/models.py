"""What every room may read: who works here, the studio's profile, taxes, the working week."""

from calendar import day_name
from datetime import date, datetime, time
from decimal import Decimal
from typing import TypedDict

from django.contrib.auth.models import AbstractUser
from django.core.serializers.json import DjangoJSONEncoder
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models

from studio.shop.locales import locale_name
from studio.shop.may import Tick, held, usual_ticks
from studio.shop.money import plain_percent

MOST_CODE = 20  # letters of a language's code, such as zh-Hant-TW


class User(AbstractUser):
    """A login. The owner sees everything; a helper sees and does what is ticked; see ``may``."""

    class Role(models.TextChoices):
        OWNER = "owner", "Owner"
        HELPER = "helper", "Helper"

    role = models.CharField(max_length=10, choices=Role, default=Role.OWNER)
    # The names of a helper's ticks; an owner needs none.
    ticks = models.JSONField("ticks", default=usual_ticks)

    @property
    def is_owner(self) -> bool:
        return self.role == self.Role.OWNER

    @property
    def ticks_held(self) -> frozenset[str]:
        return held(self.ticks, owner=self.is_owner)

    def may(self, tick: Tick) -> bool:
        return tick.value in self.ticks_held

    @property
    def shown_name(self) -> str:
        return self.get_full_name() or self.username


class TaxError(ValueError):
    """The studio charges tax, but its settings do not say which rate."""


class TaxFacts(TypedDict):
    """What a ticket's line copies and keeps of a tax.

    ``percent`` is a plain decimal as text, such as ``"13.5"``; ``"0"`` when exempt.
    """

    name: str
    percent: str
    exempt: bool
    sentence: str


MOST_PLACES = 12
LONGEST_PLACE = 40


def usual_places() -> str:
    """Where garments hang in a new studio, one a line."""
    return "rail 1\nrail 2\nshelf\nbox"


class Profile(models.Model):
    """The one studio. There is one row, with primary key 1, made by the first run."""

    class Unit(models.TextChoices):
        CM = "cm", "Centimetres"
        INCH = "in", "Inches"

    class Paper(models.TextChoices):
        A4 = "A4", "A4"
        LETTER = "Letter", "US Letter"
        A5 = "A5", "A5"

    class ClaimPaper(models.TextChoices):
        SHEET = "sheet", "On the sheet, with the studio's part"
        ROLL = "roll", "Client's part on an 80 mm roll"

    class TagPaper(models.TextChoices):
        A6 = "A6", "A6 card"
        A7 = "A7", "A7 card"

    class TaxMode(models.TextChoices):
        NONE = "none", "No tax"
        ADDED = "added", "Added to the price"
        INCLUDED = "included", "Included in the price"

    name = models.CharField("studio name", max_length=120)
    street = models.CharField(max_length=200)
    postcode = models.CharField(max_length=20, blank=True)
    city = models.CharField("town", max_length=100)
    region = models.CharField("county or state", max_length=100, blank=True)
    country = models.CharField(max_length=2)
    phone = models.CharField(max_length=40, blank=True)
    email = models.EmailField("e-mail", blank=True)
    language = models.CharField(max_length=10, default="en", choices=[("en", "English")])
    time_zone = models.CharField(max_length=64)
    currency = models.CharField(max_length=3)
    unit = models.CharField("lengths in", max_length=2, choices=Unit, default=Unit.CM)
    # The sheet that is usual where the studio is. What lies in its printers is in ``printers``, see
    # ``paper.printers``; ``claim_paper`` and ``tag_paper`` were chosen before there were any.
    paper = models.CharField("sheet", max_length=6, choices=Paper, default=Paper.A4)
    printers = models.JSONField(default=list, blank=True)
    tag_surname = models.BooleanField("surname on garment tags", default=False)
    claim_paper = models.CharField(
        "claim ticket", max_length=5, choices=ClaimPaper, default=ClaimPaper.SHEET
    )
    tag_paper = models.CharField("garment tag", max_length=2, choices=TagPaper, default=TagPaper.A6)
    tax_mode = models.CharField("tax", max_length=8, choices=TaxMode, default=TaxMode.NONE)
    tax_number = models.CharField("local tax number", max_length=40, blank=True)
    legal_name = models.CharField(max_length=200, blank=True)
    vat_number = models.CharField("VAT number", max_length=40, blank=True)
    simplified_limit = models.BigIntegerField(
        "simplified invoices up to", null=True, blank=True, validators=[MinValueValidator(0)]
    )
    invoice_words = models.TextField("the studio's own words", blank=True, max_length=500)
    iban = models.CharField("bank account (IBAN)", max_length=42, blank=True)
    bic = models.CharField("bank (BIC)", max_length=11, blank=True)
    cash_accounting = models.BooleanField(
        "print “Cash accounting”: tax is due when the client pays", default=False
    )
    electronic = models.BooleanField("electronic invoices (EN 16931)", default=False)
    deposit_tax = models.BooleanField("receipts of deposits show their tax", default=False)
    worn_tax = models.ForeignKey(
        "TaxClass", models.PROTECT, null=True, blank=True, related_name="+",
        verbose_name="tax on worn garments",
    )  # fmt: skip
    new_tax = models.ForeignKey(
        "TaxClass", models.PROTECT, null=True, blank=True, related_name="+",
        verbose_name="tax on new garments",
    )  # fmt: skip
    lead_days = models.PositiveSmallIntegerField(
        "usual lead time in days", default=7, validators=[MaxValueValidator(365)]
    )
    promise_time = models.TimeField("ready by", default=time(17, 0))
    terms = models.TextField("terms on the claim ticket", blank=True, max_length=2000)
    invoice_sentence = models.TextField(
        "sentence the law asks on invoices", blank=True, max_length=1000
    )
    pay_days = models.PositiveSmallIntegerField("days to pay", default=14)
    places = models.TextField(
        "places where garments hang", blank=True, max_length=800, default=usual_places
    )
    # The places that were chosen last, the latest first; a memory, and no setting.
    places_used = models.JSONField(default=list, blank=True)
    steps_away = models.BooleanField("first steps put away", default=False)
    # Where the pages of clients are found from outside; empty while there are none.
    page_address = models.CharField("public address", max_length=200, blank=True)
    page_days = models.PositiveSmallIntegerField(
        "days the page stays after collection", default=14, validators=[MaxValueValidator(365)]
    )
    # What is done about garments that are not collected: dicts of ``days`` and ``how``.
    collect_steps = models.JSONField(default=list, blank=True)
    # Whether the owner has words of their own for English messages, so that they are asked for.
    own_english = models.BooleanField(default=False, editable=False)
    winter_begins = models.PositiveSmallIntegerField(
        "winter begins in month", default=1,
        validators=[MinValueValidator(1), MaxValueValidator(12)],
    )  # fmt: skip

    def __str__(self) -> str:
        return self.name

    def tax_for(self, wear: str, day: date) -> TaxFacts | None:
        """The tax on work on a worn or a new garment, on a day. None where none is charged.

        Raises TaxError when no class is chosen for such garments or none of its rates holds then.
        """
        if self.tax_mode == self.TaxMode.NONE:
            return None
        tax_class = self.new_tax if wear == "new" else self.worn_tax
        if tax_class is None:
            raise TaxError(f"Choose the tax on {wear} garments under Studio, Taxes.")
        percent = tax_class.rate_on(day)
        if percent is None:
            raise TaxError(
                f"No rate of the tax “{tax_class.name}” holds on {day:%d %b %Y}. "
                "Add one under Studio, Taxes."
            )
        return {
            "name": tax_class.name,
            "percent": plain_percent(percent),
            "exempt": tax_class.exempt,
            "sentence": tax_class.sentence,
        }

    @property
    def locale(self) -> str:
        """Babel's name of the locale that numbers and dates follow, such as ``en_IE``."""
        return locale_name(self.language, self.country)

    @property
    def language_tag(self) -> str:
        """The BCP 47 tag for pages and papers, such as ``en-IE``."""
        return f"{self.language}-{self.country}"

    @property
    def listed_places(self) -> list[str]:
        """Where garments hang, in the owner's order."""
        return [line.strip() for line in self.places.splitlines() if line.strip()]

    @property
    def usual_places(self) -> list[str]:
        """The places to choose from, those used last first; then what is on no list."""
        listed, used = self.listed_places, self.places_used
        in_order = [*(place for place in used if place in listed), *listed, *used]
        return list(dict.fromkeys(in_order))[:MOST_PLACES]

    @property
    def address_lines(self) -> list[str]:
        place = f"{self.postcode} {self.city}".strip()
        return [line for line in (self.street, place, self.region) if line]

    newest_entry: datetime | None = None
    """When the latest entry of the history was made, if ``load`` gave the row."""

    @classmethod
    def load(cls) -> "Profile | None":
        newest = models.Subquery(Entry.objects.order_by("-pk").values("at")[:1])
        row = cls.objects.select_related("worn_tax", "new_tax").filter(pk=1)
        # Every page asks this, and ``first`` would put the one row in order, which takes a fifth.
        return next(iter(row.annotate(newest_entry=newest)), None)


class TaxClass(models.Model):
    """A kind of tax the owner names, such as *standard*, *repairs*, *exempt*."""

    name = models.CharField(max_length=60, unique=True)
    exempt = models.BooleanField(default=False)
    sentence = models.CharField("sentence printed when exempt", max_length=300, blank=True)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name

    def rate_on(self, day: date) -> Decimal | None:
        """The percentage on that day; None when none holds yet, 0 when it is exempt."""
        if self.exempt:
            return Decimal(0)
        rates = self.rates.filter(valid_from__lte=day).order_by("-valid_from")
        return rates.values_list("percent", flat=True).first()


class TaxRate(models.Model):
    """The percentage of a tax class from a day on, until a later rate takes over."""

    tax_class = models.ForeignKey(TaxClass, models.CASCADE, related_name="rates")
    percent = models.DecimalField(
        max_digits=6, decimal_places=3,
        validators=[MinValueValidator(0), MaxValueValidator(100)],
    )  # fmt: skip
    valid_from = models.DateField(default=date(2000, 1, 1))

    class Meta:
        ordering = ["tax_class__name", "-valid_from"]
        constraints = [
            models.UniqueConstraint("tax_class", "valid_from", name="one_rate_per_class_and_day")
        ]

    def __str__(self) -> str:
        return f"{self.tax_class} {self.percent} % from {self.valid_from}"


class WorkingDay(models.Model):
    """One weekday of the usual week: when the bench opens and how many minutes it has."""

    weekday = models.PositiveSmallIntegerField(unique=True, validators=[MaxValueValidator(6)])
    starts = models.TimeField(default=time(9, 0))
    minutes = models.PositiveSmallIntegerField(default=0, validators=[MaxValueValidator(1440)])

    class Meta:
        ordering = ["weekday"]

    def __str__(self) -> str:
        return f"{self.weekday}: {self.minutes} min from {self.starts}"

    @property
    def name(self) -> str:
        return day_name[self.weekday]


class DayOff(models.Model):
    """A day on which the studio is closed."""

    day = models.DateField(unique=True)
    reason = models.CharField(max_length=100, blank=True)

    class Meta:
        ordering = ["day"]
        verbose_name_plural = "days off"

    def __str__(self) -> str:
        return f"{self.day} {self.reason}".strip()


class NumberSeries(models.Model):
    """The last number given in a series without gaps; see ``studio.shop.numbers``."""

    key = models.CharField(max_length=40, unique=True)
    last = models.PositiveBigIntegerField(default=0)

    class Meta:
        verbose_name_plural = "number series"

    def __str__(self) -> str:
        return f"{self.key}: {self.last}"


class StoredPaper(models.Model):
    """A PDF that was issued. It is kept as a file and never rendered again."""

    name = models.CharField(max_length=120)
    file = models.FileField(upload_to="papers/%Y/%m")
    sha256 = models.CharField(max_length=64)
    stored_at = models.DateTimeField(auto_now_add=True)

    def __str__(self) -> str:
        return self.name


class LoginBucket(models.Model):
    """How far one key's tries to log in have run ahead; see ``studio.shop.doors.throttle``.

    ``unjudged_ms`` is the part of it that belongs to tries of which nobody knows yet whether they
    are right, in milliseconds: a number that each database keeps and adds up alike.
    """

    key = models.CharField(max_length=64, unique=True)
    rested_at = models.DateTimeField(db_index=True)
    unjudged_ms = models.BigIntegerField(default=0)

    def __str__(self) -> str:
        return f"rested at {self.rested_at}"


class CodeApp(models.Model):
    """The app of one login that tells six digits; see ``studio.shop.doors.second``.

    ``secret`` is locked. ``last_step`` is the half minute of the last code that was taken;
    ``off_by`` by how many of them the phone was ahead of this computer when it last told one.
    """

    user = models.OneToOneField(User, models.CASCADE, related_name="code_app")
    secret = models.CharField(max_length=300)
    last_step = models.BigIntegerField(default=0)
    off_by = models.SmallIntegerField(default=0)
    added_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"code app of {self.user_id}"


class Passkey(models.Model):
    """What a phone, a computer or a stick keeps for one login; ``studio.shop.doors.passkeys``.

    ``handle`` and ``credential`` are what the browser gave, in base64url: the key's id, and its
    public half as WebAuthn writes it. It works under the name of the studio's ``host`` alone.
    """

    user = models.ForeignKey(User, models.CASCADE, related_name="passkeys")
    name = models.CharField(max_length=60)
    host = models.CharField(max_length=253)
    handle = models.CharField(max_length=1400, unique=True)
    credential = models.TextField()
    counter = models.BigIntegerField(default=0)
    added_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return self.name


class RecoveryCode(models.Model):
    """A code on paper that opens once, kept as its digest; see ``studio.shop.doors.second``."""

    user = models.ForeignKey(User, models.CASCADE, related_name="recovery_codes")
    digest = models.CharField(max_length=64)
    used_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint("user", "digest", name="one_recovery_code_of_a_kind")
        ]

    def __str__(self) -> str:
        return f"recovery code of {self.user_id}"


class SentForm(models.Model):
    """A form that was saved: the digest of what was sent; see ``studio.shop.once``.

    ``rows`` are the keys of what became of its parts, by their place on the form.
    """

    key = models.UUIDField(unique=True)
    digest = models.CharField(max_length=64)
    rows = models.JSONField(default=dict)

    def __str__(self) -> str:
        return f"form {self.key}"


class PaperLanguage(models.Model):
    """A language of papers that the owner added, or of which they have checked the words."""

    code = models.CharField(max_length=MOST_CODE, unique=True)
    checked_on = models.DateField(null=True)

    class Meta:
        ordering = ["code"]

    def __str__(self) -> str:
        return self.code


class PaperPhrase(models.Model):
    """The owner's own words for a phrase of a client's papers; see ``studio.shop.words``.

    ``code`` is the language's, ``phrase`` its English text; ``form`` is CLDR's plural form, *other*
    where nothing counts.
    """

    code = models.CharField(max_length=MOST_CODE)
    phrase = models.CharField(max_length=200)
    form = models.CharField(max_length=5)
    text = models.TextField()

    class Meta:
        ordering = ["code", "pk"]
        constraints = [
            models.UniqueConstraint("code", "phrase", "form", name="one_text_per_phrase")
        ]

    def __str__(self) -> str:
        return self.text


class Entry(models.Model):
    """One entry of the history: a verb with parameters, and what it changed; see ``shop.history``.

    ``parameters`` are what the page makes its sentence of. ``changes`` are rows, each with the old
    and the new value of the fields that changed. Nobody has done what the program did itself.
    """

    at = models.DateTimeField()
    by = models.ForeignKey(User, models.PROTECT, null=True, related_name="+")
    verb = models.CharField(max_length=60)
    parameters = models.JSONField(default=dict, encoder=DjangoJSONEncoder)
    changes = models.JSONField(default=list)
    money = models.BooleanField("speaks of money", default=False)
    undone_at = models.DateTimeField(null=True)
    undone_by = models.ForeignKey(User, models.PROTECT, null=True, related_name="+")
    undoes = models.OneToOneField("self", models.PROTECT, null=True, related_name="undone_as")

    class Meta:
        ordering = ["-pk"]
        verbose_name_plural = "entries"

    def __str__(self) -> str:
        return f"{self.verb} at {self.at:%Y-%m-%d %H:%M}"


class EntrySubject(models.Model):
    """On whose page an entry is read: a row and the label of its model, ``tickets.ticket``."""

    entry = models.ForeignKey(Entry, models.CASCADE, related_name="subjects")
    label = models.CharField(max_length=100)
    row = models.BigIntegerField()

    class Meta:
        indexes = [models.Index(fields=["label", "row"], name="history_of_a_row")]

    def __str__(self) -> str:
        return f"{self.label} {self.row}"
