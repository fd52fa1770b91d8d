"""Two people change one card: what only one of them touched is merged, the rest is asked.

The one home of the rule, which is that of any three-way merge. The page carries in ``opened`` what
it showed when it was opened, field by field. When it is sent, three texts of every field are
compared, while nobody else can change the row: what was opened, what stands now, and what was sent.
A ticket with its garments and lines has rows that come and go: ``jobs/counter/dropoff/merge.py``.
"""

import json
import re
from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Any

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db.models import Model
from django.forms import BaseForm, BaseFormSet, BoundField
from django.http import QueryDict
from django.utils.dateparse import parse_date
from django.utils.html import format_html
from django.utils.safestring import SafeString

from studio.shop.history import of
from studio.shop.http import StudioRequest
from studio.shop.locales import show_day
from studio.shop.models import User
from studio.shop.stored.files import FilePiece, atomic_with_files

TAKE, HOLD = "take", "hold"
"""The buttons beside a field that both changed: what the other wrote, or what was typed here."""

Texts = list[str]
Fields = dict[str, Texts]


class Beside(SafeString):
    """What stands at a field: ``words``, and buttons behind them."""

    words: str


@dataclass(frozen=True)
class Question:
    """A field that both changed, or a row that one took off and the other changed.

    ``field`` is its name on the page.
    """

    field: str
    words: str
    take: str
    hold: str

    @property
    def beside(self) -> Beside:
        """What stands at the field: the words, and a button for each of the two."""
        button = '<button class="btn" type="submit" name="intent" value="{}:{}">{}</button>'
        take = format_html(button, TAKE, self.field, self.take)
        hold = format_html(button, HOLD, self.field, self.hold)
        beside = Beside(format_html('{} <span class="row">{} {}</span>', self.words, take, hold))
        beside.words = self.words
        return beside


@dataclass
class Merged:
    """``news`` is what others changed and nobody asks about, each in a few words."""

    who: str = ""
    news: list[str] = field(default_factory=list)
    questions: dict[str, Question] = field(default_factory=dict)

    @property
    def sentence(self) -> str:
        """What others changed; empty where they changed nothing."""
        return f"{self.who} changed meanwhile: {'; '.join(self.news)}." if self.news else ""

    def after(self, earlier: "Merged") -> "Merged":
        """With what was merged a moment before."""
        return Merged(self.who or earlier.who, earlier.news + self.news, self.questions)

    def ask(self, name: str, theirs: str, mine: str) -> None:
        """Both changed the field ``name``; here are both, as they are shown."""
        words = f"{self.who} changed this since you opened the page, to: {theirs}."
        self.questions[name] = Question(name, words, f"Use {theirs}", f"Keep {mine}")


def who_changed(row: Model, since: int, by: User) -> str:
    """Who has done something with the row since that entry of its history."""
    entries = of(row).filter(pk__gt=since, by__isnull=False)
    people = dict.fromkeys(entry.by for entry in entries if entry.by)
    names = ["You, in another window," if person == by else person.shown_name for person in people]
    return " and ".join(names) or "Somebody"


def last_entry(row: Model) -> int:
    """Where the row's history is now: what is done later has a larger key."""
    return of(row).values_list("pk", flat=True).first() or 0


def texts_of(texts: list[str]) -> Texts:
    """What was sent for one field, so that two can be compared."""
    return sorted(text.strip().replace("\r\n", "\n") for text in texts if text.strip())


class OpenCard:
    """The form of a row as one page has it, and the ``table`` below it if it has one.

    The form gets ``opened``, a hidden field for its template, and ``since``, the last entry of the
    row's history when it was opened.
    ``saved`` says that it was good and is saved; ``entry`` is what saving gave.
    """

    form: Any
    table: Any

    def __init__(
        self,
        request: StudioRequest,
        row: Model,
        form_of: Callable[[QueryDict | None, Any], BaseForm],
        table_of: Callable[[QueryDict | None, Any], "BaseFormSet[Any]"] | None = None,
        table_name: str = "",
    ) -> None:
        self.row, self.table_name = row, table_name
        self.merged = Merged()
        self.saved, self.entry = False, None
        self._studio = request.studio
        self._fresh = form_of(None, row)
        fresh_table = table_of(None, row) if table_of else None
        now = {bound.html_name: _shown_texts(bound) for bound in self._asked()}
        self._table_now = _texts_of_table(fresh_table) if fresh_table is not None else {}
        opened: dict[str, Any] = {"entry": last_entry(row), "fields": now, "table": self._table_now}
        self._opened = opened
        data: QueryDict | None = None
        if request.method == "POST":
            data = request.POST.copy()
            if base := _read(data.get("opened", "")):
                self._opened = base
                self.merged.who = who_changed(row, base["entry"], request.user)
                self._choose(request.POST.get("intent", ""), data, opened)
                self._merge(data, opened)
        self.form = form_of(data, row)
        self.table = table_of(data, row) if table_of else None
        self.form.since = self._opened["entry"]
        # The first button is the one that Enter presses: it decides nothing.
        self.form.opened = format_html(
            '<input type="hidden" name="opened" value="{}">{}',
            json.dumps(self._opened),
            SafeString('<button type="submit" hidden></button>' if self.merged.questions else ""),
        )

    def is_valid(self) -> bool:
        """Whether all is good and nothing has to be asked; questions stand at their fields."""
        good = [self.form.is_valid(), self.table is None or self.table.is_valid()]
        names = {bound.html_name: bound.name for bound in self._asked()}
        for name, question in self.merged.questions.items():
            self.form.add_error(names.get(name), ValidationError(question.beside))
        return all(good) and not self.merged.questions

    def _asked(self) -> list[BoundField]:
        """The fields that have a text: no pictures, and nothing hidden."""
        return [
            bound
            for bound in self._fresh
            if not bound.is_hidden and not isinstance(bound.field, forms.FileField)
        ]

    def _choose(self, intent: str, data: QueryDict, now: dict[str, Any]) -> None:
        """What the button beside a field says is no question any more."""
        verb, _, name = intent.partition(":")
        if verb not in {TAKE, HOLD}:
            return
        if name == self.table_name and self._table_now:
            if verb == TAKE:
                self._write_table(data)
            self._opened["table"] = now["table"]
            return
        bound = next((bound for bound in self._asked() if bound.html_name == name), None)
        if bound is not None:
            if verb == TAKE:
                _write(data, bound, now["fields"][name])
            self._opened["fields"][name] = now["fields"][name]

    def _merge(self, data: QueryDict, now: dict[str, Any]) -> None:
        base = self._opened["fields"]
        for bound in self._asked():
            name, mine = bound.html_name, texts_of(data.getlist(bound.html_name))
            theirs, was = now["fields"][name], base.get(name)
            if was == theirs or _same(bound, mine, theirs):
                base[name] = theirs
            elif was is not None and _same(bound, mine, was):
                base[name] = theirs
                _write(data, bound, theirs)
                self.merged.news.append(f"{bound.label}: {self._shown(bound, theirs)}")
            else:
                self.merged.ask(name, self._shown(bound, theirs), self._shown(bound, mine))
        self._merge_table(data, now["table"])

    def _merge_table(self, data: QueryDict, theirs: Fields) -> None:
        if not theirs:
            return
        sent = {name: data.getlist(name) for name in data if _in_table(name, theirs)}
        mine, was = _rows(sent), _rows(self._opened["table"])
        if _rows(theirs) not in (mine, was) and mine != was:
            self.merged.ask(self.table_name, _table_shown(theirs), "yours")
            return
        if mine == was != _rows(theirs):
            self._write_table(data)
            self.merged.news.append(f"{self.table_name}: {_table_shown(theirs)}")
        self._opened["table"] = theirs

    def _write_table(self, data: QueryDict) -> None:
        for name in [name for name in data if _in_table(name, self._table_now)]:
            del data[name]
        for name, texts in self._table_now.items():
            data.setlist(name, texts)

    def _shown(self, bound: BoundField, texts: Texts) -> str:
        asked = bound.field
        if isinstance(asked, forms.BooleanField):
            return "yes" if texts else "no"
        if isinstance(asked, forms.DateField) and texts and (day := parse_date(texts[0])):
            return show_day(day, self._studio.locale)
        names = {str(key): str(label) for key, label in getattr(asked, "choices", ())}
        return ", ".join(names.get(text, text) for text in texts) or "nothing"


def edit_card(
    request: StudioRequest,
    row: Model,
    form_of: Callable[[QueryDict | None, Any], BaseForm],
    save: Callable[[OpenCard], Any],
    **table: Any,
) -> OpenCard:
    """The card of ``row``; sent, and good, it is saved by ``save``, which calls an action.

    Other windows wait: what stands in the row is read, compared and saved in one transaction.
    ``save`` may refuse with an error on the card's form. ``table`` is as for ``OpenCard``.
    """
    if request.method != "POST":
        return OpenCard(request, row, form_of, **table)
    pieces = _read_files(form_of(request.POST.copy(), row)) if request.FILES else []
    with atomic_with_files(*pieces):
        rows = type(row)._default_manager.select_for_update()  # noqa: SLF001
        card = OpenCard(request, rows.filter(pk=row.pk).first() or row, form_of, **table)
        if card.is_valid():
            card.entry = save(card)
            card.saved = not card.form.errors
    if card.saved and card.merged.news:
        messages.info(request, f"{card.merged.sentence} Both are saved.")
    return card


def _read_files(form: BaseForm) -> list[FilePiece]:
    """Before anybody has to wait: a picture's field keeps with an upload what it made of it."""
    pieces: list[FilePiece] = []
    for bound in form:
        if isinstance(bound.field, forms.FileField):
            with suppress(ValidationError):
                read = bound.field.clean(bound.data, bound.initial)
                pieces += bound.field.pieces(read) if hasattr(bound.field, "pieces") else []
    return pieces


def _read(text: str) -> dict[str, Any] | None:
    """What the page carried along; None for what no page of ours has written."""
    try:
        opened = json.loads(text)
        return {
            "entry": int(opened["entry"]),
            "fields": _read_fields(opened["fields"]),
            "table": _read_fields(opened["table"]),
        }
    except (ValueError, TypeError, KeyError, AttributeError):
        return None


def _read_fields(fields: Mapping[str, Any]) -> Fields:
    return {str(name): [str(text) for text in texts] for name, texts in fields.items()}


def _shown_texts(bound: BoundField) -> Texts:
    """What a browser would send of a field that nobody has touched."""
    widget, value = bound.field.widget, bound.value()
    if isinstance(widget, forms.CheckboxInput):
        return ["on"] if widget.check_test(value) else []
    shown = widget.format_value(value)
    return texts_of([str(text) for text in (shown if isinstance(shown, list) else [shown or ""])])


def _write(data: QueryDict, bound: BoundField, texts: Texts) -> None:
    """As a browser sends it: of boxes only those that are ticked, of others also what is empty."""
    widget = bound.field.widget
    boxes = isinstance(widget, forms.CheckboxInput) or getattr(
        widget, "allow_multiple_selected", False
    )
    data.setlist(bound.html_name, texts if boxes else texts or [""])


def _same(bound: BoundField, first: Texts, second: Texts) -> bool:
    return first == second or _meaning(bound, first) == _meaning(bound, second)


def _meaning(bound: BoundField, texts: Texts) -> Any:
    """A tick, a number, a price or a length, however it was typed; other texts as they are."""
    asked = bound.field
    if isinstance(asked, forms.BooleanField):
        return bool(texts)
    if len(texts) != 1:
        return texts
    try:
        value = asked.clean(texts if isinstance(asked, forms.MultipleChoiceField) else texts[0])
    except ValidationError:
        return texts
    return getattr(value, "mm", value)


def _texts_of_table(table: "BaseFormSet[Any]") -> Fields:
    parts = [table.management_form, *table]
    return {
        bound.html_name: [str(bound.value() if bound.value() is not None else "")]
        for part in parts
        for bound in part
    }


def _in_table(name: str, table: Fields) -> bool:
    prefix = next(iter(table)).partition("-")[0]
    return name.startswith(f"{prefix}-")


def _rows(table: Fields) -> list[tuple[str, ...]]:
    """Its rows in their order, but for empty ones."""
    rows: dict[int, dict[str, str]] = {}
    for name, texts in table.items():
        if found := re.fullmatch(r"\w+-(\d{1,4})-(\w+)", name):
            rows.setdefault(int(found[1]), {})[found[2]] = " ".join(texts_of(texts))
    cells = [tuple(text for _, text in sorted(rows[place].items())) for place in sorted(rows)]
    return [row for row in cells if any(row)]


def _table_shown(table: Fields) -> str:
    return "; ".join(" ".join(text for text in row if text) for row in _rows(table)) or "nothing"
