"""What of the database is one client's: every table, how it is reached, what erasing does to it.

The tests walk every model that leads to a client, so a new table or field has to be named here.
``belongings`` reads all of it, in as many queries as there are kinds of rows.
"""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from django.db.models import Model, Q

from clients.models import Client, Contact, FileRow, Measured, Sheet
from jobs.billing.models import Invoice, Payment
from jobs.makes.models import MadeFor
from jobs.planning.models import (
    AfterFitting,
    BenchTime,
    Fitting,
    HoursTaken,
    ReadyToCut,
    SewingDay,
    Todo,
    Wait,
)
from jobs.tickets.facts import columns, forgotten
from jobs.tickets.models import (
    Agreement,
    AgreementSheet,
    AskedChange,
    CautionRead,
    ClientPage,
    FitSum,
    Garment,
    Initials,
    Line,
    Mark,
    PadNumber,
    Photo,
    SentMessage,
    Ticket,
)
from studio.shop import history
from studio.shop.models import Entry, StoredPaper

ERASED = "Erased"


@dataclass(frozen=True)
class Part:
    """The rows of ``model`` whose ``owner`` field names a row that is the client's already.

    ``key`` is their name in the record. Erasing makes them go, keeps them as they are for the
    ``books``, or writes ``blank`` over what was filled in and lets only ``stays`` stay.
    """

    model: type[Model]
    owner: str
    key: str
    goes: bool = False
    books: bool = False
    blank: Mapping[str, Any] = field(default_factory=dict)
    stays: tuple[str, ...] = ()

    @property
    def papers(self) -> list[str]:
        """The fields that hold a stored paper."""
        fields = self.model._meta.concrete_fields  # noqa: SLF001 -- documented by Django
        return [column.name for column in fields if column.related_model is StoredPaper]

    @property
    def parent(self) -> type[Model]:
        return self.model._meta.get_field(self.owner).related_model  # type: ignore[return-value]  # noqa: SLF001 -- documented by Django


CLIENT_BLANK = {
    "who": "", "legal_name": "", "contact_person": "", "household": None,
    "phone_label": "", "email_label": "", "address_label": "",
    "phone": "", "email": "", "street": "", "postcode": "", "city": "", "country": "",
    "vat_number": "", "tax_number": "", "way": Client.Way.CALL, "language": "", "notes": "",
}  # fmt: skip
ERASED_NAME = "Erased client"

# Parents stand before their children.
PARTS = (
    Part(Contact, "client", "contacts", goes=True),
    Part(FileRow, "client", "rows_of_files", goes=True),
    Part(Sheet, "client", "sheets", goes=True),
    Part(Measured, "sheet", "measures", goes=True),
    Part(MadeFor, "client", "sewn_for", goes=True),
    Part(
        Ticket, "client", "tickets",
        blank={"wanted_by": None, "event": "", "note": "", "cancelled_why": ERASED},
        stays=(
            "number", "state", "received_at", "promise_at", "rush_percent", "discount_percent",
            "discount_amount", "deposit", "currency", "terms", "net", "tax", "gross", "minutes",
            "version", "form_key", "started_at", "ready_at", "collected_at", "cancelled_at",
        ),
    ),
    Part(SentMessage, "ticket", "messages", goes=True),
    Part(AskedChange, "ticket", "asked_changes", goes=True),
    Part(ClientPage, "ticket", "page", goes=True),
    Part(PadNumber, "ticket", "number_on_pad", stays=("number", "voided_at", "voided_why")),
    Part(
        Garment, "ticket", "garments",
        blank=forgotten() | {"measures": {}},
        stays=(
            "letter", "kind_name", *columns(personal=False), "removed_at", "tried_on",
            "handed_over_at", "cloth_ends",
        ),
    ),
    Part(
        Line, "garment", "lines",
        blank={
            "amount_mm": None, "amount_typed": "", "basis": "", "measure": "",
            "measure_later": False, "note": "", "not_done_why": ERASED,
        },
        stays=(
            "name", "unit_price", "quantity", "minutes_each", "surcharges", "tax",
            "fitting_first", "fitting_place", "hang_days", "work_order", "stitch",
            "removed_at", "done_at",
        ),
    ),
    Part(FitSum, "garment", "fit_sums", goes=True),
    Part(CautionRead, "garment", "cautions_read", stays=("key", "at")),
    Part(Photo, "garment", "photographs", goes=True),
    Part(Mark, "photo", "marks", goes=True),
    Part(
        # ``actions.redact_agreement`` says what may stay of what was agreed; the claim tickets go.
        Agreement, "ticket", "agreements",
        blank={"reason": "", "delta": "", "data": {}, "paper": None, "press": None},
        stays=("version", "agreed_at"),
    ),
    Part(AgreementSheet, "agreement", "printed", goes=True),
    Part(Initials, "agreement", "initials", goes=True),
    Part(Fitting, "ticket", "fittings", blank={"note": ""},
         stays=("kind", "state", "starts_at", "minutes", "uid", "sequence")),
    Part(AfterFitting, "line", "work_after_fittings"),
    Part(ReadyToCut, "line", "ready_to_cut", stays=("at",)),
    Part(SewingDay, "line", "sewing_days", stays=("day",)),
    Part(Wait, "line", "waits", blank={"question": ""},
         stays=("what", "since", "expected", "ended_at")),
    Part(BenchTime, "line", "bench_times", blank={"note": ""},
         stays=("purpose", "started_at", "minutes")),
    Part(HoursTaken, "ticket", "hours_taken", stays=("monday", "minutes", "at")),
    Part(Todo, "ticket", "to_do", goes=True),
    Part(Invoice, "ticket", "invoices", books=True),
    Part(Payment, "ticket", "payments", books=True),
)  # fmt: skip

# What the record does not repeat, and why. Names are those of ``Field.__str__``.
LEFT_OUT = {
    "clients.Client.name_key": "the name again, as it is looked up",
    "clients.Client.phone_digits": "the phone number again, as it is looked up",
    "clients.Client.phone_last4": "the phone number again, as it is looked up",
    "clients.Client.reach_key": "e-mail and address again, as they are looked up",
    "clients.Contact.digits": "the phone number again, as it is looked up",
    "clients.Contact.last4": "the phone number again, as it is looked up",
    "clients.Contact.reach_key": "e-mail and address again, as they are looked up",
    "clients.FileRow.name_key": "the name again, as it is looked up",
    "clients.FileRow.reach": "phones, e-mails and addresses again, as they are compared",
    "clients.Client.erasure_key": "drawn by chance, so that who is erased stays erased",
    "clients.Sheet.form_key": "guards a form against a double click",
    "tickets.Ticket.form_key": "guards a form against a double click",
    "tickets.AskedChange.form": "the page as it was sent; delta says what it would change",
    "tickets.AskedChange.pin": "the amount as it would be kept; delta says what it would change",
    "tickets.SentMessage.form_key": "guards a form against a double click",
    "tickets.ClientPage.key": "opens the page to whoever reads it",
    "tickets.Photo.form_key": "guards a form against a double click",
    "billing.Invoice.form_key": "guards a form against a double click",
    "billing.Payment.form_key": "guards a form against a double click",
    "tickets.Garment.kind": "the price list's; its name is copied in kind_name",
    "tickets.Line.operation": "the price list's; its name is copied in name",
}


Rows = dict[type[Model], list[Any]]


def entries(client: Client) -> list[Client]:
    """The client's own entry, and those that were merged into it."""
    return [client, *client.merged.order_by("pk")]


def belongings(client: Client) -> Rows:
    """The client's rows by model, each in the order in which they were made."""
    held: Rows = defaultdict(list)
    held[Client] = entries(client)
    for part in PARTS:
        rows = part.model._base_manager.filter(_theirs(part, held))  # noqa: SLF001 -- documented by Django
        held[part.model] = list(rows.order_by("pk"))
    entries_about = history.of(*held[Client], *held[Ticket]).prefetch_related("subjects")
    held[Entry] = list(entries_about.order_by("pk"))
    return held


def _theirs(part: Part, held: Rows) -> Q:
    theirs = Q(**{f"{part.owner}__in": held[part.parent]})
    if part.model is Photo:
        # Taken at the drop-off, of a garment that was taken off the form again.
        keys = [ticket.form_key for ticket in held[Ticket]]
        return theirs | Q(garment=None, form_key__in=keys)
    if part.model is FileRow:
        # Nobody knows yet who it is, but it has the name.
        return theirs | Q(client=None, name_key__in=[own.name_key for own in held[Client]])
    return theirs


def papers_of(held: Rows, *, books: bool = True) -> list[StoredPaper]:
    """The stored papers that name the client, those of the ``books`` with the others or not."""
    keys = {
        getattr(row, f"{name}_id")
        for part in PARTS
        if books or not part.books
        for name in part.papers
        for row in held[part.model]
    }
    return list(StoredPaper.objects.filter(pk__in=keys - {None}).order_by("pk"))
