"""Writing down what a step did: rows as plain data, before and after."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, TypeAlias

from django.apps import apps
from django.db import transaction
from django.db.models import Field, ForeignKey, JSONField, ManyToManyField, Model, QuerySet

from studio.shop import clock
from studio.shop.history.verbs import Verb
from studio.shop.models import Entry, EntrySubject, User

Key = tuple[str, Any]
"""A row: the label of its model such as ``tickets.line``, and its primary key."""
Values = dict[str, Any]
"""Fields of a row by name, as JSON carries them there and back without loss."""
AnyField: TypeAlias = "Field[Any, Any]"


@dataclass(frozen=True)
class _Fields:
    derived: frozenset[str] = frozenset()
    loose: frozenset[str] = frozenset()


_declared: dict[str, _Fields] = {}


def fields(model: type[Model], *, derived: Iterable[str] = (), loose: Iterable[str] = ()) -> None:
    """Say that undo neither compares nor puts back the ``derived`` fields of ``model``, which
    follow from others; and puts back the ``loose`` ones though they have changed since.
    """
    _declared[model._meta.label_lower] = _Fields(frozenset(derived), frozenset(loose))


@dataclass(frozen=True)
class Change:
    """What a step did to one row: ``was`` is None where it came with it, ``now`` where it went."""

    label: str
    pk: Any
    was: Values | None
    now: Values | None

    @classmethod
    def of(cls, data: dict[str, Any]) -> "Change":
        return cls(data["row"][0], data["row"][1], data["was"], data["now"])

    def as_data(self) -> dict[str, Any]:
        return {"row": [self.label, self.pk], "was": self.was, "now": self.now}

    @property
    def key(self) -> Key:
        return self.label, self.pk

    @property
    def names(self) -> set[str]:
        """The fields that changed; all of them for a row that came or went."""
        return {*(self.was or {}), *(self.now or {})}

    @property
    def derived(self) -> frozenset[str]:
        return _declared.get(self.label, _Fields()).derived

    @property
    def loose(self) -> frozenset[str]:
        return _declared.get(self.label, _Fields()).loose


def key_of(row: Model) -> Key:
    return row._meta.label_lower, row.pk


def model_of(label: str) -> type[Model] | None:
    try:
        return apps.get_model(label)
    except LookupError:
        return None


def read(keys: Iterable[Key], *, lock: bool = False) -> dict[Key, Values]:
    """The rows as they stand in the database, in the order of ``keys``.

    One query a model, one more a many-to-many field.
    """
    wanted, rows = list(dict.fromkeys(keys)), dict[Key, Values]()
    for label, pks in _by_model(wanted).items():
        if (model := model_of(label)) is None:
            continue
        manager = model._base_manager.all()
        held = (manager.select_for_update() if lock else manager).order_by("pk").in_bulk(pks)
        rows |= _values(model, held.values())
    return {key: rows[key] for key in wanted if key in rows}


def lock_rows(keys: Iterable[Key]) -> None:
    """Others have to wait with these rows until the transaction is over."""
    for label, pks in _by_model(keys).items():
        if model := model_of(label):
            locked = model._base_manager.select_for_update().filter(pk__in=pks).order_by("pk")
            list(locked.values_list("pk"))


def read_set(rows: QuerySet[Any]) -> dict[Key, Values]:
    """The same of whatever rows the queryset finds now."""
    return _values(rows.model, rows.all())


def _values(model: type[Model], rows: Iterable[Model]) -> dict[Key, Values]:
    label = model._meta.label_lower
    values: dict[Key, Values] = {(label, row.pk): values_of(row) for row in rows}
    for field in _many(model) if values else ():
        for of_row in values.values():
            of_row[field.name] = []
        own, other = field.m2m_column_name(), field.m2m_reverse_name()
        links = _through(field)._base_manager.filter(
            **{f"{field.m2m_field_name()}__in": [pk for _, pk in values]}
        )
        for pk, target in links.order_by(other).values_list(own, other):
            values[label, pk][field.name].append(target)
    return values


def values_of(row: Model) -> Values:
    """The row's own columns but its key."""
    return {
        field.attname: to_json(field, row)
        for field in row._meta.concrete_fields
        if not field.primary_key
    }


def to_json(field: AnyField, row: Model) -> Any:
    value = field.value_from_object(row)
    if value is None or isinstance(field, JSONField) or isinstance(value, (bool, int)):
        return value
    return field.value_to_string(row)


def to_python(field: AnyField, value: Any) -> Any:
    """The value that was kept, as the field has it today. Raises what ``Field.to_python`` does."""
    return value if value is None or isinstance(field, JSONField) else field.to_python(value)


def field_of(model: type[Model], name: str) -> "AnyField | None":
    """The field that is kept under ``name``; None where the program has it no longer."""
    for field in (*model._meta.concrete_fields, *_many(model)):
        if name in {field.attname, field.name}:
            return field
    return None


def same(field: AnyField, first: Any, second: Any) -> bool:
    """Whether two kept values are one: ``45.0`` is ``45.000`` where a field has more places."""
    if first == second:
        return True
    if isinstance(field, (ManyToManyField, ForeignKey)) or first is None or second is None:
        return False
    try:
        return bool(to_python(field, first) == to_python(field, second))
    except (ValueError, TypeError, ArithmeticError):
        return False


def differences(before: dict[Key, Values], after: dict[Key, Values]) -> list[Change]:
    """What changed from one reading to the next, in the order in which the rows were first read."""
    changes = []
    for key in dict.fromkeys([*before, *after]):
        was, now = before.get(key), after.get(key)
        if was is not None and now is not None:
            names = [name for name in was if was[name] != now[name]]
            was, now = {name: was[name] for name in names}, {name: now[name] for name in names}
        if was or now:
            changes.append(Change(*key, was, now))
    return changes


def _by_model(keys: Iterable[Key]) -> dict[str, list[Any]]:
    grouped: dict[str, list[Any]] = defaultdict(list)
    for label, pk in dict.fromkeys(keys):
        grouped[label].append(pk)
    return grouped


def _many(model: type[Model]) -> "list[ManyToManyField[Any, Any]]":
    """Many-to-many fields with a plain table between; others' rows are kept as rows."""
    return [field for field in model._meta.local_many_to_many if _through(field)._meta.auto_created]


def _through(field: "ManyToManyField[Any, Any]") -> type[Model]:
    table: type[Model] | None = field.remote_field.through
    assert table is not None  # noqa: S101 -- Django makes one for every such field
    return table


def differing(row: Model) -> list[str]:
    """The names of the fields by which ``row`` differs from what the database holds of it."""
    stored = type(row)._base_manager.get(pk=row.pk)
    return [
        field.name
        for field in row._meta.concrete_fields
        if field.value_from_object(stored) != field.value_from_object(row)
    ]


def called(model: type[Model], names: Iterable[str]) -> str:
    """What these fields are called today; by its name what the program has no longer."""
    fields = [(name, field_of(model, name)) for name in names]
    return ", ".join(str(field.verbose_name) if field else name for name, field in fields)


class Step:
    """A step under way: the rows it may change, and the verb and parameters that tell of it."""

    def __init__(self, verb: Verb, parameters: dict[str, Any]) -> None:
        self.verb = verb
        self.parameters = parameters
        self.entry: Entry | None = None
        self._before: dict[Key, Values] = {}
        self._sets: list[QuerySet[Any]] = []
        self._new: list[Key] = []

    def keep(self, *rows: Model | QuerySet[Any]) -> None:
        """Read these rows now, before they change. Those that a queryset gains are noticed too."""
        sets = [row for row in rows if isinstance(row, QuerySet)]
        before = read(key_of(row) for row in rows if isinstance(row, Model))
        for rows_now in sets:
            before |= read_set(rows_now)
        self._sets += sets
        self._before |= {key: before[key] for key in before if key not in self._before}

    def add(self, *rows: Model) -> None:
        """These rows were made in this step."""
        self._new += [key_of(row) for row in rows]

    def changes(self) -> list[Change]:
        """What has changed so far; reads the rows again."""
        after: dict[Key, Values] = {}
        for rows in self._sets:
            after |= read_set(rows)
        after |= read(key for key in [*self._before, *self._new] if key not in after)
        return differences(self._before, after)

    def told(self, by: User | None, changes: Iterable[Change] = (), **facts: Any) -> Entry:
        """The entry that tells of it, not saved."""
        return Entry(
            at=clock.now(),
            by=by,
            verb=self.verb.key,
            parameters=self.parameters,
            changes=[change.as_data() for change in changes],
            **{"money": self.verb.money} | facts,
        )


@contextmanager
def record(
    verb: Verb, /, *, about: Model | Iterable[Model], by: User | None, **parameters: Any
) -> Iterator[Step]:
    """Record what the block does to the rows it keeps, in one transaction with it.

    Nothing changed makes no entry. See the package for the whole story.
    """
    with transaction.atomic():
        step = Step(verb, parameters)
        yield step
        if changes := step.changes():
            (step.entry,) = write([(step.told(by, changes), _keys_of(about))])


def note(
    verb: Verb, /, *, about: Model | Iterable[Model], by: User | None, **parameters: Any
) -> Entry:
    """An entry of something that has no way back, and whose rows speak for themselves."""
    with transaction.atomic():
        return write([(Step(verb, parameters).told(by), _keys_of(about))])[0]


def record_made(verb: Verb, made: Iterable[Sequence[Model]], *, by: User | None) -> list[Entry]:
    """For each group of rows that were just made an entry about the first of them.

    As ``record`` with ``step.add`` for each, in three statements for all of them.
    """
    step = Step(verb, {})
    with transaction.atomic():
        return write(
            (
                step.told(by, [Change(*key_of(row), None, values_of(row)) for row in rows]),
                [key_of(rows[0])],
            )
            for rows in made
        )


def write(told: Iterable[tuple[Entry, Iterable[Key]]]) -> list[Entry]:
    """The bare entries, each about the rows with these keys."""
    several = list(told)
    entries = Entry.objects.bulk_create([entry for entry, _ in several], batch_size=500)
    subjects = [
        EntrySubject(entry=entry, label=label, row=pk)
        for entry, about in several
        for label, pk in dict.fromkeys(about)
    ]
    EntrySubject.objects.bulk_create(subjects, batch_size=500)
    return entries


def _keys_of(about: Model | Iterable[Model]) -> list[Key]:
    return [key_of(row) for row in ([about] if isinstance(about, Model) else about)]
