"""The way back: exactly the fields that an entry changed, or a reason why not."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from itertools import chain, zip_longest
from typing import Any, cast

from django.core.exceptions import ValidationError
from django.db import IntegrityError, router, transaction
from django.db.models import ForeignKey, ManyToManyField, Model, ProtectedError, RestrictedError
from django.db.models.deletion import Collector

from studio.shop import clock
from studio.shop.history.queries import can_be_undone, of
from studio.shop.history.recording import (
    AnyField,
    Change,
    Key,
    Step,
    Values,
    field_of,
    lock_rows,
    model_of,
    read,
    same,
    to_python,
    write,
)
from studio.shop.history.verbs import OLDER, UNDONE, verb_of
from studio.shop.models import Entry, EntrySubject, User

FORGOTTEN = "The program has changed since, so this cannot be undone any more."
VANISHED = "What this changed is not there any more, so it cannot be undone."
ALONE = "Other rows follow from this, so it is undone by itself only."
STANDS_ON_IT = "Something else stands on this by now, so it cannot be undone any more."


class HistoryError(Exception):
    """Why a step cannot be taken back, in a sentence for the page."""


@dataclass(frozen=True)
class Undo:
    """Steps that are about to be taken back together, for those who have a say.

    Mostly it is one; several are of one verb, the latest first, and have no row in common. Who
    refuses any refuses all of them, and is then asked about fewer.
    """

    entries: list[Entry]
    changes: list[Change]
    by: User | None

    @property
    def entry(self) -> Entry:
        """For who has something to say of one alone: several are then undone one by one."""
        if len(self.entries) > 1:
            raise HistoryError(ALONE)
        return self.entries[0]

    @property
    def verb(self) -> str:
        return self.entries[0].verb

    @property
    def since(self) -> datetime:
        """When the first of them was done."""
        return min(entry.at for entry in self.entries)

    def about(self, model: type[Model]) -> list[Any]:
        """The keys of those of ``model`` that the entries are about."""
        label, keys = model._meta.label_lower, [entry.pk for entry in self.entries]
        subjects = EntrySubject.objects.filter(label=label, entry__in=keys)
        return list(subjects.values_list("row", flat=True))

    def of(self, model: type[Model]) -> list[Change]:
        """What they did to rows of ``model``."""
        return [change for change in self.changes if change.label == model._meta.label_lower]

    def touches(self, model: type[Model], *names: str) -> bool:
        """Whether one of these fields was changed, or a row of ``model`` made or taken away."""
        return any(
            change.was is None or change.now is None or not change.names.isdisjoint(names)
            for change in self.of(model)
        )


_before: list[Callable[[Undo], None]] = []
_after: list[Callable[[Undo, Step], None]] = []


def before_undo(say: Callable[[Undo], None]) -> Callable[[Undo], None]:
    """``say`` is asked before anything is undone, and raises HistoryError where it must not be."""
    _before.append(say)
    return say


def after_undo(follow: Callable[[Undo, Step], None]) -> Callable[[Undo, Step], None]:
    """``follow`` sees to what follows from the fields that were put back."""
    _after.append(follow)
    return follow


def undo(*, entry: Entry, by: User | None) -> Entry:
    """Put back exactly what ``entry`` changed; gives the entry that tells of it. Twice is once.

    Raises HistoryError when there is no way back, when a field has changed since, when a row or a
    field is gone, or when a room refuses.
    """
    return _undo([entry.pk], by)[0]


def undo_all(*, entries: Iterable[Entry], by: User | None) -> dict[int, str]:
    """As ``undo`` for each in turn; gives why not by the key of each that stays as it is.

    What is alike is looked at and put back at once: where that is refused, by halves, down to the
    one step that is the reason.
    """
    refused: dict[int, str] = {}
    for together in _groups(entries):
        refused |= _undo_these(together, by)
    return refused


def _groups(entries: Iterable[Entry]) -> Iterator[list[Entry]]:
    """Neighbours of one verb that have no row in common."""
    group: list[Entry] = []
    known: set[Key] = set()
    for entry in entries:
        keys = {Change.of(data).key for data in entry.changes}
        if group and (group[0].verb != entry.verb or known & keys):
            yield group
            group, known = [], set()
        group.append(entry)
        known |= keys
    if group:
        yield group


def _undo_these(entries: list[Entry], by: User | None) -> dict[int, str]:
    try:
        _undo([entry.pk for entry in entries], by)
    except HistoryError as refused:
        if len(entries) == 1:
            return {entries[0].pk: str(refused)}
        half = len(entries) // 2
        return _undo_these(entries[:half], by) | _undo_these(entries[half:], by)
    return {}


@transaction.atomic
def _undo(keys: list[int], by: User | None) -> list[Entry]:
    """The entries that tell of it, the latest first. Raises HistoryError, and nothing is done."""
    locked = list(Entry.objects.select_for_update().filter(pk__in=keys).order_by("-pk"))
    again = [entry.pk for entry in locked if entry.undone_at]
    undone = list(Entry.objects.filter(undoes__in=again).order_by("-pk")) if again else []
    there = {entry.undoes_id for entry in undone}
    entries = [entry for entry in locked if entry.pk not in there]
    if not entries:
        return undone
    if not all(can_be_undone(entry, by) for entry in entries):
        raise HistoryError("This cannot be undone.")
    subjects: dict[int, list[Key]] = defaultdict(list)
    for about in EntrySubject.objects.filter(entry__in=entries).order_by("pk"):
        subjects[about.entry_id].append((about.label, about.row))
    lock_rows(chain.from_iterable(subjects.values()))
    steps = [[Change.of(data) for data in entry.changes] for entry in entries]
    step_back = Undo(entries, list(chain.from_iterable(steps)), by)
    _compare(step_back.changes)
    for say in _before:
        say(step_back)
    for entry in entries:
        entry.undone_at, entry.undone_by = clock.now(), by
    Entry.objects.bulk_update(entries, ["undone_at", "undone_by"])
    step = Step(UNDONE, {})
    _put_back(steps, step)
    for follow in _after:
        follow(step_back, step)
    told = zip(entries, _apart(step.changes(), steps), strict=True)
    return undone + write(
        (step.told(by, changes, undoes=entry, money=entry.money), subjects[entry.pk])
        for entry, changes in told
    )


def _apart(changes: list[Change], steps: list[list[Change]]) -> list[list[Change]]:
    """What was done to the rows of each step; where there is one, everything is its own."""
    if len(steps) == 1:
        return [changes]
    whose = {change.key: place for place, step in enumerate(steps) for change in step}
    parts: list[list[Change]] = [[] for _ in steps]
    for change in changes:
        if change.key not in whose:
            raise HistoryError(ALONE)
        parts[whose[change.key]].append(change)
    return parts


def _compare(changes: list[Change]) -> None:
    """Raises HistoryError unless every row still is as the step left it."""
    rows = read((change.key for change in changes), lock=True)
    for change in changes:
        model = model_of(change.label)
        if model is None:
            raise HistoryError(FORGOTTEN)
        row = rows.get(change.key)
        if change.now is None:
            if row is not None:
                raise HistoryError(STANDS_ON_IT)
        elif row is None:
            raise HistoryError(VANISHED)
        else:
            _compare_row(model, change, change.now, row)


def _compare_row(model: type[Model], change: Change, now: Values, row: Values) -> None:
    for name, value in now.items():
        if name in change.derived:
            continue
        field = field_of(model, name)
        if field is None:
            raise HistoryError(FORGOTTEN)
        if name not in change.loose and not same(field, value, row[name]):
            what, whose = field.verbose_name, model._meta.verbose_name
            raise HistoryError(
                f"The {what} of this {whose} was changed since, so this cannot be undone any more."
            )


def _put_back(steps: list[list[Change]], step: Step) -> None:
    """Rows that went come back first, then fields, and what came goes last, children first."""
    changes = list(chain.from_iterable(steps))
    known = {change.key for change in changes if change.now is None}
    step.keep(*(_row(change) for change in changes if change.now is not None))
    try:
        with transaction.atomic():
            for change in changes:
                if change.was is not None:
                    _write(change, change.was, known, step)
            _take_away_all([[change for change in one if change.was is None] for one in steps])
    except IntegrityError as wrong:
        raise HistoryError(STANDS_ON_IT) from wrong


def _take_away_all(steps: list[list[Change]]) -> None:
    """The last row of each step first, then the last but one: alike ones go at once."""
    came = {change.key for one in steps for change in one}
    for layer in zip_longest(*map(reversed, steps)):
        alike: dict[str, list[Any]] = defaultdict(list)
        for change in filter(None, layer):
            alike[change.label].append(change.pk)
        for label, keys in alike.items():
            _take_away(label, keys, came)


def _row(change: Change) -> Model:
    model = model_of(change.label)
    assert model is not None  # noqa: S101 -- compared before
    return model(pk=change.pk)


def _write(change: Change, was: Values, known: set[Key], step: Step) -> None:
    row = _row(change)
    model = type(row)
    columns: Values = {}
    many: dict[str, list[Any]] = {}
    for name, value in was.items():
        field = field_of(model, name)
        if name in change.derived and change.now is not None:
            continue
        if field is None:
            raise HistoryError(FORGOTTEN)
        if isinstance(field, ManyToManyField):
            many[name] = _still_there(field, value, known)
        else:
            columns[field.attname] = _python(field, value, known)
    if change.now is None:
        for name, value in columns.items():
            setattr(row, name, value)
        row.save_base(raw=True, force_insert=True)
        step.add(row)
    elif columns:
        model._base_manager.filter(pk=change.pk).update(**columns)
    for name, targets in many.items():
        getattr(row, name).set(targets)


def _python(field: AnyField, value: Any, known: set[Key]) -> Any:
    try:
        told = to_python(field, value)
    except ValidationError as wrong:
        raise HistoryError(FORGOTTEN) from wrong
    if isinstance(field, ForeignKey) and told is not None:
        _still_there(field, [told], known)
    return told


def _still_there(
    field: "ForeignKey[Any, Any] | ManyToManyField[Any, Any]", targets: list[Any], known: set[Key]
) -> list[Any]:
    """The rows that ``field`` is to name again. Raises HistoryError where one has vanished."""
    model = field.related_model
    label = model._meta.label_lower
    there = set(model._base_manager.filter(pk__in=targets).values_list("pk", flat=True))
    if any(target not in there and (label, target) not in known for target in targets):
        raise HistoryError(VANISHED)
    return targets


def _take_away(label: str, keys: list[Any], came: set[Key]) -> None:
    """The rows go, or are marked as removed where their model keeps removed rows."""
    model = model_of(label)
    assert model is not None  # noqa: S101 -- compared before
    found = model._base_manager.filter(pk__in=keys)
    if field_of(model, "removed_at"):
        found.update(removed_at=clock.now())
        return
    rows = list(found)
    collector = Collector(using=router.db_for_write(model))
    try:
        collector.collect(rows)
    except (ProtectedError, RestrictedError) as wrong:
        raise HistoryError(STANDS_ON_IT) from wrong
    if _leans(collector, model, came):
        raise HistoryError(STANDS_ON_IT)
    collector.delete()


def _leans(collector: Collector, model: type[Model], came: set[Key]) -> bool:
    """Whether rows would go, or lose what they name, that neither came with the step nor are the
    row's own many-to-many links.
    """
    groups: list[Iterable[Model]] = [*collector.data.values(), *collector.fast_deletes]
    # What would be emptied: a list of groups for each field.
    for updates in cast("Iterable[list[Iterable[Model]]]", collector.field_updates.values()):
        groups += updates
    return any(
        (row._meta.label_lower, row.pk) not in came
        and cast("type[Model] | bool", row._meta.auto_created) is not model
        for group in groups
        for row in group
    )


def redact(*about: Model, older: Callable[[str], str] | None = None) -> int:
    """Forget, in every entry about these, what is personal: parameters and values; gives how many.

    The entries remain, with the parameters that their verbs say stay. They cannot be undone. Of a
    sentence that an earlier version wrote stays what ``older`` makes of it.
    """
    entries = list(of(*about))
    for entry in entries:
        verb, words = verb_of(entry), entry.parameters.get("words", "")
        stays = verb.stays if verb else ()
        entry.parameters = {
            name: value for name, value in entry.parameters.items() if name in stays
        }
        if verb is OLDER and older:
            entry.parameters = {"words": older(str(words))}
        entry.changes = []
    return Entry.objects.bulk_update(entries, ["parameters", "changes"], batch_size=100)
