"""Tickets: what was brought, what was agreed, and what has happened since."""

from itertools import product
from typing import Protocol
from uuid import uuid4

from django.conf import settings
from django.db import models
from django.urls import reverse

from clients.models import Client
from jobs.pricing.models import (
    Basis,
    FittingPlace,
    GarmentKind,
    Measure,
    Operation,
    WorkOrder,
    percent_field,
)
from studio.shop.locales import show_length
from studio.shop.models import StoredPaper
from studio.shop.words import Words


class Pinned(Protocol):
    """An amount, in total or each, finished or taken off: all three, or nothing."""

    amount_typed: str
    basis: str
    measure: str


def _around(measure: str, basis: str) -> tuple[str, str]:
    """What stands before an amount and after it."""
    return f"{Measure(measure).label.lower()} ", f", {Basis(basis).label.lower()}"


def amount_parts(pinned: Pinned) -> tuple[str, str, str]:
    """``take off ``, ``4.5 cm`` and ``, each side``; three times nothing when none was pinned."""
    if not pinned.amount_typed:
        return "", "", ""
    before, after = _around(pinned.measure, pinned.basis)
    return before, pinned.amount_typed, after


def describe_amount(pinned: Pinned) -> str:
    """``take off 4.5 cm, each side``; empty when nothing was pinned."""
    return "".join(amount_parts(pinned))


def amount_in(words: Words, described: str) -> str:
    """A pinned amount, as ``describe_amount`` made it, in a client's language.

    Agreements keep it in English. Only the amount itself is what somebody typed.
    """
    for measure, basis in product(Measure.values, Basis.values):
        before, after = _around(measure, basis)
        if described.startswith(before) and described.endswith(after):
            typed = described[len(before) : -len(after)]
            return words(f"{before}{{amount}}{after}", amount=show_length(typed, words.locale))
    return described


class State(models.TextChoices):
    RECEIVED = "received", "Received"
    IN_WORK = "in_work", "In work"
    READY = "ready", "Ready to collect"
    COLLECTED = "collected", "Collected"
    CANCELLED = "cancelled", "Cancelled"

    @classmethod
    def open(cls) -> list["State"]:
        """The states in which the garments are in the studio."""
        return [cls.RECEIVED, cls.IN_WORK, cls.READY]


class TicketQuerySet(models.QuerySet["Ticket"]):
    def open(self) -> "TicketQuerySet":
        return self.filter(state__in=State.open())

    def on_the_bench(self) -> "TicketQuerySet":
        return self.filter(state__in=[State.RECEIVED, State.IN_WORK])

    def whole(self) -> "TicketQuerySet":
        """With client, garments, lines and photographs, in four queries for any number."""
        return self.select_related("client").prefetch_related("garments__lines", "garments__photos")


class Ticket(models.Model):
    """One drop-off: one client, one promise date, one or more garments.

    Money is integer minor units of ``currency``. ``terms`` keeps the arithmetic's house rules as
    they stood (see ``jobs.tickets.quoting``); ``net``, ``tax``, ``gross`` and ``minutes`` are what
    the quote of the current version came to.
    """

    number = models.CharField(max_length=12, unique=True)
    client = models.ForeignKey(Client, models.PROTECT, related_name="tickets")
    state = models.CharField(max_length=10, choices=State, default=State.RECEIVED)
    received_at = models.DateTimeField()
    received_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    promise_at = models.DateTimeField()
    wanted_by = models.DateField(null=True, blank=True)
    event = models.CharField(max_length=120, blank=True)
    note = models.TextField(blank=True, max_length=4000)
    rush_percent = percent_field()
    discount_percent = percent_field()
    discount_amount = models.PositiveBigIntegerField(default=0)
    deposit = models.PositiveBigIntegerField("deposit asked", default=0)
    currency = models.CharField(max_length=3)
    terms = models.JSONField(default=dict)
    net = models.BigIntegerField(default=0)
    tax = models.BigIntegerField(default=0)
    gross = models.BigIntegerField(default=0)
    minutes = models.PositiveIntegerField(default=0)
    version = models.PositiveIntegerField(default=1)
    form_key = models.UUIDField(unique=True, default=uuid4, editable=False)
    started_at = models.DateTimeField(null=True, blank=True)
    ready_at = models.DateTimeField(null=True, blank=True, db_index=True)
    collected_at = models.DateTimeField(null=True, blank=True)
    cancelled_at = models.DateTimeField(null=True, blank=True)
    cancelled_why = models.CharField(max_length=200, blank=True)

    objects = TicketQuerySet.as_manager()

    class Meta:
        ordering = ["-received_at", "-pk"]
        indexes = [
            models.Index(fields=["received_at", "id"], name="tickets_by_receipt"),
            models.Index(fields=["promise_at", "id"], name="tickets_by_promise"),
            models.Index(fields=["state", "promise_at"], name="tickets_by_state"),
        ]

    def __str__(self) -> str:
        return self.number

    def get_absolute_url(self) -> str:
        return reverse("ticket", args=[self.number])

    @property
    def is_open(self) -> bool:
        return self.state in State.open()


class Pad(models.Model):
    """Paper tickets with numbers of the series, printed ahead for a day without power."""

    made_at = models.DateTimeField()
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    form_key = models.UUIDField(unique=True, default=uuid4, editable=False)

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return f"Pad {self.pk}"

    def get_absolute_url(self) -> str:
        return reverse("pad", args=[self.pk])


class PadNumberQuerySet(models.QuerySet["PadNumber"]):
    def open(self) -> "PadNumberQuerySet":
        """Neither typed in nor voided, the first first."""
        return self.filter(ticket=None, voided_at=None).order_by("pk")


class PadNumber(models.Model):
    """A ticket's number on a pad: open, typed in as its ``ticket``, or voided with a reason."""

    pad = models.ForeignKey(Pad, models.PROTECT, related_name="numbers")
    number = models.CharField(max_length=12, unique=True)
    ticket = models.OneToOneField(Ticket, models.PROTECT, null=True, related_name="from_pad")
    voided_at = models.DateTimeField(null=True, blank=True)
    voided_why = models.CharField(max_length=200, blank=True)

    objects = PadNumberQuerySet.as_manager()

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return self.number

    @property
    def is_open(self) -> bool:
        return self.ticket_id is None and self.voided_at is None


def garment_words(letter: str, kind: str, colour: str) -> str:
    """How lists and papers name a piece: ``A \N{MIDDLE DOT} evening dress, bottle green``."""
    small = kind[:1].lower() + kind[1:] if kind[1:2].islower() else kind
    words = ", ".join(part for part in (small, colour) if part)
    return " \N{MIDDLE DOT} ".join(part for part in (letter, words) if part)


class GarmentQuerySet(models.QuerySet["Garment"]):
    def here(self) -> "GarmentQuerySet":
        """What is physically in the studio, whatever became of its ticket."""
        return self.filter(removed_at=None, handed_over_at=None)


class Garment(models.Model):
    """One piece on a ticket, with its tag letter.

    ``heel_was`` and ``heel_changed_at`` tell of other shoes than those first noted, see ``heels``.
    ``cloth_ends`` says by place (a garment of the table of hem depths) how long it is ``now``,
    what is ``turned_up`` there, how high a turn-up or an original hem, how much ``shorter`` a
    lining and how wide a leg is, each as it was typed with its unit. ``measures`` has the lengths
    of this piece and of one that fits, by measure (see ``clients.fit.pieces``), as typed.
    """

    class Washed(models.TextChoices):
        UNKNOWN = "", "Not asked"
        YES = "yes", "Washed"
        NO = "no", "Not yet washed"

    class Worn(models.TextChoices):
        WORN = "worn", "Worn"
        NEW = "new", "New, never worn"

    class ClothKind(models.TextChoices):
        WOVEN = "woven", "Woven, plain"
        SUITING = "suiting", "Suiting, fine wool"
        DENIM = "denim", "Denim, heavy cotton"
        KNIT = "knit", "Knit"
        SHEER = "sheer", "Sheer"
        SATIN = "satin", "Satin, taffeta"
        VELVET = "velvet", "Velvet, pile"
        LEATHER = "leather", "Leather"
        FUR = "fur", "Fur"

    class Iron(models.TextChoices):
        NOT_ASKED = "", "No label read"
        NONE = "none", "Do not iron"
        ONE = "1", "One dot"
        TWO = "2", "Two dots"
        THREE = "3", "Three dots"

    ticket = models.ForeignKey(Ticket, models.PROTECT, related_name="garments")
    letter = models.CharField(max_length=3)
    kind = models.ForeignKey(GarmentKind, models.PROTECT, null=True, related_name="+")
    kind_name = models.CharField("garment", max_length=60)
    colour = models.CharField(max_length=60, blank=True)
    description = models.CharField(max_length=200, blank=True)
    condition = models.CharField("marks, holes, missing buttons", max_length=500, blank=True)
    washed = models.CharField(max_length=3, choices=Washed, blank=True)
    worn = models.CharField("new or worn", max_length=4, choices=Worn, default=Worn.WORN)
    things_left = models.CharField("left with it", max_length=200, blank=True)
    heel_mm = models.DecimalField(
        "heel height", max_digits=7, decimal_places=4, null=True, blank=True
    )
    heel_typed = models.CharField(max_length=20, blank=True)
    heel_was = models.CharField("heel height before", max_length=20, blank=True)
    heel_changed_at = models.DateTimeField(null=True, blank=True)
    shoes = models.CharField("shoes worn at the fitting", max_length=120, blank=True)
    underwear = models.CharField("underwear worn at the fitting", max_length=120, blank=True)
    cloth = models.CharField(max_length=8, choices=ClothKind, blank=True)
    fibre = models.CharField("fibres on the label", max_length=120, blank=True)
    iron = models.CharField("iron on the label", max_length=4, choices=Iron, blank=True)
    cloth_ends = models.JSONField("where the cloth ends", default=dict, blank=True)
    measures = models.JSONField("laid flat", default=dict, blank=True)
    hangs = models.CharField("where it hangs", max_length=40, blank=True)
    removed_at = models.DateTimeField(null=True, blank=True)
    tried_on = models.BooleanField(default=False)
    handed_over_at = models.DateTimeField(null=True, blank=True)

    objects = GarmentQuerySet.as_manager()

    class Meta:
        ordering = ["ticket", "pk"]
        constraints = [models.UniqueConstraint("ticket", "letter", name="one_letter_per_garment")]

    def __str__(self) -> str:
        return ", ".join(part for part in (self.kind_name, self.colour) if part)

    @property
    def words(self) -> str:
        """How it is named beside its letter."""
        return garment_words(self.letter, self.kind_name, self.colour)

    @property
    def tag(self) -> str:
        """The number on the tag, such as ``26-0143-B``."""
        return f"{self.ticket.number}-{self.letter}"


class Line(models.Model):
    """An operation on a garment with its price, minutes and amount frozen as agreed.

    ``surcharges`` and ``tax`` hold the frozen facts as plain data (see ``jobs.tickets.quoting``).
    ``amount_mm`` is the pinned amount in millimetres, ``amount_typed`` what the owner typed;
    ``measure_later`` says that it was agreed without, until an amount is given.
    """

    garment = models.ForeignKey(Garment, models.PROTECT, related_name="lines")
    operation = models.ForeignKey(Operation, models.PROTECT, null=True, related_name="+")
    name = models.CharField(max_length=80)
    unit_price = models.PositiveBigIntegerField()
    quantity = models.PositiveSmallIntegerField(default=1)
    minutes_each = models.PositiveIntegerField(default=0)
    surcharges = models.JSONField(default=list)
    tax = models.JSONField(null=True)
    amount_mm = models.DecimalField(max_digits=9, decimal_places=4, null=True, blank=True)
    amount_typed = models.CharField(max_length=20, blank=True)
    basis = models.CharField(max_length=5, choices=Basis, blank=True)
    measure = models.CharField(max_length=8, choices=Measure, blank=True)
    measure_later = models.BooleanField(default=False)
    note = models.CharField(max_length=200, blank=True)
    fitting_first = models.BooleanField(default=False)
    fitting_place = models.CharField(max_length=6, choices=FittingPlace, default=FittingPlace.AFTER)
    hang_days = models.PositiveSmallIntegerField(default=0)
    work_order = models.PositiveSmallIntegerField(choices=WorkOrder, default=WorkOrder.BODY)
    stitch = models.CharField(max_length=3, blank=True)
    removed_at = models.DateTimeField(null=True, blank=True)
    done_at = models.DateTimeField(null=True, blank=True)
    done_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, blank=True, related_name="+"
    )
    not_done_why = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["garment", "work_order", "pk"]

    def __str__(self) -> str:
        return self.name

    @property
    def amount_parts(self) -> tuple[str, str, str]:
        return amount_parts(self)

    @property
    def pinned(self) -> str:
        """The pinned amount in words, such as ``take off 4.5 cm, each side``."""
        return describe_amount(self) or ("not measured" if self.measure_later else "")

    @property
    def to_measure(self) -> bool:
        """Whether it is still to be done, and nobody has measured how far."""
        return self.measure_later and not (self.done_at or self.not_done_why)


class Agreement(models.Model):
    """What was agreed on one day: everything printed, copied. Never changed, only superseded.

    ``paper`` and ``press`` are a claim ticket, and one with the tags, that were stored before each
    paper had issues: see ``AgreementSheet``.
    """

    ticket = models.ForeignKey(Ticket, models.PROTECT, related_name="agreements")
    version = models.PositiveIntegerField()
    agreed_at = models.DateTimeField()
    agreed_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    reason = models.CharField(max_length=300, blank=True)
    delta = models.CharField("what changed", max_length=300, blank=True)
    data = models.JSONField()
    paper = models.OneToOneField(StoredPaper, models.PROTECT, null=True, related_name="+")
    press = models.OneToOneField(StoredPaper, models.PROTECT, null=True, related_name="+")

    class Meta:
        ordering = ["ticket", "version"]
        constraints = [
            models.UniqueConstraint("ticket", "version", name="one_agreement_per_version")
        ]

    def __str__(self) -> str:
        return f"{self.ticket} version {self.version}"


class AgreementSheet(models.Model):
    """One issue of a paper of an agreement: claim ticket, press or the agreement itself.

    ``state`` stands for which paper it is and what it tells apart from what was agreed: payments,
    fittings, and for the agreement its marks and initials.
    """

    agreement = models.ForeignKey(Agreement, models.PROTECT, related_name="sheets")
    state = models.CharField(max_length=64)
    paper = models.OneToOneField(StoredPaper, models.PROTECT, null=True, related_name="+")

    class Meta:
        ordering = ["agreement", "pk"]
        constraints = [models.UniqueConstraint("agreement", "state", name="one_sheet_per_state")]

    def __str__(self) -> str:
        return f"{self.agreement} on paper"


class Photo(models.Model):
    """A re-encoded photograph of a garment, private to the studio.

    Before its ticket is saved it belongs to the drop-off form by ``form_key`` alone.
    """

    garment = models.ForeignKey(Garment, models.PROTECT, null=True, related_name="photos")
    form_key = models.UUIDField(null=True, db_index=True)
    file = models.FileField(upload_to="photos/%Y/%m")
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    taken_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"Photograph {self.pk}"

    def get_absolute_url(self) -> str:
        return reverse("photo", args=[self.pk])


class FitSum(models.Model):
    """What a fit sum was asked and what it answered, kept with the garment.

    ``asked`` is the form as typed, ``answer`` the figures and sentences as they were shown.
    A hem keeps its edge in ``edge_mm`` and its ``layers``, from which minutes by size are learnt.
    """

    garment = models.ForeignKey(Garment, models.PROTECT, related_name="fit_sums")
    line = models.ForeignKey(Line, models.PROTECT, null=True, related_name="fit_sums")
    kind = models.CharField(max_length=12)
    asked = models.JSONField()
    answer = models.JSONField()
    edge_mm = models.DecimalField(max_digits=9, decimal_places=4, null=True)
    layers = models.PositiveSmallIntegerField(null=True)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    applied_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ["garment", "-pk"]

    def __str__(self) -> str:
        return f"{self.kind} for {self.garment}"


class CautionRead(models.Model):
    """A caution was shown for a garment, and somebody said that they had read it."""

    garment = models.ForeignKey(Garment, models.PROTECT, related_name="cautions_read")
    key = models.CharField(max_length=24)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint("garment", "key", name="one_reading_per_garment_and_caution")
        ]

    def __str__(self) -> str:
        return f"{self.key} for {self.garment}"


class Mark(models.Model):
    """A numbered spot on a photograph, in thousandths of its width and height, with its words.

    One that is removed keeps its row: its number may stand on paper and is not given again.
    """

    photo = models.ForeignKey(Photo, models.CASCADE, related_name="marks")
    across = models.PositiveSmallIntegerField()
    down = models.PositiveSmallIntegerField()
    words = models.CharField(max_length=120)
    at = models.DateTimeField()
    removed_at = models.DateTimeField(null=True, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    class Meta:
        ordering = ["photo", "pk"]

    def __str__(self) -> str:
        return self.words


class Initials(models.Model):
    """The client's initials under one agreement: drawn on the glass, or written on paper."""

    class Medium(models.TextChoices):
        GLASS = "glass", "On screen"
        PAPER = "paper", "On paper"

    agreement = models.OneToOneField(Agreement, models.PROTECT, related_name="initials")
    way = models.CharField(max_length=5, choices=Medium)
    letters = models.CharField("initials", max_length=8)
    file = models.FileField(upload_to="initials/%Y/%m", blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return f"{self.letters} under {self.agreement}"


class AskedChange(models.Model):
    """What a helper would change of what is agreed: a question that the owner answers.

    ``form`` is the page of the change as it was sent; where only another promise is asked for it is
    empty, and ``promise_at`` says which; where only the amount of a line is, ``pin`` does, with the
    words of what ``was`` agreed and the fit ``sum`` that it came from. ``delta`` tells what would
    change. It stays when it is ``accepted`` or not; nobody has answered what lapsed.
    """

    ticket = models.ForeignKey(Ticket, models.PROTECT, related_name="asked_changes")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    at = models.DateTimeField()
    delta = models.JSONField()
    form = models.TextField(blank=True)
    promise_at = models.DateTimeField(null=True)
    pin = models.JSONField(default=dict, blank=True)
    reason = models.CharField(max_length=300, blank=True)
    accepted = models.BooleanField(null=True)
    answered_at = models.DateTimeField(null=True)
    answered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+"
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["ticket"], condition=models.Q(accepted=None), name="one_question_a_ticket"
            )
        ]

    def __str__(self) -> str:
        return f"Asked of {self.ticket}"


class MessageKind(models.TextChoices):
    """What a message to a client is about."""

    RECEIVED = "received", "Received"
    FITTING = "fitting", "Fitting"
    MOVED = "moved", "New day"
    READY = "ready", "Ready to collect"
    REMINDER = "reminder", "Reminder of the fitting"
    NOT_COLLECTED = "waiting", "Not collected"


class SentMessage(models.Model):
    """What a client was told, or was to be told: ``wrong`` says why the program could not send it.

    ``about`` is the day, the fitting or the period that it speaks of: another one asks for another
    message. ``text`` is what was written, empty where that is not known.
    """

    class Way(models.TextChoices):
        TEXT = "text", "text message"
        EMAIL = "email", "e-mail"
        CALL = "call", "call"
        PAPER = "paper", "letter"
        OTHER = "other", "another way"

    ticket = models.ForeignKey(Ticket, models.PROTECT, related_name="messages")
    kind = models.CharField(max_length=8, choices=MessageKind)
    about = models.CharField(max_length=40, blank=True)
    way = models.CharField(max_length=5, choices=Way)
    text = models.TextField(blank=True, max_length=2000)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    wrong = models.CharField(max_length=300, blank=True)
    form_key = models.UUIDField(unique=True, default=uuid4, editable=False)

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}, {self.get_way_display()}"


class ClientPage(models.Model):
    """The page that a client may look at without a login; whoever has its ``key`` may.

    256 bits of chance. A page that was closed keeps it, so that closing can be undone; opened anew
    it gets another. None where one was closed before ``closed_at`` was kept.
    """

    ticket = models.OneToOneField(Ticket, models.PROTECT, related_name="client_page")
    key = models.CharField(max_length=64, unique=True, null=True)
    made_at = models.DateTimeField()
    closed_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return f"Client's page of {self.ticket}"

    @property
    def is_open(self) -> bool:
        return bool(self.key) and self.closed_at is None
