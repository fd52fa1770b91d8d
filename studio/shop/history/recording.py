"""Writing down what a step did."""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import Any

from django.db import transaction
from django.db.models import Model, QuerySet

from studio.shop import clock
from studio.shop.history.queries import of
from studio.shop.history.rows import Key, Values, differences, key_of, read
from studio.shop.history.verbs import Verb, verb_of
from studio.shop.models import Entry, EntrySubject, User


class Step:
    """A step under way: the rows it may change, and the parameters that tell of it."""

    def __init__(self, parameters: dict[str, Any]) -> None:
        self.parameters = parameters
        self.entry: Entry | None = None
        self._before: dict[Key, Values] = {}
        self._sets: list[QuerySet[Any]] = []
        self._new: list[Key] = []

    def keep(self, *rows: Model | QuerySet[Any]) -> None:
        """Read these rows now, before they change. Those that a queryset gains are noticed too."""
        keys: list[Key] = []
        for row in rows:
            if isinstance(row, Model):
                keys.append(key_of(row))
            else:
                self._sets.append(row.all())
                keys += self._keys(row.all())
        self._before |= read(key for key in keys if key not in self._before)

    def add(self, *rows: Model) -> None:
        """These rows were made in this step."""
        self._new += [key_of(row) for row in rows]

    def changes(self) -> list[dict[str, Any]]:
        keys = [*self._before, *self._new]
        for rows in self._sets:
            keys += self._keys(rows.all())
        return [change.as_data() for change in differences(self._before, read(keys))]

    @staticmethod
    def _keys(rows: QuerySet[Any]) -> list[Key]:
        label = rows.model._meta.label_lower
        return [(label, pk) for pk in rows.values_list("pk", flat=True)]


@contextmanager
def record(
    verb: Verb, /, *, about: Model | Iterable[Model], by: User | None, **parameters: Any
) -> Iterator[Step]:
    """Record what the block does to the rows it keeps, in one transaction with it.

    Nothing changed makes no entry. See the package for the whole story.
    """
    with transaction.atomic():
        step = Step(parameters)
        yield step
        if changes := step.changes():
            step.entry = write(verb, _keys_of(about), by, step.parameters, changes=changes)


def note(
    verb: Verb, /, *, about: Model | Iterable[Model], by: User | None, **parameters: Any
) -> Entry:
    """An entry of something that has no way back, and whose rows speak for themselves."""
    with transaction.atomic():
        return write(verb, _keys_of(about), by, parameters)


def redact(*about: Model) -> int:
    """Forget, in every entry about these, what is personal: parameters and values; gives how many.

    The entries remain, with the parameters that their verbs say stay. They cannot be undone.
    """
    entries = list(of(*about))
    for entry in entries:
        verb = verb_of(entry)
        stays = verb.stays if verb else ()
        entry.parameters = {
            name: value for name, value in entry.parameters.items() if name in stays
        }
        entry.changes = []
    return Entry.objects.bulk_update(entries, ["parameters", "changes"], batch_size=100)


def write(
    verb: Verb, about: Iterable[Key], by: User | None, parameters: dict[str, Any], **facts: Any
) -> Entry:
    """The bare entry, about the rows with these keys."""
    entry = Entry.objects.create(
        **{"at": clock.now(), "by": by, "verb": verb.key, "money": verb.money} | facts,
        parameters=parameters,
    )
    EntrySubject.objects.bulk_create(
        EntrySubject(entry=entry, label=label, row=pk) for label, pk in dict.fromkeys(about)
    )
    return entry


def _keys_of(about: Model | Iterable[Model]) -> list[Key]:
    return [key_of(row) for row in ([about] if isinstance(about, Model) else about)]
