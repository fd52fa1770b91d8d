"""The one way in for a file: read, checked by a form, shown, held in the page, taken.

A room says in an ``Import`` how the text of its file becomes rows, what they would do, and which
action takes them; ``import_page`` is the view. What was looked at is what is taken: the rows travel
in the page, signed, and the second press sends them back. Nothing is kept on the server between.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from itertools import chain, islice
from typing import Any

from django import forms
from django.contrib import messages
from django.core import signing
from django.core.exceptions import ValidationError
from django.db.models import Choices
from django.http import HttpResponse
from django.shortcuts import redirect, render

from studio.shop.charsets import CHARSETS
from studio.shop.files import MOST_BYTES, Row, UnreadableFileError, in_time, one_file, read_letters
from studio.shop.forms import MoneyField
from studio.shop.http import StudioRequest, sent
from studio.shop.models import Profile

SALT = "shop.imports"
SAMPLES = 3
MENDED = "Some of its letters were written in another way than the file's."
KEPT_SECONDS = 24 * 3600
# Well under what one request may bring (DATA_UPLOAD_MAX_MEMORY_SIZE).
MOST_LETTERS = 4 * 1024 * 1024


class ImportRefusedError(Exception):
    """Why rows are not taken: what came back is not what was held, too old, or cannot be now."""


@dataclass
class Reading:
    """What a file holds.

    ``unknown`` are headings that mean nothing in the room, ``left_out`` what else is not taken.
    """

    rows: list[Row]
    unknown: list[str] = field(default_factory=list)
    left_out: str = ""

    def sample(self, known_by: str) -> list[str]:
        """Some cells with letters beyond ASCII, names if there are any: whether they are right."""
        names = [row.cells.get(known_by, "") for row in self.rows]
        others = (cell for row in self.rows for cell in row.cells.values())
        found = (text for text in chain(names, others) if not text.isascii())
        return list(islice(dict.fromkeys(islice(found, 99)), SAMPLES))

    @property
    def wrong(self) -> list[Row]:
        return [row for row in self.rows if row.problems]

    @property
    def doubtful(self) -> list[Row]:
        """What is taken, but should be looked at."""
        return [row for row in self.right if row.remarks]

    @property
    def right(self) -> list[Row]:
        return [row for row in self.rows if not row.problems]


@dataclass(frozen=True)
class Import:
    """One kind of file.

    ``read`` gives the rows of a text, checked; it raises UnreadableFileError. ``compare`` says what
    the right rows would do to what is here, as the page's context; it may find a row wrong as well.
    ``take`` does it in one transaction and says what was done; it raises one of ``refusals`` or
    ImportRefusedError. Rows held for one ``owner`` are not taken for another. The rows of a
    ``whole`` file are taken only where none of them is wrong.
    """

    owner: str
    page: str
    preview: str
    done: str
    read: Callable[[str], Reading]
    compare: Callable[[list[Row]], Mapping[str, Any]]
    take: Callable[[list[Row]], str]
    label: str = "A table (.csv)"
    accept: str = ".csv,.txt,text/csv"
    thing: str = ""  # what a row is, and the column by which a wrong one is known
    known_by: tuple[str, str] = ("", "")
    whole: bool = False
    most_bytes: int = MOST_BYTES
    refusals: tuple[type[Exception], ...] = ()
    context: Mapping[str, Any] = field(default_factory=dict)


class FileForm(forms.Form):
    file = forms.FileField(
        error_messages={"required": "Choose a file.", "empty": "The file is empty."}
    )

    letters = forms.ChoiceField(
        label="Letters", choices=[("", "As is most likely"), *CHARSETS.items()], required=False
    )

    def __init__(self, *args: Any, kind: Import, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if "letters" not in self.data and "letters" not in self.initial:
            del self.fields["letters"]
        self.fields["file"].label = kind.label
        self.fields["file"].widget.attrs["accept"] = kind.accept


def import_page(request: StudioRequest, kind: Import) -> HttpResponse:
    """Choose a file, look at what would happen, then do it: the third step sends what was held."""
    if "held" in request.POST:
        return _take(request, kind)
    form = FileForm(sent(request), request.FILES or None, kind=kind)
    if form.is_valid():
        try:
            with one_file():
                return _look(request, kind, form)
        except UnreadableFileError as error:
            form.add_error("file", str(error))
    return render(request, kind.page, {"form": form, **kind.context})


def _look(request: StudioRequest, kind: Import, form: FileForm) -> HttpResponse:
    chosen = form.cleaned_data.get("letters", "")
    letters = read_letters(form.cleaned_data["file"], chosen, most_bytes=kind.most_bytes)
    reading = kind.read(letters.text)
    shown = letters.is_guess or chosen
    again = FileForm(kind=kind, initial={"letters": letters.charset}) if shown else None
    mended = letters.mended_of([row.line for row in reading.rows])
    for row in reading.rows:
        row.remarks += [MENDED] if row.line in mended else []
    outcome = kind.compare(reading.right)
    offered = reading.right and not (kind.whole and reading.wrong)
    held = hold(reading.right, kind.owner) if offered else ""
    context = {
        "form": form, "kind": kind, "reading": reading, "held": held, "letters": letters,
        "again": again, "sample": reading.sample(kind.known_by[1]),
    }  # fmt: skip
    return render(request, kind.preview, context | {**kind.context} | {**outcome})


def _take(request: StudioRequest, kind: Import) -> HttpResponse:
    refusals: tuple[type[Exception], ...] = (ImportRefusedError, *kind.refusals)
    try:
        done = kind.take(release(request.POST["held"], kind.owner))
    except refusals as error:
        messages.error(request, str(error))
        return redirect(request.path)
    messages.success(request, done)
    return redirect(kind.done)


def hold(rows: Iterable[Row], owner: str) -> str:
    """Raises UnreadableFileError if the page would not be able to send it back."""
    facts = (owner, [(row.line, row.cells) for row in rows])
    held = signing.dumps(facts, salt=SALT, compress=True)
    if len(held) > MOST_LETTERS:
        raise UnreadableFileError("There is too much in the file. Send it in parts.")
    return held


def release(held: str, owner: str) -> list[Row]:
    """The rows that were held for this owner. Raises ImportRefusedError."""
    try:
        whose, rows = signing.loads(held, salt=SALT, max_age=KEPT_SECONDS)
    except signing.BadSignature as error:
        raise ImportRefusedError(
            "The page was open for too long. Choose the file again."
        ) from error
    if whose != owner:
        raise ImportRefusedError(
            "That was another client's or another list's file. Choose the file again."
        )
    return [Row(line, cells) for line, cells in rows]


def check(row: Row, form: forms.BaseForm) -> None:
    """Write down what the form says of the row, as it would be said of what is typed."""
    in_time()
    for name, errors in form.errors.items():
        label = f"{form[name].label}: " if name in form.fields else ""
        row.problems += [f"{label}{error}" for error in errors]


class RowForm(forms.Form):
    """One row of a table: each field is the column whose heading is its label.

    A column that the file lacks states nothing: it is no key of ``cleaned_data``.
    """

    def __init__(self, cells: Mapping[str, str], *, studio: Profile | None = None) -> None:
        columns = {name: str(column.label) for name, column in self.base_fields.items()}
        facts = {name: cells[label] for name, label in columns.items() if label in cells}
        super().__init__(facts)
        self.fields = {name: self.fields[name] for name in facts}
        for column in self.fields.values():
            if studio and isinstance(column, MoneyField):
                column.for_studio(studio)


class CellField(forms.CharField):
    """What ``parse`` makes of a cell (it raises ValueError); an empty one is ``empty``.

    Without ``empty`` the cell is needed.
    """

    default_error_messages = {"required": "is missing."}

    def __init__(
        self, label: str, parse: Callable[[str], Any] = str, *, empty: Any = None, **kwargs: Any
    ) -> None:
        super().__init__(label=label, required=empty is None, **kwargs)
        self.parse, self.empty_fact = parse, empty

    def clean(self, value: Any) -> Any:
        text = " ".join(super().clean(value).split())
        if not text:
            return self.empty_fact
        try:
            return self.parse(text)
        except ValueError as error:
            raise ValidationError(str(error)) from error


def at_most(letters: int) -> Callable[[str], str]:
    def parse(cell: str) -> str:
        if len(cell) > letters:
            raise ValueError(f"at most {letters} letters.")
        return cell

    return parse


def yes_or_no(cell: str) -> bool:
    if cell.casefold() not in {"yes", "no"}:
        raise ValueError(f"write yes or no, not “{cell}”.")
    return cell.casefold() == "yes"


def one_of(choices: type[Choices]) -> Callable[[str], Any]:
    """Reads a label of ``choices`` in any case."""
    labels = {str(label).casefold(): value for value, label in choices.choices}

    def parse(cell: str) -> Any:
        if cell.casefold() not in labels:
            known = ", ".join(str(label) for label in choices.labels)
            raise ValueError(f"write one of {known}, not “{cell}”.")
        return labels[cell.casefold()]

    return parse
