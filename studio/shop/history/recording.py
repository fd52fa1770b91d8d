"""Writing down what a step did."""

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from typing import Any

from django.db import transaction
from django.db.models import Model, QuerySet

from studio.shop import clock
from studio.shop.history.queries import of
from studio.shop.history.rows import Change, Key, Values, differences, key_of, read, read_set
from studio.shop.history.verbs import OLDER, Verb, verb_of
from studio.shop.models import Entry, EntrySubject, User


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
            step.entry = write(step, _keys_of(about), by, changes)


def note(
    verb: Verb, /, *, about: Model | Iterable[Model], by: User | None, **parameters: Any
) -> Entry:
    """An entry of something that has no way back, and whose rows speak for themselves."""
    with transaction.atomic():
        return write(Step(verb, parameters), _keys_of(about), by)


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


def write(
    step: Step,
    about: Iterable[Key],
    by: User | None,
    changes: Iterable[Change] = (),
    **facts: Any,
) -> Entry:
    """The bare entry, about the rows with these keys."""
    told: dict[str, Any] = {"money": step.verb.money} | facts
    entry = Entry.objects.create(
        at=clock.now(),
        by=by,
        verb=step.verb.key,
        parameters=step.parameters,
        changes=[change.as_data() for change in changes],
        **told,
    )
    EntrySubject.objects.bulk_create(
        EntrySubject(entry=entry, label=label, row=pk) for label, pk in dict.fromkeys(about)
    )
    return entry


def _keys_of(about: Model | Iterable[Model]) -> list[Key]:
    return [key_of(row) for row in ([about] if isinstance(about, Model) else about)]
