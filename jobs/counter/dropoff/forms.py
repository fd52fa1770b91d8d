"""The fields of the drop-off page, as prefixed forms, and what could be read from them as drafts.

The whole page is one HTML form. A field of the ticket is named ``event``, one of its first garment
``g0-colour``, one of that garment's second line ``g0-l1-amount``. No field is required: a
half-filled page is a page under way, and what could not be read leaves what the price list or the
standing ticket says, so that the running total is there. Saving asks for what must not be missing
(``DropOff.check``).
"""

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from decimal import Decimal
from functools import cached_property, partial
from typing import Any, cast

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator
from django.forms.formsets import formset_factory

from clients.cautions.garments import Caution, cautions_for
from clients.fields import HeelField, LengthField, storable, unit_of
from clients.fit.lengths import Length
from clients.sheets.known import HEEL, Body, BodyFact
from jobs.billing.models import Payment
from jobs.counter.dropoff.desk import (
    FURTHEST,
    MOST_GARMENTS,
    MOST_LINES,
    MOST_MINUTES,
    MOST_PIECES,
    AnyChips,
    AnyValues,
    CounterForm,
    NumberedForm,
    NumberedForms,
    OneSegment,
    field_of,
    hidden,
    one_of,
    text,
    whole,
    words,
)
from jobs.pricing.models import Basis, FittingPlace, Measure, Operation, WorkOrder, usual_place
from jobs.pricing.quote import QuotedLine, explain
from jobs.tickets.facts import ASKED
from jobs.tickets.fit.body import bases_of, finished_along, measures_about
from jobs.tickets.fit.cloth_ends import (
    USUALLY,
    Ends,
    KnownEnd,
    hem_fields,
    known_end,
    line_too_long,
)
from jobs.tickets.fit.doubts import SURE, AmountDoubt, amount_doubt, pin_of_line
from jobs.tickets.fit.line_hem import LineHem, hemmed, line_hem, place_of_hem
from jobs.tickets.models import Garment, Line, Photo, Ticket
from jobs.tickets.quoting import AmbiguousAmountError, GarmentDraft, LineDraft, TicketDraft
from studio.shop import clock
from studio.shop.forms import MoneyField, day_input, hour_input
from studio.shop.money import format_money, format_plain, plain_percent

# Common practice at the counter: what is looked for before a garment is taken in.
MARKS = [
    "mark", "hole", "missing button", "worn seam", "fading", "colour not fast",
    "earlier alteration",
]  # fmt: skip
BETWEEN = "; "


class LineForm(NumberedForm):
    """One operation on one garment.

    ``start`` is the standing line, the list's, or a blank one for work done to order. The page
    adds if it ``has_fitting`` ahead, how it is ``quoted``, and in ``steps`` how that price comes.
    """

    operation = hidden()
    name = words(Line, "name", "What is to be done")
    quantity = whole("How many", 1, MOST_PIECES, "Write a whole number, such as 2.")
    amount = LengthField(label="How far", required=False)
    basis = one_of("In total or each", Basis.choices, OneSegment())
    measure = one_of("What is measured", Measure.choices, OneSegment())
    measure_later = forms.BooleanField(label="Measure later", required=False)
    price = MoneyField(label="Price for one", required=False, max_minor=10**9)
    minutes = whole("Bench minutes for one", 0, MOST_MINUTES, "Write whole minutes, such as 45.")
    fitting_place = one_of("Sewn", [("after", "After the fitting"), ("before", "Before it")])
    note = words(Line, "note", "Note")

    def __init__(self, *args: Any, garment: "GarmentForm", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.garment = garment
        self.quoted: QuotedLine | None = None
        self.steps = ""
        standing = self.desk.standing
        self.work = self.desk.operations.get(self.typed("operation"))
        self.old = standing.line(self.typed("pk")) if standing else None
        self.start = self.old or line_of(self.work)
        self.has_fitting = False
        self.on_offer = self.desk.surcharges | {s["name"]: s for s in self.start.surcharges}
        self.fields["surcharges"] = forms.MultipleChoiceField(
            label="Surcharges", required=False, widget=AnyChips(),
            choices=[(name, name) for name in self.on_offer],
        )  # fmt: skip
        self.fields["amount"].label = f"How far ({self.studio.unit})"
        if self.studio.unit == "cm":  # Inches have fractions and signs; a keyboard of figures none.
            self.fields["amount"].widget.attrs["inputmode"] = "decimal"
        if self.start.name:
            del self.fields["name"]
        bases = {*bases_of(garment.named), self.typed("basis")}
        basis = cast("forms.ChoiceField", self.fields["basis"])
        basis.choices = [row for row in Basis.choices if row[0] in bases]
        self.asked_of_hem: list[str] = []
        if hemmed(garment.named, self.start):
            # Not among the fields of the class: the garment remembers them, not the line.
            work, unit = self.start.name or self.typed("name"), unit_of(self.studio)
            for name, label in hem_fields(work, unit).items():
                field = LengthField(label=label, required=False, zero=name == "turned_up")
                field.for_studio(self.studio)
                field.widget.attrs |= {"inputmode": "decimal"} if self.studio.unit == "cm" else {}
                if usual := USUALLY.get(name):
                    field.widget.attrs["placeholder"] = usual[unit]
                self.fields[name] = field
                self.asked_of_hem.append(name)

    def show(self) -> None:
        """The usual price and minutes, which hold while their fields are empty."""
        usual = {"minutes": str(self.start.minutes_each)}
        usual["price"] = format_plain(self.start.unit_price, self.studio.currency)
        for name, value in usual.items() if self.start.name else ():
            if name in self.fields:
                self.fields[name].widget.attrs["placeholder"] = value
        if self.quoted:
            money = partial(format_money, currency=self.studio.currency, locale=self.studio.locale)
            self.steps = explain(self.quoted, money)

    def clean(self) -> None:
        """An amount that two people could read differently is refused beside its field."""
        answers = self.cleaned_data
        length: Length | None = answers.get("amount")
        self.pinned = replace(
            self.start,
            amount_mm=length.mm if length else None,
            amount_typed=length.with_unit if length else "",
            basis=answers.get("basis", ""),
            measure=answers.get("measure", ""),
            measure_later=bool(answers.get("measure_later") and not length),
        )
        try:
            if length:
                self.pinned.check_amount()
        except AmbiguousAmountError as wrong:
            self.add_error(wrong.field, str(wrong))

    def clean_amount(self) -> Length | None:
        length: Length | None = self.cleaned_data["amount"]
        return length and storable(length, Line, "amount_typed")

    @cached_property
    def draft(self) -> LineDraft:
        answers, start = self.answers, self.start
        price, minutes = answers.get("price"), answers.get("minutes")
        tax = start.tax if self.old and self.garment.keeps_tax else self.garment.tax
        return replace(
            self.pinned,
            name=start.name or answers.get("name", ""),
            unit_price=start.unit_price if price is None else price,
            minutes_each=start.minutes_each if minutes is None else minutes,
            quantity=answers.get("quantity") or 1,
            surcharges=[self.on_offer[name] for name in answers.get("surcharges", [])],
            tax=dict(tax) if tax else None,
            fitting_place=answers.get("fitting_place") or start.fitting_place,
            note=answers.get("note", ""),
        )

    @property
    def asks_place(self) -> bool:
        """Whether to ask if it is sewn before or after the fitting that is ahead."""
        asks = bool(self.work and self.work.fitting_place == FittingPlace.ASK)
        return self.has_fitting and asks

    @property
    def hows(self) -> list[forms.BoundField]:
        """What is measured, and in total or each: the two that say how an amount is meant."""
        return [self["measure"], self["basis"]]

    @property
    def amount_fields(self) -> list[forms.BoundField]:
        return [self["amount"], *self.hows, self["measure_later"]]

    @property
    def asks_amount(self) -> bool:
        typed = self.typed("amount") or self.typed("measure_later")
        return self.work is None or self.work.takes_amount or bool(typed)

    @property
    def from_sheet(self) -> list[BodyFact]:
        """What the client's sheets say of where this work lies, the newest sheet first."""
        kind, draft = self.garment.draft.kind_name, self.draft
        facts = self.garment.body().of(measures_about(kind, draft.name, draft.work_order))
        return sorted(facts, key=lambda fact: fact.day, reverse=True)

    @property
    def finished_along(self) -> str:
        """The measure that is its finished length, if one is."""
        draft = self.draft
        return finished_along(self.garment.draft.kind_name, draft.name, draft.work_order)

    @property
    def names_unit(self) -> bool:
        """Whether the amount as typed says in what it is measured."""
        return any(not (sign.isnumeric() or sign in " .,/") for sign in self.typed("amount"))

    @property
    def is_silent(self) -> bool:
        """Whether it says neither how far nor that this is measured later, and has to."""
        asks = self.work is not None and self.work.takes_amount
        return asks and not (self.draft.amount_typed or self.draft.measure_later)

    @property
    def now_fields(self) -> list[forms.BoundField]:
        """Of a hem: how long it is now, what is turned up, and what else such a hem has."""
        return [self[name] for name in self.asked_of_hem]

    @property
    def says_now(self) -> bool:
        return any(field.data or field.errors for field in self.now_fields)

    @property
    def known(self) -> KnownEnd:
        """Where its edge is and where the cloth ends: as it was just typed, else as remembered."""
        typed = {name: self.answers.get(name) for name in self.asked_of_hem}
        place = place_of_hem(self.garment.named, self.start)
        return known_end(self.garment.ends, place, unit_of(self.studio), typed)

    @property
    def hem(self) -> LineHem | None:
        """What its amount comes to, if it is a hem."""
        if not self.now_fields:
            return None
        unit = unit_of(self.studio)
        return line_hem(self.garment.named, self.draft, self.known, self.garment.body(), unit)

    @property
    def too_long(self) -> str:
        """Why the amount goes beyond the cloth that is there, where the garment remembers that."""
        ends = self.garment.ends
        return line_too_long(self.draft, ends, unit_of(self.studio)) if ends else ""

    @property
    def sure(self) -> str:
        """The amount that somebody said is right when it was asked about.

        Not among the fields of the class, which a change of a ticket compares.
        """
        return str(self.data.get(f"{self.prefix}-{SURE}", ""))

    @cached_property
    def doubt(self) -> AmountDoubt | None:
        """The question about an amount that is hard to believe; what stands agreed is not asked."""
        pin, old = pin_of_line(self.draft), self.old and pin_of_line(self.old)
        if pin is None or pin == old or not (pin.basis and pin.measure) or self.sure == pin.words:
            return None
        body = self.garment.body()
        return amount_doubt(self.garment.draft.kind_name, self.draft, pin, body)

    @property
    def says_more(self) -> bool:
        price = () if "name" in self.fields else ("price",)
        return self.says("surcharges", "minutes", "note", *price, quantity="1")

    @property
    def told(self) -> list[str]:
        """What its drawer holds, in a few words."""
        quantity = self.draft.quantity
        told = [f"{quantity} times"] if quantity > 1 else []
        told += [str(facts["name"]) for facts in self.draft.surcharges]
        return [*told, *([self.draft.note] if self.draft.note else [])]


class GarmentForm(NumberedForm):
    """One piece: what it is, how it is, what came with it, and what is to be done on it.

    The page gives its ``letter`` and how to learn of the client's ``body``; ``wrong`` is what the
    piece itself lacks, ``wrong_pictures`` what was sent as a photograph and is none.
    """

    kind = hidden()
    kind_name = words(Garment, "kind_name", "What is it")
    marks = forms.MultipleChoiceField(
        label="Condition", choices=[(mark, mark.capitalize()) for mark in MARKS],
        required=False, widget=AnyChips(),
    )  # fmt: skip
    condition = forms.CharField(
        label="Where, and anything else", max_length=380, required=False, widget=text()
    )
    heel = HeelField(label="Heel height of the shoes", required=False)
    photos, read = AnyValues(required=False), AnyValues(required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.letter = self.wrong = ""
        self.body: Callable[[], Body] = Body
        self.wrong_pictures: list[str] = []
        standing = self.desk.standing
        self.listed = self.desk.kinds.get(self.typed("kind"))
        self.old = standing.garment(self.typed("pk")) if standing else None
        self.fields["hangs"].widget.attrs["list"] = "places"
        if self.old or self.listed:
            del self.fields["kind_name"]
        self.lines = LineRows(
            self.data, prefix=f"{self.prefix}-l", form_kwargs={"desk": self.desk, "garment": self}
        )

    @cached_property
    def lines_here(self) -> list[LineForm]:
        """All but those that were taken off."""
        return [form for form in self.lines if isinstance(form, LineForm) and not form.is_gone]

    def clean_heel(self) -> Length | None:
        length: Length | None = self.cleaned_data["heel"]
        return length and storable(length, Garment, "heel_typed")

    @property
    def named(self) -> str:
        """What kind of garment it is."""
        if self.old:
            return self.old.kind_name
        return self.listed.name if self.listed else self.typed("kind_name")

    @property
    def ends(self) -> Ends:
        """What it remembers of where its cloth ends."""
        standing, pk = self.desk.standing, self.old and self.old.pk
        return standing.cloth_ends(pk) if standing and pk else {}

    @property
    def price(self) -> int:
        """What its work costs so far."""
        return sum(line.quoted.price for line in self.lines_here if line.quoted)

    @property
    def lacks(self) -> str:
        """What is still to be asked of it before the ticket can be saved."""
        if not self.lines_here:
            return "what to do?"
        return "how far?" if any(line.is_silent for line in self.lines_here) else ""

    @property
    def wear(self) -> str:
        return self.answers.get("worn") or "worn"

    @property
    def tax(self) -> Any:
        return self.desk.taxes[self.wear]

    @property
    def keeps_tax(self) -> bool:
        """Whether the tax that was agreed holds on: the garment is no other than it was."""
        return self.old is not None and self.old.noted["worn"] == self.wear

    @cached_property
    def draft(self) -> GarmentDraft:
        answers = self.answers
        heel: Length | None = answers.get("heel")
        name = self.listed.name if self.listed else answers.get("kind_name", "")
        ends = {**self.ends}
        for line in self.lines_here:
            if line.says_now:
                ends |= line.known.as_typed
        kind = self.listed.pk if self.listed else None
        return replace(
            self.old or GarmentDraft(kind_name=name, kind_id=kind, lines=[]),
            lines=[line.draft for line in self.lines_here],
            noted={
                **(self.old.noted if self.old else {}),
                **{fact.name: answers.get(fact.name, "") for fact in ASKED},
                "condition": put_together(answers.get("marks", []), answers.get("condition", "")),
                "worn": self.wear,
                "heel_mm": heel.mm if heel else None,
                "heel_typed": heel.with_unit if heel else "",
                **({"cloth_ends": ends} if ends else {}),
            },
            photos=[photo.pk for photo in self.pictures],
        )

    @property
    def offered(self) -> list[Operation]:
        """The operations that the list offers on such a garment, in its order."""
        return list(self.listed.operations.all()) if self.listed else []

    @property
    def pictures(self) -> list[Photo]:
        named = self.answers.get("photos", [])
        return [self.desk.photos[pk] for pk in named if pk in self.desk.photos]

    @cached_property
    def cautions(self) -> list[Caution]:
        return cautions_for(
            concern=self.listed.concern if self.listed else "",
            works=[line.draft.name for line in self.lines_here],
            new=self.wear == "new",
            taxed_at=self.desk.taxed_at,
        )

    @property
    def cautions_read(self) -> list[str]:
        """The keys of the cautions that are ticked as read here."""
        ticked = self.answers.get("read", [])
        return [caution.key for caution in self.cautions if caution.key in ticked]

    @property
    def pairs(self) -> list[list[forms.BoundField]]:
        """The facts that stand under the condition, side by side."""
        placed = ["colour", "condition", "description", "washed", "worn", "things_left"]
        others = [fact.name for fact in ASKED if fact.name not in placed]
        names = ["washed", "worn", "things_left", "heel", *others, "description"]
        return [[self[name] for name in names[at : at + 2]] for at in range(0, len(names), 2)]

    def show(self) -> None:
        """What the sheet says of the heel stands beside its field: these may be other shoes."""
        works = [line for line in self.lines_here if line.draft.work_order == WorkOrder.HEM]
        if works and (heel := self.body().get(HEEL)):
            self.fields["heel"].help_text = heel.says(self.studio.locale)

    @property
    def says_more(self) -> bool:
        names = [field.name for pair in self.pairs for field in pair if field.name != "worn"]
        return self.says("marks", "condition", *names, worn="worn")


class TicketForm(CounterForm):
    """What holds for the whole ticket. ``promise_at`` is the moment that day and time make."""

    promise_day = forms.DateField(label="Ready by", required=False, widget=day_input())
    promise_time = forms.TimeField(label="at", required=False, widget=hour_input())
    wanted_by = forms.DateField(label="Wanted by", required=False, widget=day_input())
    event = words(Ticket, "event", "For which event")
    note = forms.CharField(
        label="Note", max_length=4000, required=False, widget=forms.Textarea(attrs={"rows": 2})
    )
    rush = forms.BooleanField(label="Rush", required=False)
    discount_percent = forms.DecimalField(
        label="Discount %", required=False, max_digits=6, decimal_places=3, widget=text("decimal"),
        validators=[MinValueValidator(Decimal(0)), MaxValueValidator(Decimal(100))],
    )  # fmt: skip
    discount_amount = MoneyField(label="Discount amount", required=False)
    deposit = MoneyField(label="Deposit asked", required=False)
    paid = MoneyField(label="Paid now", required=False)
    method = one_of("Paid by", Payment.Method.choices)
    reason = forms.CharField(label="Why it changes", max_length=300, required=False, widget=text())

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        """On a ticket that stands nothing is paid here, and a reason is asked."""
        super().__init__(*args, **kwargs)
        self.old = self.desk.standing.draft if self.desk.standing else None
        self.promise_at: datetime | None = None
        self.fields["rush"].label = f"Rush, +{plain_percent(self.desk.rush_percent)} %"
        for name in ("paid", "method") if self.old else ("reason",):
            self.fields.pop(name, None)
        if self.desk.pad or (self.typed("number") and not self.old):
            # Not among the fields of the class, which a change of a ticket compares.
            numbers = [("", "The next number"), *((it, it) for it in self.desk.pad)]
            self.fields["number"] = one_of("From the pad", numbers, forms.Select())
            self.fields["number"].error_messages["invalid_choice"] = (
                "%(value)s is not open any more: choose another number."
            )
            self.fields["received_on"] = forms.DateField(
                label="Taken in on", required=False, widget=day_input()
            )

    def clean(self) -> None:
        answers, old = self.cleaned_data, self.old
        if answers.get("discount_percent") and answers.get("discount_amount"):
            self.add_error("discount_amount", "Give a percentage or an amount off, not both.")
        today = self.desk.today
        day, hour, wanted = (answers.get(n) for n in ("promise_day", "promise_time", "wanted_by"))
        if wanted and wanted < today and not (old and wanted == old.wanted_by):
            self.add_error("wanted_by", "This day is over.")
        if (received := answers.get("received_on")) and received > today:
            self.add_error("received_on", "This day is still to come.")
        if day is None or hour is None:
            return
        self.promise_at = clock.at(day, hour)
        if old and self.promise_at == old.promise_at.replace(second=0, microsecond=0):
            # The page shows whole minutes: a promise left as it stood stays to the second, and may
            # be over by now.
            self.promise_at = old.promise_at
        elif day < today:
            self.add_error("promise_day", "This day is over. Choose today or a later day.")
        elif self.promise_at < self.desk.now:
            self.add_error("promise_time", "This time is over. Choose a later one.")
        elif day > today + FURTHEST:
            self.add_error("promise_day", "This is more than two years away.")

    def draft(self, garments: list[GarmentDraft]) -> TicketDraft:
        """A helper's draft keeps whatever was agreed about money."""
        answers, agreed = self.answers, vars(self.old) if self.old else {}
        money = answers if self.desk.sets_prices else agreed
        return TicketDraft(
            garments=garments,
            promise_at=self.promise_at or self.desk.now,
            wanted_by=answers.get("wanted_by"),
            event=answers.get("event", ""),
            note=answers.get("note", ""),
            rush_percent=self.desk.rush_percent if answers.get("rush") else Decimal(0),
            discount_percent=money.get("discount_percent") or Decimal(0),
            discount_amount=money.get("discount_amount") or 0,
            deposit=money.get("deposit"),
            form_key=self.desk.form_key,
            number=answers.get("number", ""),
            received_on=answers.get("received_on"),
        )

    @property
    def says_more(self) -> dict[str, bool]:
        """Which of the folded parts lie open."""
        return {
            "promise": bool({"promise_day", "promise_time"} & self.errors.keys()),
            "event": self.says("wanted_by", "event", "note", "number")
            or "received_on" in self.errors,
            "discount": self.says("discount_percent", "discount_amount"),
            "deposit": self.says("deposit", "paid"),
        }


GarmentForm.base_fields |= {
    fact.name: field_of(fact) for fact in ASKED if fact.name not in GarmentForm.base_fields
}
LineRows = formset_factory(LineForm, formset=NumberedForms, max_num=MOST_LINES)
GarmentRows = formset_factory(GarmentForm, formset=NumberedForms, max_num=MOST_GARMENTS)


def line_of(work: Operation | None) -> LineDraft:
    """One piece of this work as the price list has it today; a blank line for none."""
    if work is None:
        return LineDraft(name="", unit_price=0)
    return LineDraft(
        name=work.name,
        unit_price=work.price,
        minutes_each=work.minutes,
        fitting_first=work.fitting_first,
        fitting_place=usual_place(work),
        hang_days=work.hang_days,
        work_order=work.work_order,
        stitch=work.stitch,
        operation_id=work.pk,
    )


def put_together(marks: list[str], words: str) -> str:
    """One text for the ticket: ``mark; hole; near the left pocket``."""
    return BETWEEN.join([*marks, *([words] if words else [])])


def take_apart(condition: str) -> tuple[list[str], str]:
    """The chips and the words that ``put_together`` made it of."""
    marks: list[str] = []
    parts = condition.split(BETWEEN)
    while parts and parts[0] in MARKS and parts[0] not in marks:
        marks.append(parts.pop(0))
    return marks, BETWEEN.join(parts)
