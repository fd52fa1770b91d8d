"""The slate as the forms read it: garments and lines with their drafts, and the quote."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from django.forms import BoundField

from clients.cautions import Caution
from jobs.counter.dropoff.forms import CounterForm, GarmentForm, LineForm, TicketForm, WhoForm
from jobs.counter.dropoff.slate import Typed
from jobs.pricing.models import Operation
from jobs.pricing.quote import Quote, QuotedLine
from jobs.tickets.draft import GarmentDraft, LineDraft, TicketDraft
from jobs.tickets.models import Photo, Ticket


@dataclass(frozen=True)
class Standing:
    """The ticket that is being changed, as it stands; ``letters`` by garment key."""

    ticket: Ticket
    draft: TicketDraft
    letters: dict[int, str]

    def garment(self, pk: str) -> GarmentDraft | None:
        return next((row for row in self.draft.garments if str(row.pk) == pk), None)

    def line(self, pk: str) -> LineDraft | None:
        return next((row for row in self.draft.lines if str(row.pk) == pk), None)


@dataclass
class ReadLine:
    """``steps`` is how the price comes, in words."""

    index: int
    prefix: str
    typed: Typed
    form: LineForm
    draft: LineDraft
    asks_amount: bool
    quoted: QuotedLine | None = None
    steps: str = ""

    @property
    def gone(self) -> bool:
        return bool(self.typed.text("gone"))

    @property
    def told(self) -> bool:
        """Whether the less-used fields hold something, so that they stay open."""
        less_used = ["surcharges", "quantity", "minutes", "note"]
        if "name" not in self.form.fields:
            less_used.append("price")
        return told(self.form, less_used, usual={"quantity": "1"})


@dataclass
class ReadGarment:
    """``wrong`` is what the piece itself lacks; its fields carry their own messages.

    ``cautions`` are what it calls for, and ``read`` the keys of those ticked as read here.
    """

    index: int
    prefix: str
    typed: Typed
    form: GarmentForm
    draft: GarmentDraft
    letter: str
    lines: list[ReadLine]
    offered: list[Operation]
    photos: list[Photo]
    wrong_pictures: list[str]
    cautions: list[Caution] = field(default_factory=list)
    read: list[str] = field(default_factory=list)
    wrong: str = ""

    @property
    def gone(self) -> bool:
        return bool(self.typed.text("gone"))

    @property
    def standing_lines(self) -> list[ReadLine]:
        return [line for line in self.lines if not line.gone]

    @property
    def told(self) -> bool:
        names = [
            "marks", "condition", "washed", "worn", "things_left", "heel", "description", "fibre",
            "iron",
        ]  # fmt: skip
        return told(self.form, names, usual={"worn": "worn"})

    @property
    def safety(self) -> list[Caution]:
        """The cautions that are asked to be read."""
        return [caution for caution in self.cautions if caution.safety]

    @property
    def notes(self) -> list[Caution]:
        return [caution for caution in self.cautions if not caution.safety]

    @property
    def first_id(self) -> str:
        """The first of the buttons that offer work."""
        return f"{self.prefix}-first"

    @property
    def more_id(self) -> str:
        return f"{self.prefix}-more"


@dataclass
class Reading:
    """``trouble`` keeps the whole from being priced, ``wrong`` is that nothing was brought.

    ``rush_fee`` is what the rush adds, or would add, to the price.
    """

    who: WhoForm
    ticket: TicketForm
    garments: list[ReadGarment]
    draft: TicketDraft
    quote: Quote | None = None
    rush_fee: int = 0
    trouble: str = ""
    trouble_link: str = ""
    wrong: str = ""

    @property
    def standing(self) -> list[ReadGarment]:
        return [garment for garment in self.garments if not garment.gone]

    def forms(self) -> Iterator[CounterForm]:
        """Every form in the order of the page, but for those of what was taken off."""
        yield self.who
        for garment in self.standing:
            yield garment.form
            yield from (line.form for line in garment.standing_lines)
        yield self.ticket

    def shown_fields(self) -> Iterator[BoundField]:
        """The fields that stand on the page whoever the client is; chips only if there are any."""
        for form in self.forms():
            if form is not self.who:
                yield from (bound for bound in form if getattr(bound.field, "choices", True))

    @property
    def told_of_event(self) -> bool:
        return told(self.ticket, ["wanted_by", "event", "note"])

    @property
    def told_of_discount(self) -> bool:
        return told(self.ticket, ["discount_percent", "discount_amount"])

    @property
    def told_of_deposit(self) -> bool:
        return told(self.ticket, ["deposit", "paid"])


def told(form: CounterForm, names: Iterable[str], usual: dict[str, str] | None = None) -> bool:
    """Whether any of the fields holds something out of the usual, or a message."""
    usual = usual or {}
    return any(
        form[name].errors or form[name].data not in (None, "", [], usual.get(name))
        for name in names
        if name in form.fields
    )
