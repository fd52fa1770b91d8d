"""The way back: exactly the fields that an entry changed, or a reason why not."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
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
from studio.shop.models import Entry, User

FORGOTTEN = "The program has changed since, so this cannot be undone any more."
VANISHED = "What this changed is not there any more, so it cannot be undone."
STANDS_ON_IT = "Something else stands on this by now, so it cannot be undone any more."


class HistoryError(Exception):
    """Why a step cannot be taken back, in a sentence for the page."""


@dataclass(frozen=True)
class Undo:
    """A step that is about to be taken back, for those who have a say."""

    entry: Entry
    changes: list[Change]
    by: User | None

    def about(self, model: type[Model]) -> list[Any]:
        """The keys of those of ``model`` that the entry is about."""
        subjects = self.entry.subjects.filter(label=model._meta.label_lower)
        return list(subjects.values_list("row", flat=True))

    def of(self, model: type[Model]) -> list[Change]:
        """What it did to rows of ``model``."""
        return [change for change in self.changes if change.label == model._meta.label_lower]

    def touches(self, model: type[Model], *names: str) -> bool:
        """Whether it changed one of these fields, or made or took away a row of ``model``."""
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


@transaction.atomic
def undo(*, entry: Entry, by: User | None) -> Entry:
    """Put back exactly what ``entry`` changed; gives the entry that tells of it. Twice is once.

    Raises HistoryError when there is no way back, when a field has changed since, when a row or a
    field is gone, or when a room refuses.
    """
    entry = Entry.objects.select_for_update().get(pk=entry.pk)
    if entry.undone_at and (undone := Entry.objects.filter(undoes=entry).first()):
        return undone
    if not can_be_undone(entry, by):
        raise HistoryError("This cannot be undone.")
    subjects = [(subject.label, subject.row) for subject in entry.subjects.order_by("pk")]
    lock_rows(subjects)
    step_back = Undo(entry, [Change.of(data) for data in entry.changes], by)
    _compare(step_back.changes)
    for say in _before:
        say(step_back)
    entry.undone_at, entry.undone_by = clock.now(), by
    entry.save(update_fields=["undone_at", "undone_by"])
    step = Step(UNDONE, {})
    _put_back(step_back.changes, step)
    for follow in _after:
        follow(step_back, step)
    return write(step, subjects, by, step.changes(), undoes=entry, money=entry.money)


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


def _put_back(changes: list[Change], step: Step) -> None:
    """Rows that went come back first, then fields, and what came goes last, children first."""
    went = [change for change in changes if change.now is None]
    came = [change for change in changes if change.was is None]
    known = {change.key for change in went}
    step.keep(*(_row(change) for change in changes if change.now is not None))
    try:
        with transaction.atomic():
            for change in changes:
                if change.was is not None:
                    _write(change, change.was, known, step)
            for change in reversed(came):
                _take_away(change, {other.key for other in came})
    except IntegrityError as wrong:
        raise HistoryError(STANDS_ON_IT) from wrong


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


def _take_away(change: Change, came: set[Key]) -> None:
    """The row goes, or is marked as removed where its model keeps removed rows."""
    model = type(_row(change))
    row = model._base_manager.get(pk=change.pk)
    if field_of(model, "removed_at"):
        model._base_manager.filter(pk=row.pk).update(removed_at=clock.now())
        return
    collector = Collector(using=router.db_for_write(model, instance=row), origin=row)
    try:
        collector.collect([row])
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
