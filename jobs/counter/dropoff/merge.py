"""Two people change one ticket: what only one of them touched is merged, the rest is asked.

The change page carries in ``opened`` what stood when it was opened, field by field. When it is
sent, three texts of every field are compared: what was opened, what stands now, and what was sent.
That is the rule of ``studio/shop/together.py``, where a row is one form.
Rows are known by their keys: ``g5`` is a garment, ``l7`` a line, the ticket itself is empty text.
"""

import json
from collections.abc import Iterable, Iterator, Mapping
from copy import deepcopy
from typing import Any, NamedTuple

from django import forms
from django.core.exceptions import ValidationError
from django.http import QueryDict
from django.utils.dateparse import parse_date

from clients.fit.lengths import Length
from jobs.counter.dropoff.desk import MONEY, CounterForm, StandingTicket, keys, row_numbers, write
from jobs.counter.dropoff.forms import (
    GarmentForm,
    LineForm,
    TicketForm,
    take_apart,
)
from jobs.tickets.models import Garment, Line, Ticket
from jobs.tickets.verbs import CARE, EDITED
from studio.shop import clock
from studio.shop.history import of
from studio.shop.locales import show_day
from studio.shop.models import Profile
from studio.shop.money import format_plain, plain_percent
from studio.shop.together import HOLD, TAKE, Merged, Question, Texts, last_entry, texts_of

GONE = "gone"
"""The field that says that a row is taken off."""
USUAL = ("price", "minutes", "fitting_place")
"""What an empty field leaves as it was agreed."""
UNASKED = {"pk", GONE, "kind", "kind_name", "photos", "read", "operation", "name"}
FIELDS: dict[str, dict[str, forms.Field]] = {
    "": {
        name: TicketForm.base_fields[name]
        for name in TicketForm.base_fields
        if name not in {"paid", "method", "reason"}
    },
    "g": {name: row for name, row in GarmentForm.base_fields.items() if name not in UNASKED},
    "l": {name: row for name, row in LineForm.base_fields.items() if name not in UNASKED}
    | {"surcharges": forms.MultipleChoiceField(label="Surcharges")},
}
MEASURED = (forms.IntegerField, forms.DecimalField)

Rows = dict[str, dict[str, Texts]]


class FormRow(NamedTuple):
    """``of`` is the key of the garment that a line is on."""

    key: str
    prefix: str
    of: str = ""


def opened(rows: Rows, entry: int) -> str:
    """What the page carries along: fields as they stood, and the last entry of the history."""
    return json.dumps({"entry": entry, "rows": rows})


def read_opened(text: str) -> tuple[int, Rows] | None:
    """Last entry and fields; None for what no page of ours has written."""
    try:
        facts = json.loads(text)
        rows = {
            str(key): {str(name): [str(text) for text in texts] for name, texts in row.items()}
            for key, row in facts["rows"].items()
        }
        return int(facts["entry"]), rows
    except (ValueError, TypeError, KeyError, AttributeError):
        return None


def rows_of(data: QueryDict) -> Iterator[FormRow]:
    """The ticket, and every garment and line that stands on it; those that are new have no key."""
    yield FormRow("", "")
    for number in row_numbers(data, "g"):
        prefix = f"g{number}"
        garment = _key("g", data.get(f"{prefix}-pk", ""))
        yield FormRow(garment, prefix)
        for place in row_numbers(data, f"{prefix}-l"):
            line = f"{prefix}-l{place}"
            yield FormRow(_key("l", data.get(f"{line}-pk", "")), line, garment)


def _key(kind: str, pk: str) -> str:
    return f"{kind}{pk}" if pk else f"new {kind}"


def fields_of(data: QueryDict, standing: StandingTicket, studio: Profile, *, money: bool) -> Rows:
    """How each field of the standing rows reads on a page that was just opened, ``data``."""
    rows = {
        row.key: {
            name: _texts(data, row, name)
            for name in FIELDS[row.key[:1]]
            if money or name not in MONEY
        }
        for row in rows_of(data)
    }
    for line in standing.draft.lines:
        fields = rows[f"l{line.pk}"]
        fields["minutes"] = [str(line.minutes_each)]
        if money:
            fields["price"] = [format_plain(line.unit_price, studio.currency)]
    return rows


def _at(row: FormRow, name: str) -> str:
    """How the page names the field."""
    return f"{row.prefix}-{name}" if row.prefix else name


def _texts(data: QueryDict, row: FormRow, name: str) -> Texts:
    return texts_of(data.getlist(_at(row, name)))


class Merge:
    """``data`` is what was sent, ``now`` a page opened this moment and its ``fields``.

    Merging writes into ``data`` what only others changed, and into its ``opened`` what needs no
    asking again.
    """

    def __init__(
        self, data: QueryDict, now: QueryDict, fields: Rows, base: Rows, studio: Profile
    ) -> None:
        self.data, self.page, self.now, self.base, self.studio = data, now, fields, base, studio
        self.rows = self._known_rows()
        self.merged = Merged()

    def _known_rows(self) -> dict[str, FormRow]:
        return {row.key: row for row in rows_of(self.data) if not row.key.startswith("new")}

    def choose(self, verb: str, name: str) -> None:
        """What the button beside a field says is no question any more."""
        prefix, _, last = name.rpartition("-")
        row = next((row for row in self.rows.values() if row.prefix == prefix), None)
        if row is None:
            return
        if last != GONE:
            if row.key in self.now and last in self.now[row.key]:
                if verb == TAKE:
                    self._write(row, last, self.now[row.key][last])
                self.base.setdefault(row.key, {})[last] = self.now[row.key][last]
            return
        stays = row.key in self.now
        self._write(row, GONE, ["yes"] if (verb == HOLD) == stays else [])
        for part in self._whole(row):
            if part.key in self.now:
                self.base[part.key] = self.now[part.key]
            else:
                self._as_new(part)
        self.rows = self._known_rows()

    def _as_new(self, row: FormRow) -> None:
        """A row that is no longer on the ticket comes back as a new one, at the price agreed."""
        base, thing = self.base.pop(row.key, {}), self._thing(row)
        for name in USUAL:
            if name in base and not self.data.get(_at(row, name)):
                self._write(row, name, base[name])
        if isinstance(thing, Line):
            self._write(row, "name", [thing.name])
        elif thing:
            self._write(row, "kind_name", [thing.kind_name])
        self._write(row, "pk", [])

    def run(self) -> Merged:
        for row in list(self.rows.values()):
            if row.of and (row.of not in self.now or self._gone(self.rows[row.of])):
                continue  # it goes with its garment, or is asked about with it
            if row.key not in self.now:
                self._was_removed(row)
            elif self._gone(row):
                self._is_removed(row)
            else:
                self._both_there(row)
        self._add_theirs()
        return self.merged

    def differences(self) -> list[str]:
        """What the form says otherwise than the ticket, in the order of the form."""
        return [*self._differences()]

    def _differences(self) -> Iterator[str]:
        for row in rows_of(self.data):
            kind, gone = row.key.removeprefix("new ")[:1], self._gone(row)
            if row.key.startswith("new"):
                if not gone:
                    yield "a garment added" if kind == "g" else "work added"
            elif row.key in self.now and gone:
                yield f"{self._name(row)} taken off"
            elif row.key in self.now:
                for name, theirs in self.now[row.key].items():
                    mine = _texts(self.data, row, name)
                    if not (name in USUAL and not mine) and not self._same(row, name, mine, theirs):
                        yield self._label(row, name)

    def _both_there(self, row: FormRow) -> None:
        base, now = self.base.get(row.key), self.now[row.key]
        for name, theirs in now.items():
            was, mine = base.get(name) if base else None, _texts(self.data, row, name)
            if name in USUAL and not mine:
                mine = theirs if was is None else was
            if theirs == was or self._same(row, name, mine, theirs):
                continue
            label = self._label(row, name)
            if was is not None and self._same(row, name, mine, was):
                self._write(row, name, [] if name in USUAL else theirs)
                self.merged.news.append(f"{label}: {self._shown(row, name, theirs)}")
                continue
            shown, typed = (self._shown(row, name, texts) for texts in (theirs, mine))
            self.merged.ask(_at(row, name), shown, typed)

    def _was_removed(self, row: FormRow) -> None:
        """They took it off. What was changed here is asked, the rest goes."""
        parts = [part for part in self._whole(row) if part.key in self.base]
        fresh = row.key[:1] == "g" and any(
            part.key.startswith("new") and part.prefix.startswith(f"{row.prefix}-")
            for part in rows_of(self.data)
        )
        if self._gone(row):
            return
        if fresh or any(self._touched(part) for part in parts):
            self._ask(
                row, GONE, "took this off since you opened the page.", "Remove it", "Leave it on"
            )
            return
        self._write(row, GONE, ["yes"])
        self.merged.news.append(f"{self._name(row)} taken off")

    def _is_removed(self, row: FormRow) -> None:
        """It was taken off here. What they changed of it since is looked at before it goes."""
        grown = any(part.of == row.key and part.key not in self.base for part in rows_of(self.page))
        whole = self._whole(row)
        if grown or any(self.base.get(part.key) != self.now.get(part.key) for part in whole):
            self._write(row, GONE, [])
            self._ask(
                row, GONE, "changed this since you opened the page, and you took it off.",
                "Leave it on", "Remove it",
            )  # fmt: skip

    def _add_theirs(self) -> None:
        """Rows that came since the page was opened stand on it as well."""
        for row in [*rows_of(self.page)]:
            if row.key in self.rows or row.key in self.base:
                continue
            if row.of and row.of not in self.rows:
                continue  # copied with its garment
            within = f"{self.rows[row.of].prefix}-l" if row.of else "g"
            place = f"{within}{max(row_numbers(self.data, within), default=-1) + 1}"
            for name in [*self.page]:
                if name.startswith(f"{row.prefix}-"):
                    self.data.setlist(place + name[len(row.prefix) :], self.page.getlist(name))
            if not row.of or row.of in self.now:
                self.merged.news.append(f"{self._name(row)} added")

    def opened(self, entry: int) -> str:
        """What was merged counts as opened; what is asked about does not."""
        rows = {key: {**fields} for key, fields in self.now.items()}
        for row in self.rows.values():
            if f"{row.prefix}-{GONE}" in self.merged.questions:
                rows |= {
                    part.key: self.base[part.key]
                    for part in self._whole(row)
                    if part.key in self.base
                }
            for name in self.now.get(row.key, ()):
                if _at(row, name) in self.merged.questions:
                    del rows[row.key][name]
                    if name in self.base.get(row.key, {}):
                        rows[row.key][name] = self.base[row.key][name]
        return opened(rows, entry)

    def _gone(self, row: FormRow) -> bool:
        return bool(self.data.get(_at(row, GONE)))

    def _ask(self, row: FormRow, name: str, words: str, take: str, hold: str) -> None:
        at = _at(row, name)
        self.merged.questions[at] = Question(at, f"{self.merged.who} {words}", take, hold)

    def _whole(self, row: FormRow) -> Iterable[FormRow]:
        """A garment with its lines, or a line alone."""
        return [part for part in self.rows.values() if row.key in {part.key, part.of}]

    def _touched(self, row: FormRow) -> bool:
        return not self._gone(row) and any(
            (mine := _texts(self.data, row, name)) != was
            and not (name in USUAL and not mine)
            and not self._same(row, name, mine, was)
            for name, was in self.base[row.key].items()
        )

    def _same(self, row: FormRow, name: str, first: Texts, second: Texts) -> bool:
        return first == second or self._meaning(row, name, first) == self._meaning(
            row, name, second
        )

    def _meaning(self, row: FormRow, name: str, texts: Texts) -> Any:
        """A tick, a number or a length, however it was typed; other texts as they are."""
        field = FIELDS[row.key[:1]][name]
        if isinstance(field, forms.BooleanField):
            return bool(texts) and field.to_python(texts[-1])
        if len(texts) != 1 or not (hasattr(field, "for_studio") or isinstance(field, MEASURED)):
            return texts
        field = deepcopy(field)
        if hasattr(field, "for_studio"):
            field.for_studio(self.studio)
        try:
            value = field.clean(texts[0])
        except ValidationError:
            return texts
        return value.mm if isinstance(value, Length) else value

    def _write(self, row: FormRow, name: str, texts: Texts) -> None:
        self.data.setlist(_at(row, name), texts or [""])

    def _label(self, row: FormRow, name: str) -> str:
        label = str(FIELDS[row.key[:1]][name].label)
        return f"{self._name(row)}, {label.lower()}" if row.key else label

    def _name(self, row: FormRow) -> str:
        thing = self._thing(row)
        if isinstance(thing, Line):
            return f"{thing.garment.letter} {thing.name}"
        return f"{thing.letter} {thing.kind_name}" if thing else "A garment"

    def _thing(self, row: FormRow) -> Garment | Line | None:
        """The row itself, also one that was taken off."""
        pks = keys([row.key[1:]])
        if row.key[0] == "l":
            return Line.objects.select_related("garment").filter(pk__in=pks).first()
        return Garment.objects.filter(pk__in=pks).first()

    def _shown(self, row: FormRow, name: str, texts: Texts) -> str:
        field = FIELDS[row.key[:1]][name]
        if isinstance(field, forms.BooleanField):
            return "yes" if texts else "no"
        if isinstance(field, forms.DateField) and texts and (day := parse_date(texts[0])):
            return show_day(day, self.studio.locale)
        choices = dict(getattr(field, "choices", ()))
        return ", ".join(str(choices.get(text, text)) for text in texts) or "nothing"


def is_untouched(ticket: Ticket) -> bool:
    """Whether what was agreed and noted when it came in stands as it did then."""
    noted = of(ticket).filter(verb__in=[EDITED.key, CARE.key])
    return ticket.version == 1 and not noted.exists()


def of_ticket(data: QueryDict, standing: StandingTicket, studio: Profile) -> None:
    """What reads back as the ticket stands: the change page starts from it."""
    draft, promise = standing.draft, clock.local(standing.draft.promise_at)
    _fill(data, "", TicketForm, vars(draft))
    write(
        data,
        form_key=draft.form_key,
        promise_day=promise.date(),
        promise_time=f"{promise:%H:%M}",
        rush="on" if draft.rush_percent else "",
        discount_percent=plain_percent(draft.discount_percent) if draft.discount_percent else "",
    )
    for name, minor in {
        "discount_amount": draft.discount_amount or None,
        "deposit": draft.deposit,
    }.items():
        data[name] = "" if minor is None else format_plain(minor, studio.currency)
    for number, garment in enumerate(draft.garments):
        marks, condition = take_apart(garment.noted["condition"])
        photos = [str(pk) for pk in garment.photos]
        prefix = f"g{number}"
        _fill(data, prefix, GarmentForm, vars(garment) | garment.noted)
        write(data, prefix, kind=garment.kind_id or "", marks=marks, condition=condition)
        write(data, prefix, heel=garment.noted["heel_typed"], photos=photos)
        for place, line in enumerate(garment.lines):
            row, surcharges = f"{prefix}-l{place}", [facts["name"] for facts in line.surcharges]
            _fill(data, row, LineForm, vars(line))
            write(data, row, operation=line.operation_id or "", surcharges=surcharges)
            write(data, row, amount=line.amount_typed)


def open_change(data: QueryDict, standing: StandingTicket, studio: Profile, *, money: bool) -> None:
    """The change page as it opens: the ticket, and what it is compared with when it is sent."""
    of_ticket(data, standing, studio)
    fields = fields_of(data, standing, studio, money=money)
    data["opened"] = opened(fields, last_entry(standing.ticket))


def adopt(
    data: QueryDict,
    standing: StandingTicket,
    studio: Profile,
    rows: Mapping[str, int],
    *,
    money: bool,
) -> None:
    """A drop-off form that was saved as this ticket before becomes a change of it.

    ``rows`` are the keys of what became of its garments and lines. Where the ticket has been
    changed since, all that differs is asked.
    """
    for prefix, pk in rows.items():
        if f"{prefix}-kind" in data or f"{prefix}-operation" in data:
            data[f"{prefix}-pk"] = str(pk)
    now = QueryDict(mutable=True)
    of_ticket(now, standing, studio)
    # Left empty at the drop-off, the deposit is the list's; then it was agreed.
    write(data, deposit=data.get("deposit") or now.get("deposit", ""))
    fields = fields_of(now, standing, studio, money=money) if is_untouched(standing.ticket) else {}
    data["opened"] = opened(fields, 0)


def what_differs(
    data: QueryDict,
    standing: StandingTicket,
    studio: Profile,
    rows: Mapping[str, int],
    *,
    money: bool,
) -> list[str]:
    """What an adopted form says otherwise than the ticket, each in a few words."""
    data = data.copy()
    adopt(data, standing, studio, rows, money=money)
    now = QueryDict(mutable=True)
    of_ticket(now, standing, studio)
    fields = fields_of(now, standing, studio, money=money)
    return Merge(data, now, fields, {}, studio).differences()


def _fill(data: QueryDict, prefix: str, form: type[CounterForm], draft: Mapping[str, Any]) -> None:
    """What the draft calls by the same name as the form."""
    write(data, prefix, **{name: draft[name] for name in form.base_fields if draft.get(name)})
