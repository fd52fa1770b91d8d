"""The counter before a word is read, what its prefixed forms are made of, and its buttons.

Each button says its intent in words: ``add-garment:<kind>``, ``add-line:<garment>:<operation>``,
``more:<garment>:<line>`` and so on; garments and lines go by the number in their fields' names.
What fits nothing changes nothing. The functions of buttons return the id of the element that the
cursor goes to.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from functools import cached_property
from typing import TYPE_CHECKING, Any, cast
from uuid import UUID

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db.models import Model, Q
from django.forms.formsets import BaseFormSet
from django.http import QueryDict
from django.utils.dateparse import parse_date

from clients.cautions.garments import TaxPlace
from clients.fields import longest
from clients.queries import find_clients
from jobs.billing.queries import owes_tax
from jobs.pricing.models import GarmentKind, Operation, PriceRules, Surcharge
from jobs.tickets.facts import Fact
from jobs.tickets.fit.cloth_ends import Ends
from jobs.tickets.models import Garment, Photo, Ticket
from jobs.tickets.queries import open_numbers
from jobs.tickets.quoting import (
    GarmentDraft,
    LineDraft,
    TicketDraft,
    freeze_surcharges,
    freeze_terms,
    tax_place,
)
from studio.shop import clock
from studio.shop.forms import StudioFormMixin
from studio.shop.http import StudioRequest
from studio.shop.look.colours import dye
from studio.shop.models import Profile, TaxError, TaxFacts, User
from studio.shop.text import digits

MOST_GARMENTS, MOST_LINES = 40, 20
MOST_PIECES = 99
MOST_MINUTES = 6000
MOST_ALIKE = 8
FURTHEST = timedelta(days=730)


@dataclass(frozen=True)
class StandingTicket:
    """The ticket that is being changed, as it stands; ``letters`` by the garment's key."""

    ticket: Ticket
    draft: TicketDraft
    letters: dict[int, str]

    def garment(self, pk: str) -> GarmentDraft | None:
        return next((row for row in self.draft.garments if str(row.pk) == pk), None)

    def cloth_ends(self, pk: int) -> Ends:
        """What that garment remembers of where its cloth ends."""
        ends: dict[int, Ends] = {
            garment.pk: garment.cloth_ends for garment in self.ticket.garments.all()
        }
        return ends.get(pk, {})

    def line(self, pk: str) -> LineDraft | None:
        return next((row for row in self.draft.lines if str(row.pk) == pk), None)


@dataclass(frozen=True)
class DropOffDesk:
    """Keys are text, as pages post them.

    ``operations`` holds those of the list and any other that the form still names. ``surcharges``
    by name, ``terms`` and ``taxes`` are frozen as a ticket keeps them. ``photos`` are those that
    this form may show: its own, and those of the ticket it changes. ``pad`` are the numbers of
    paper tickets that are still to be typed in.
    """

    studio: Profile
    sets_prices: bool
    standing: StandingTicket | None
    form_key: UUID
    now: datetime
    today: date
    kinds: dict[str, GarmentKind]
    operations: dict[str, Operation]
    surcharges: dict[str, dict[str, Any]]
    terms: dict[str, Any]
    rush_percent: Decimal
    taxes: dict[str, TaxFacts | None]
    tax_trouble: str
    taxed_at: TaxPlace | None
    photos: dict[str, Photo]
    pad: list[str]


def load(
    request: StudioRequest,
    data: QueryDict,
    form_key: UUID,
    standing: StandingTicket | None,
    by: User,
) -> DropOffDesk:
    """Read everything in a number of queries that does not grow with the form."""
    studio, rules, today = request.studio, PriceRules.load(), clock.today()
    kinds = {str(kind.pk): kind for kind in GarmentKind.objects.on_offer()}
    works = {str(work.pk): work for kind in kinds.values() for work in kind.operations.all()}
    # Operations taken off the list while the form lay open.
    unlisted = Operation.objects.in_bulk(keys(_named(data, "operation") - works.keys()))
    works |= {str(pk): work for pk, work in unlisted.items()}
    mine = Q(form_key=form_key)
    if standing:
        mine |= Q(garment__ticket=standing.ticket)
    photos = Photo.objects.filter(mine, pk__in=keys(_named(data, "photos")))
    taxes: dict[str, TaxFacts | None] = {}
    trouble = ""
    for wear in ("worn", "new"):
        try:
            taxes[wear] = studio.tax_for(wear, today)
        except TaxError as wrong:
            taxes[wear], trouble = None, str(wrong)
    if standing and (owed := owes_tax(standing.draft)):
        taxes = dict.fromkeys(taxes, cast("TaxFacts", owed))
    return DropOffDesk(
        studio=studio,
        sets_prices=by.is_owner,
        standing=standing,
        form_key=form_key,
        now=clock.now(),
        today=today,
        kinds=kinds,
        operations=works,
        surcharges=freeze_surcharges(Surcharge.objects.filter(active=True)),
        terms=standing.ticket.terms if standing else freeze_terms(studio, rules),
        # A rush that was agreed keeps its percentage.
        rush_percent=(standing.draft.rush_percent if standing else None) or rules.rush_percent,
        taxes=taxes,
        tax_trouble=trouble,
        taxed_at=tax_place(studio),
        photos={str(photo.pk): photo for photo in photos},
        pad=[] if standing else open_numbers(form_key),
    )


def keys(values: Iterable[str]) -> list[int]:
    """Those of the posted values that can be a row's key."""
    return [int(value) for value in values if value.isdecimal() and len(value) < 19]


def _named(data: QueryDict, field: str) -> set[str]:
    """What the rows of the form name in this field."""
    lists = (values for name, values in data.lists() if name.endswith(f"-{field}"))
    return {value for values in lists for value in values}


def row_numbers(data: Iterable[str], prefix: str) -> list[int]:
    """The numbers of the rows that these field names speak of, ``g0-colour`` under ``g`` of 0."""
    row = re.compile(rf"{re.escape(prefix)}(\d{{1,3}})-", re.ASCII)
    return sorted({int(found[1]) for name in data if (found := row.match(name))})


def write(data: QueryDict, prefix: str = "", **values: Any) -> None:
    """Put values into the fields of the form with this prefix: one as text, or a list of them."""
    for name, value in values.items():
        texts = value if isinstance(value, list) else [str(value)]
        data.setlist(f"{prefix}-{name}" if prefix else name, texts)


MONEY = ("price", "discount_percent", "discount_amount", "deposit", "paid", "method")
# Common practice at the counter: the colours that most clothes have.
COLOURS = {
    name: dye(name) for name in ("black", "charcoal", "grey", "white", "ivory", "sand", "brown",
                                 "navy", "denim", "green", "red", "plum")
}  # fmt: skip
OTHER_COLOUR = "colour_other"


class OneChip(forms.RadioSelect):
    """One of a few, as chips in a row."""

    template_name = "counter/drop_off/chips.html"


class OneSegment(forms.RadioSelect):
    """One of two or three that belong together."""

    template_name = "counter/drop_off/segments.html"


class ColourChips(forms.TextInput):
    """The usual colours as dyed chips, and a box for any other words beside them.

    A chip has the field's own name. Words in the box win over a chip (``fold_colours``).
    """

    template_name = "counter/drop_off/colours.html"

    def get_context(self, name: str, value: Any, attrs: dict[str, Any] | None) -> dict[str, Any]:
        context = super().get_context(name, value, attrs)
        words = (value or "").strip()
        chips = [(words, dye(words))] if words and words not in COLOURS else []
        chips += COLOURS.items()
        return {**context, "chips": chips, "words": words, "other": f"{name}_other"}


class AnyChips(forms.CheckboxSelectMultiple):
    """Any of a few, as chips in a row."""

    template_name = "counter/drop_off/chips.html"


class AnyValues(forms.MultipleChoiceField):
    """Any values at all, hidden or drawn by the page itself."""

    widget = forms.MultipleHiddenInput

    def valid_value(self, value: str) -> bool:
        return True


def hidden() -> forms.CharField:
    return forms.CharField(required=False, widget=forms.HiddenInput)


def text(mode: str = "text", **attrs: object) -> forms.TextInput:
    """A text box that brings up the keyboard that fits."""
    return forms.TextInput(attrs={"inputmode": mode, "autocomplete": "off", **attrs})


def words(model: type[Model], name: str, label: str, mode: str = "text") -> forms.CharField:
    """A line of text as long as the model's column."""
    return forms.CharField(
        label=label, max_length=longest(model, name), required=False, widget=text(mode)
    )


def whole(label: str, least: int, most: int, wrong: str) -> forms.IntegerField:
    return forms.IntegerField(
        label=label, required=False, widget=text("numeric"), error_messages={"invalid": wrong},
        validators=[MinValueValidator(least), MaxValueValidator(most)],
    )  # fmt: skip


def one_of(
    label: str,
    choices: list[tuple[str, Any]],
    widget: forms.Select | forms.RadioSelect | None = None,
) -> forms.ChoiceField:
    widget = widget or OneChip()
    return forms.ChoiceField(label=label, choices=choices, required=False, widget=widget)


def field_of(fact: Fact) -> forms.Field:
    """The field in which a fact is asked: chips where it is one of a few, else a line of text."""
    if fact.choices:
        return one_of(fact.asked, fact.choices)
    field = words(Garment, fact.name, fact.asked)
    if fact.name == "colour":
        field.widget = ColourChips()
    return field


class CounterForm(StudioFormMixin, forms.Form):
    """A helper's form has no field that speaks of money."""

    use_required_attribute = False

    def __init__(self, *args: Any, desk: DropOffDesk, **kwargs: Any) -> None:
        super().__init__(*args, studio=desk.studio, **kwargs)
        self.desk = desk
        if not desk.sets_prices:
            for name in MONEY:
                self.fields.pop(name, None)

    def show(self) -> None:
        """Make ready what only a reader needs."""

    def typed(self, name: str) -> str:
        return str(self.data.get(self.add_prefix(name), ""))

    @property
    def answers(self) -> dict[str, Any]:
        """What could be read, by the field's name."""
        self.is_valid()
        return self.cleaned_data

    def miss(self, name: str, message: str) -> None:
        """Say what is missing, unless the field has something else to complain about."""
        if name in self.fields and not self.has_error(name):
            self.add_error(name, message)

    def says(self, *names: str, **usual: str) -> bool:
        """Whether a field holds something out of the usual, or a message: it lies open then."""
        fields = [self[name] for name in (*names, *usual) if name in self.fields]
        return any(
            field.errors or field.data not in (None, "", [], usual.get(field.name))
            for field in fields
        )


class NumberedForm(CounterForm):
    """A form that is one of several. What is taken off stays at hand, with all that was typed."""

    pk, gone = hidden(), hidden()

    def __init__(self, *args: Any, index: int, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.index = index

    @property
    def is_gone(self) -> bool:
        return bool(self.typed("gone"))


if TYPE_CHECKING:
    NumberedFormSet = BaseFormSet[NumberedForm]
else:
    NumberedFormSet = BaseFormSet


class NumberedForms(NumberedFormSet):
    """As many forms as the names of the fields count: ``g0-``, ``g1-`` ... under the prefix ``g``.

    No hidden count says how many there are, so none can be wrong; what is beyond the limit has no
    place. A gap in the numbers stays one.
    """

    @cached_property
    def forms(self) -> list[NumberedForm]:
        return [
            self.form(self.data, prefix=self.add_prefix(number), **self.get_form_kwargs(number))
            for number in row_numbers(self.data, str(self.prefix))[: self.max_num]
        ]

    def add_prefix(self, index: int | str | None) -> str:
        return f"{self.prefix}{index}"

    def get_form_kwargs(self, index: int | None) -> dict[str, Any]:
        return {**super().get_form_kwargs(index), "index": index}


def fold_colours(data: QueryDict) -> None:
    """Let what was typed beside the chips be the colour."""
    for number in row_numbers(data, "g"):
        words = data.get(f"g{number}-{OTHER_COLOUR}", "").strip()
        if words:
            write(data, f"g{number}", colour=words, **{OTHER_COLOUR: ""})


DAY_CHOSEN = "yes"
OTHER = "other"
FIRST_KIND = "first-kind"
PHONE = re.compile(r"\+?[\d(][\d\s()/.\-]*\d")
FEWEST_DIGITS = 3


def choose_day(data: QueryDict) -> bool:
    """Let the day that was tapped or written last be the promise; whether one was."""
    if "shown_day" not in data:
        return False
    tapped, shown = data.get("day", ""), data["shown_day"]
    if tapped and tapped != shown:
        data["promise_day"] = tapped
    elif data.get("promise_day", "") == shown:
        return False
    data["chosen"] = DAY_CHOSEN
    return True


def day_given(day: str) -> str:
    """A day that a link brought along, as the page writes it; empty for anything else."""
    try:
        parsed = parse_date(day)
    except ValueError:
        parsed = None
    today = clock.today()
    return parsed.isoformat() if parsed and today <= parsed <= today + FURTHEST else ""


def press(data: QueryDict, intent: str, desk: DropOffDesk) -> str:
    """Change what was typed as the pressed button asks."""
    verb, *args = intent.removeprefix("save-").split(":")
    row = "g" + "-l".join(args[:2])
    match verb, args:
        case "add-garment", [kind]:
            return add_garment(data, kind, desk)
        case "often", [work] if work in desk.operations:
            garment = next_row(data, "g")
            add_garment(data, str(desk.operations[work].garment_kind_id), desk)
            return add_line(data, garment, work, desk)
        case "add-line", [garment, work]:
            return add_line(data, f"g{garment}", work, desk)
        case "remove-photo", [garment, photo] if f"g{garment}-photos" in data:
            photos = data.getlist(f"g{garment}-photos")
            write(data, f"g{garment}", photos=[pk for pk in photos if pk != photo])
        case (("remove-garment" | "put-back-garment"), [_]) if f"{row}-kind" in data:
            write(data, row, gone="yes" if verb == "remove-garment" else "")
        case (("remove-line" | "put-back-line"), [_, _]) if f"{row}-operation" in data:
            write(data, row, gone="yes" if verb == "remove-line" else "")
        case ("sure", [_, _]) | ("meant", [_, _, _]) if f"{row}-asked" in data:
            answer = {"sure": data[f"{row}-asked"]} if verb == "sure" else {"amount": args[2]}
            write(data, row, **answer)
        case (("more" | "fewer"), [_, _]) if f"{row}-operation" in data:
            # Words and enormous numbers in the box count as one piece.
            now = int(digits(data.get(f"{row}-quantity", ""))[:3] or 1)
            step = 1 if verb == "more" else -1
            write(data, row, quantity=min(max(now + step, 1), MOST_PIECES))
        case _ if not desk.standing:
            return press_who(data, verb, args)
    return ""


def press_who(data: QueryDict, verb: str, args: list[str]) -> str:
    """Choose a client, make one, or choose again."""
    typed = data.get("q", "").strip()
    match verb, args:
        case (("client" | "again"), [pk]) if pk.isdecimal():
            return choose(data, pk)
        case (("enter" | "find"), []) if typed:
            clients = find_clients(typed)
            if len(clients) == 1:
                return choose(data, str(clients[0].pk))
            return "first-match" if clients else "new-client"
        case "new-client", []:
            # What was typed goes where it fits; the cursor goes to what is still missing.
            name, phone = split_typed(data.get("q", ""))
            write(data, client="", new="yes", new_name=name, new_phone=phone)
            return "id_new_name" if not name else "id_new_phone" if not phone else FIRST_KIND
        case "other-client", []:
            write(data, client="", new="")
            return "id_q"
    return ""


def choose(data: QueryDict, pk: str) -> str:
    write(data, client=pk, new="", q="")
    return FIRST_KIND


def split_typed(text: str) -> tuple[str, str]:
    """``Mary Larkin 086 555 0143`` is a name and a phone number; either may be missing.

    The longest run of digits, with the marks that phone numbers are written with, is the number.
    """
    runs = [run for run in PHONE.finditer(text) if len(digits(run[0])) >= FEWEST_DIGITS]
    run = max(runs, key=lambda run: len(digits(run[0])), default=None)
    name = f"{text[: run.start()]} {text[run.end() :]}" if run else text
    return " ".join(name.split()).strip(" ,;"), run[0].strip() if run else ""


def next_row(data: QueryDict, prefix: str) -> str:
    """The prefix of the row after the last."""
    return f"{prefix}{max(row_numbers(data, prefix), default=-1) + 1}"


def add_garment(data: QueryDict, kind: str, desk: DropOffDesk) -> str:
    """A garment of this kind; ``other`` is one that the list does not know, named by hand."""
    by_hand = kind == OTHER and desk.sets_prices
    full = len(row_numbers(data, "g")) >= MOST_GARMENTS
    if full or not (kind in desk.kinds or by_hand):
        return ""
    prefix = next_row(data, "g")
    write(data, prefix, kind="" if by_hand else kind, worn="worn")
    return f"id_{prefix}-kind_name" if by_hand else f"{prefix}-first"


def add_line(data: QueryDict, garment: str, work: str, desk: DropOffDesk) -> str:
    """An operation on the garment. Price and minutes stay empty: the list's of today hold."""
    by_hand = work == OTHER and desk.sets_prices
    full = len(row_numbers(data, f"{garment}-l")) >= MOST_LINES
    if full or f"{garment}-kind" not in data or not (work in desk.operations or by_hand):
        return ""
    prefix = next_row(data, f"{garment}-l")
    if by_hand:
        write(data, prefix, operation="", quantity=1, basis="total", measure="take_off")
        return f"id_{prefix}-name"
    operation = desk.operations[work]
    usual = {"basis": operation.usual_basis, "measure": operation.usual_measure}
    write(data, prefix, operation=work, quantity=1, **{k: v for k, v in usual.items() if v})
    return f"id_{prefix}-amount" if operation.takes_amount else f"{garment}-more"


def bring(data: QueryDict, works: Iterable[str], desk: DropOffDesk) -> str:
    """Operations that a link names, each kind of garment once. What is not offered is left out."""
    places: dict[str, str] = {}
    for work in works:
        operation = desk.operations.get(work)
        kind = str(operation.garment_kind_id) if operation else ""
        if kind in desk.kinds:
            if kind not in places:
                places[kind] = next_row(data, "g")
                add_garment(data, kind, desk)
            add_line(data, places[kind], work, desk)
    return "id_q"


def again(data: QueryDict, last: TicketDraft, desk: DropOffDesk) -> str:
    """The garments and operations of last time, at the list's prices of today.

    What the list no longer offers is left out. The cursor goes to the first amount that is missing.
    """
    unmeasured = ""
    for garment in last.garments:
        kind = str(garment.kind_id or "")
        lines = [line for line in garment.lines if str(line.operation_id or "") in desk.operations]
        if kind not in desk.kinds or not lines:
            continue
        garment_row = next_row(data, "g")
        add_garment(data, kind, desk)
        for line in lines:
            row = next_row(data, f"{garment_row}-l")
            cursor = add_line(data, garment_row, str(line.operation_id), desk)
            names = [facts["name"] for facts in line.surcharges]
            offered = [name for name in names if name in desk.surcharges]
            write(data, row, quantity=line.quantity, amount=line.amount_typed, surcharges=offered)
            if line.amount_typed:
                write(data, row, basis=line.basis, measure=line.measure)
            elif cursor == f"id_{row}-amount":
                unmeasured = unmeasured or cursor
    return unmeasured or "save"
