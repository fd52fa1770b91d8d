"""The price list as two CSV files, operations and surcharges: out, and what one would do coming in.

Words are the ones the pages show; yes and no for what is or is not.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation
from typing import Any, ClassVar

from jobs.pricing.models import Basis, FittingPlace, Measure, Operation, Surcharge, WorkOrder
from studio.shop.files import Row, UnreadableFileError, parse_csv
from studio.shop.forms import MoneyField
from studio.shop.imports import CellField, Reading, RowForm, at_most, check, one_of, yes_or_no
from studio.shop.models import Profile
from studio.shop.money import format_plain, plain_percent

OPERATION_HEADINGS = [
    "garment", "operation", "price", "minutes", "fitting first", "order of work", "stitch",
    "asks how far", "usual basis", "usual measure", "where a fitting is booked",
    "days to hang",
]  # fmt: skip
SURCHARGE_HEADINGS = ["surcharge", "price %", "fixed price", "minutes %", "fixed minutes"]
MOST_ROWS = 2000
MOST_MINUTES = 6000
MOST_DAYS = 14
MISSING = {"required": "is missing."}


def whole_number(cell: str) -> int:
    if not (cell.isascii() and cell.isdigit() and len(cell) < 6 and int(cell) <= MOST_MINUTES):
        raise ValueError(f"write a whole number up to {MOST_MINUTES}, not “{cell}”.")
    return int(cell)


def few_days(cell: str) -> int:
    if not (cell.isascii() and cell.isdigit() and len(cell) < 3 and int(cell) <= MOST_DAYS):
        raise ValueError(f"write days up to {MOST_DAYS}, not “{cell}”.")
    return int(cell)


def percentage(cell: str) -> Decimal:
    try:
        percent = Decimal(cell.removesuffix("%").strip().replace(",", "."))
    except InvalidOperation:
        raise ValueError(f"write a percentage, not “{cell}”.") from None
    if not (percent.is_finite() and 0 <= percent < 1000) or percent != round(percent, 3):
        raise ValueError(f"write 0 to 999.999, not “{cell}”.")
    return percent


def stitch_number(cell: str) -> str:
    if not (cell.isascii() and cell.isdigit() and 100 <= int(cell) <= 699 and len(cell) == 3):
        raise ValueError(f"an ISO 4915 stitch is 101 to 699, not “{cell}”.")
    return cell


def place_of_work(cell: str) -> Any:
    """A place in the order of work; files of an older list call one of them otherwise."""
    older = {"zips, buttons, pockets": WorkOrder.CLOSURES.label}
    return one_of(WorkOrder)(str(older.get(cell.casefold(), cell)))


class ListRow(RowForm):
    """A row of the price list: the model it is for, and how an entry is known in the file."""

    model: ClassVar[type[Operation] | type[Surcharge]]
    needed: ClassVar[tuple[str, ...]] = ()  # columns without which there is no new entry
    names: ClassVar[tuple[str, ...]] = ("name",)

    @property
    def key(self) -> str:
        return ": ".join(self.cleaned_data[name] for name in self.names)

    def differing(self, entry: Operation | Surcharge) -> list[str]:
        """The headings under which the row says something else than ``entry``."""
        return [
            str(column.label)
            for name, column in self.fields.items()
            if name not in self.names and getattr(entry, name) != self.cleaned_data[name]
        ]


class OperationRow(ListRow):
    model = Operation
    needed = ("price",)
    names = ("kind", "name")

    kind = CellField("garment", at_most(60))
    name = CellField("operation", at_most(80))
    minutes = CellField("minutes", whole_number, empty=0)
    fitting_first = CellField("fitting first", yes_or_no, empty=False)
    fitting_place = CellField(
        "where a fitting is booked", one_of(FittingPlace), empty=FittingPlace.AFTER.value
    )
    hang_days = CellField("days to hang", few_days, empty=0)
    work_order = CellField("order of work", place_of_work, empty=WorkOrder.BODY.value)
    stitch = CellField("stitch", stitch_number, empty="")
    takes_amount = CellField("asks how far", yes_or_no, empty=False)
    usual_basis = CellField("usual basis", one_of(Basis), empty="")
    usual_measure = CellField("usual measure", one_of(Measure), empty="")
    price = MoneyField(label="price", error_messages=MISSING)


class SurchargeRow(ListRow):
    model = Surcharge

    name = CellField("surcharge", at_most(60))
    percent = CellField("price %", percentage, empty=Decimal(0))
    minutes_percent = CellField("minutes %", percentage, empty=Decimal(0))
    minutes = CellField("fixed minutes", whole_number, empty=0)
    amount = MoneyField(label="fixed price", required=False)

    def clean_amount(self) -> int:
        return self.cleaned_data["amount"] or 0


@dataclass(frozen=True)
class ListChange:
    """One row that was understood. ``columns`` names the headings whose cells differ."""

    key: str
    facts: Mapping[str, Any]
    entry: Operation | Surcharge | None
    columns: list[str]


@dataclass
class ListPlan:
    """What a file would do to the list."""

    form: type[ListRow]
    changes: list[ListChange] = field(default_factory=list)

    @property
    def new(self) -> list[ListChange]:
        return [change for change in self.changes if change.entry is None]

    @property
    def changed(self) -> list[ListChange]:
        return [change for change in self.changes if change.entry and change.columns]

    @property
    def unchanged(self) -> int:
        return len(self.changes) - len(self.new) - len(self.changed)


def read_list(text: str, studio: Profile) -> Reading:
    """The rows of one of the two files, each cell checked.

    Raises UnreadableFileError when the headings tell neither operations nor surcharges.
    """
    rows = parse_csv(text, most_rows=MOST_ROWS)
    form = _form_of(rows)
    for row in rows:
        check(row, form(row.cells, studio=studio))
    return Reading(rows)


def plan_import(rows: list[Row], studio: Profile) -> ListPlan:
    """Compare rows, all of them understood, with the list. What the file does not name stays.

    What cannot be taken is written down at its row.
    """
    plan = ListPlan(_form_of(rows))
    known = {str(entry): entry for entry in _entries(plan.form)}
    lines: dict[str, int] = {}
    for row in rows:
        form = plan.form(row.cells, studio=studio)
        form.full_clean()
        entry = known.get(form.key)
        if form.key in lines:
            row.problems.append(f"“{form.key}” stands on line {lines[form.key]} already.")
        elif entry is None and (missing := [name for name in form.needed if name not in row.cells]):
            row.problems += [f"{name}: is missing." for name in missing]
        else:
            columns = form.differing(entry) if entry else []
            plan.changes.append(ListChange(form.key, form.cleaned_data, entry, columns))
        lines.setdefault(form.key, row.line)
    return plan


def _form_of(rows: list[Row]) -> type[ListRow]:
    headings = rows[0].cells.keys() if rows else set()
    if {"garment", "operation"} <= headings:
        return OperationRow
    if "surcharge" in headings:
        return SurchargeRow
    raise UnreadableFileError(
        "The first line names the columns: garment, operation, price … or surcharge, price % …"
    )


def _entries(form: type[ListRow]) -> Iterable[Operation | Surcharge]:
    if form is OperationRow:
        return Operation.objects.select_related("garment_kind")
    return Surcharge.objects.all()


def operation_cells(operation: Operation, currency: str) -> list[str]:
    """An operation as a row under ``OPERATION_HEADINGS``."""
    return [
        operation.garment_kind.name,
        operation.name,
        format_plain(operation.price, currency),
        str(operation.minutes),
        "yes" if operation.fitting_first else "no",
        operation.get_work_order_display(),
        operation.stitch,
        "yes" if operation.takes_amount else "no",
        operation.get_usual_basis_display() if operation.usual_basis else "",
        operation.get_usual_measure_display() if operation.usual_measure else "",
        operation.get_fitting_place_display(),
        str(operation.hang_days),
    ]


def surcharge_cells(surcharge: Surcharge, currency: str) -> list[str]:
    """A surcharge as a row under ``SURCHARGE_HEADINGS``."""
    return [
        surcharge.name,
        plain_percent(surcharge.percent),
        format_plain(surcharge.amount, currency),
        plain_percent(surcharge.minutes_percent),
        str(surcharge.minutes),
    ]
