"""Invoices, credit notes, payments and counts of cash. None is ever edited or deleted."""

from datetime import date
from typing import Any, NoReturn
from uuid import uuid4

from django.conf import settings
from django.db import models
from django.urls import reverse

from jobs.tickets.models import Ticket
from studio.shop.models import StoredPaper


class KeptError(TypeError):
    """Somebody tried to delete or rewrite what bookkeeping keeps."""

    def __init__(self) -> None:
        super().__init__("Invoices, credit notes and payments are kept: credit or reverse instead.")


class KeptQuerySet(models.QuerySet[Any]):
    def delete(self) -> NoReturn:
        raise KeptError

    def update(self, **facts: Any) -> int:
        """Only the stored paper is ever added to a row."""
        if facts.keys() != {"paper"}:
            raise KeptError
        return super().update(**facts)

    def bulk_create(self, objs: Any, *args: Any, **kwargs: Any) -> list[Any]:
        if kwargs.get("update_conflicts"):
            raise KeptError
        return super().bulk_create(objs, *args, **kwargs)


class Kept(models.Model):
    """A row that is written once; later only its paper is stored with it."""

    objects = KeptQuerySet.as_manager()

    class Meta:
        abstract = True

    def save(self, *args: Any, **kwargs: Any) -> None:
        if self._state.adding:
            kwargs["force_insert"] = True
        elif set(kwargs.get("update_fields") or ()) != {"paper"}:
            raise KeptError
        super().save(*args, **kwargs)

    def delete(self, *args: Any, **kwargs: Any) -> NoReturn:
        raise KeptError


class Invoice(Kept):
    """An issued invoice or credit note. ``data`` copies everything that is printed.

    Amounts are minor units of ``currency``; a credit note's are negative. The series of numbers
    is one for both kinds and has no gaps. A credit note takes its whole invoice back, so that it
    can be issued anew; or it is for a ``part``, single lines, and the rest stands.
    """

    class Kind(models.TextChoices):
        INVOICE = "invoice", "Invoice"
        CREDIT = "credit", "Credit note"

    number = models.CharField(max_length=16, unique=True)
    kind = models.CharField(max_length=7, choices=Kind, default=Kind.INVOICE)
    ticket = models.ForeignKey(Ticket, models.PROTECT, related_name="invoices")
    refers_to = models.ForeignKey(
        "self", models.PROTECT, null=True, blank=True, related_name="credits"
    )
    part = models.BooleanField(default=False)
    issued_on = models.DateField()
    issued_at = models.DateTimeField()
    issued_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    currency = models.CharField(max_length=3)
    net = models.BigIntegerField()
    tax = models.BigIntegerField()
    gross = models.BigIntegerField()
    data = models.JSONField()
    form_key = models.UUIDField(unique=True, default=uuid4, editable=False)
    paper = models.OneToOneField(StoredPaper, models.PROTECT, null=True, related_name="+")

    class Meta:
        ordering = ["-issued_at", "-pk"]
        indexes = [models.Index(fields=["issued_on", "id"], name="invoices_by_day")]

    def __str__(self) -> str:
        return self.number

    def get_absolute_url(self) -> str:
        return reverse("invoice", args=[self.number])

    @property
    def supply_on(self) -> date:
        """The day of supply that is printed on it."""
        return date.fromisoformat(self.data["supply_on"])

    @property
    def pay_by(self) -> date | None:
        """The day it is to be paid by, when something was open at its issue."""
        day = self.data["pay_by"]
        return date.fromisoformat(day) if day else None


class Payment(Kept):
    """Money taken or given back. ``amount`` is positive when taken, negative when given back."""

    class Method(models.TextChoices):
        CASH = "cash", "Cash"
        CARD = "card", "Card"
        TRANSFER = "transfer", "Transfer"

    class Kind(models.TextChoices):
        DEPOSIT = "deposit", "Deposit paid"
        PART = "part", "Part payment"
        BALANCE = "balance", "Final payment"
        REVERSAL = "reversal", "Reversal"
        REFUND = "refund", "Refund"

    number = models.CharField(max_length=16, unique=True)
    ticket = models.ForeignKey(Ticket, models.PROTECT, related_name="payments")
    invoice = models.ForeignKey(Invoice, models.PROTECT, null=True, related_name="payments")
    amount = models.BigIntegerField()
    currency = models.CharField(max_length=3)
    method = models.CharField(max_length=8, choices=Method)
    kind = models.CharField(max_length=8, choices=Kind)
    reverses = models.OneToOneField(
        "self", models.PROTECT, null=True, blank=True, related_name="reversed_by"
    )
    day = models.DateField()
    taken_at = models.DateTimeField()
    taken_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    note = models.CharField(max_length=200, blank=True)
    data = models.JSONField()
    form_key = models.UUIDField(unique=True, default=uuid4, editable=False)
    paper = models.OneToOneField(StoredPaper, models.PROTECT, null=True, related_name="+")

    class Meta:
        ordering = ["-taken_at", "-pk"]
        indexes = [models.Index(fields=["day", "id"], name="payments_by_day")]

    def __str__(self) -> str:
        return self.number


class CashCount(Kept):
    """What lay in the cash box when a day was closed, or in the drawer of a helper. Amounts are
    minor units of ``currency``.

    ``expected`` is what should have lain there: what the count before left, and the cash since,
    less what was ``taken_out``: of the box for the bank, of a drawer for the box. It is None for
    the first count, which only begins.
    ``pieces`` says how many lay there of each coin and note: minor units as text, and how many.
    """

    day = models.DateField()
    counted_at = models.DateTimeField()
    counted_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")
    drawer_of = models.ForeignKey(
        settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+"
    )
    currency = models.CharField(max_length=3)
    pieces = models.JSONField()
    counted = models.BigIntegerField()
    taken_out = models.BigIntegerField(default=0)
    expected = models.BigIntegerField(null=True)
    why = models.CharField(max_length=200, blank=True)
    form_key = models.UUIDField(unique=True, default=uuid4, editable=False)

    class Meta:
        ordering = ["-counted_at", "-pk"]
        indexes = [models.Index(fields=["day", "id"], name="counts_by_day")]

    def __str__(self) -> str:
        return f"{self.counted} {self.currency}, {self.day}"

    @property
    def difference(self) -> int:
        """Above zero when there was more than there should have been."""
        return 0 if self.expected is None else self.counted - self.expected

    @property
    def off_by(self) -> int:
        return abs(self.difference)


class Seal(Kept):
    """One seal of the sealed book; see ``sealed_book``. The row is named, not referred to: a seal
    outlasts it, and says that it is gone.

    ``parts`` are digests by the name of the fact. ``late`` ones were set when the book began.
    """

    place = models.PositiveBigIntegerField(unique=True)
    kind = models.CharField(max_length=8)
    row = models.BigIntegerField()
    number = models.CharField(max_length=16)
    parts = models.JSONField()
    before = models.CharField(max_length=64)
    seal = models.CharField(max_length=64)
    sealed_at = models.DateTimeField()
    late = models.BooleanField(default=False)

    class Meta:
        ordering = ["place"]
        constraints = [models.UniqueConstraint("kind", "row", name="one_seal_a_row")]

    def __str__(self) -> str:
        return f"{self.place} {self.number}"

    @property
    def shown(self) -> str:
        """The first half, in groups of eight, as it is printed: 128 bits are as good a proof."""
        return " ".join(self.seal[at : at + 8] for at in range(0, 32, 8))
