"""Clients: who brings the garment and pays."""

from django.db import models

from studio.shop.text import digits, fold


class ClientQuerySet(models.QuerySet["Client"]):
    def present(self) -> "ClientQuerySet":
        """Clients that were neither merged into another entry nor erased."""
        return self.filter(merged_into=None, erased_at=None)


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
    tax_number = models.CharField(max_length=40, blank=True)
    way = models.CharField("preferred way", max_length=5, choices=Way, default=Way.CALL)
    notes = models.TextField(blank=True, max_length=4000)
    created_at = models.DateTimeField(auto_now_add=True)
    merged_into = models.ForeignKey(
        "self", models.PROTECT, null=True, blank=True, related_name="merged"
    )
    erased_at = models.DateTimeField(null=True, blank=True)
    name_key = models.CharField(max_length=250, db_index=True, editable=False)
    phone_digits = models.CharField(max_length=40, db_index=True, editable=False)
    phone_last4 = models.CharField(max_length=4, db_index=True, editable=False)

    objects = ClientQuerySet.as_manager()

    class Meta:
        ordering = ["name_key", "pk"]

    def __str__(self) -> str:
        return self.name

    def save(self, *args, **kwargs) -> None:
        self.name_key = fold(self.name)[:250]
        self.phone_digits = digits(self.phone)
        self.phone_last4 = self.phone_digits[-4:]
        if fields := kwargs.get("update_fields"):
            kwargs["update_fields"] = {*fields, "name_key", "phone_digits", "phone_last4"}
        super().save(*args, **kwargs)

    @property
    def address_lines(self) -> list[str]:
        place = f"{self.postcode} {self.city}".strip()
        return [line for line in (self.street, place) if line]
