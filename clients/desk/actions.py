"""The verbs of the import desk: keep a file, read its rows, take them, give them back.

What may be long is done in batches, each in a transaction of its own: ``read_rows``, ``take_rows``
and ``undo_rows`` work for ``SECONDS`` and are called again until the file's state is another.
"""

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from datetime import timedelta
from time import monotonic
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Count, Q, QuerySet
from django.db.models.functions import Coalesce

from clients import verbs
from clients.actions import first_of, set_facts
from clients.desk.matching import (
    NOTES,
    Likeness,
    Match,
    Person,
    candidates,
    client_of,
    match,
    reach_of,
    seen_now,
)
from clients.files import (
    OpenedFile,
    by_columns,
    check_row,
    contacts_of,
    guess_columns,
    home_country,
    names_somebody,
)
from clients.models import (
    FACTS,
    MOST_NOTES,
    Client,
    ClientFile,
    Contact,
    ContactFacts,
    FileRow,
    name_key,
)
from clients.queries import more_contacts
from studio.shop import clock, history
from studio.shop.charsets import CHARSETS, GUESSED, code_of, read_again
from studio.shop.files import Row
from studio.shop.history import note, record
from studio.shop.models import User
from studio.shop.numbers import lock
from studio.shop.text import fold

KEPT_DAYS = 30
WHY_NOT = "Why not"  # the heading of the reasons, behind the rows that were not taken
SECONDS = 2.0
BATCH = 200
UNDO_BATCH = 100
State, Kind, Ending = ClientFile.State, FileRow.Kind, FileRow.Ending
READ = ("kind", "facts", "why", "name_key", "reach", "client", "beside", "offers", "ticked")
TO_TAKE = Q(ticked=True, outcome="", kind__in=[Kind.NEW, Kind.ALIKE, Kind.CHANGED])
DONE = Q(outcome__in=[Ending.ADDED, Ending.FILLED])


MEANWHILE = "This was done in another window meanwhile. Look at the file again."


class DeskError(Exception):
    """Why nothing was done with the file, in a sentence for the page."""


def keep_file(*, name: str, opened: OpenedFile, by: User, letters: str = "") -> ClientFile:
    """The file with its rows, of which nothing is understood or taken yet."""
    with transaction.atomic():
        file = ClientFile.objects.create(
            name=name[:200],
            state=State.COLUMNS if opened.headings else State.READING,
            by=by,
            at=clock.now(),
            headings=[list(pair) for pair in opened.headings.items()],
            columns=opened.columns | _chosen_before(opened.headings),
            left_out=opened.left_out,
            letters=letters,
        )
        _keep_rows(file, opened.rows)
    return file


def _chosen_before(headings: Mapping[str, str]) -> dict[str, str]:
    """What columns with these headings were taken for last time; rows come back with reasons."""
    names = {*headings} - {fold(WHY_NOT)}
    chosen = ClientFile.objects.exclude(state=State.COLUMNS).values_list("columns", flat=True)
    return next((columns for columns in chosen[:20] if names and {*columns} == names), {})


def _keep_rows(file: ClientFile, rows: Iterable[Row | FileRow]) -> None:
    made = (
        FileRow(
            file=file, line=row.line, cells=row.cells, problems=row.problems, remarks=row.remarks
        )
        for row in rows
    )
    FileRow.objects.bulk_create(made, batch_size=1000)


def choose_letters(*, file: ClientFile, letters: str, columns: Mapping[str, str]) -> None:
    """What was read in the letters of a guess is read in these, a charset's code.

    Each column stays what it is in ``columns``, or is guessed again by its new heading. Raises
    DeskError.
    """
    with transaction.atomic():
        file = _locked(file, State.COLUMNS, State.READING, State.PEOPLE)
        was = code_of(file.letters)
        if not was or letters not in GUESSED:
            raise DeskError("These letters cannot be chosen.")
        rows = list(file.rows.order_by("line"))
        try:
            names = _rename(file, was, letters)
            for row in rows:
                row.cells = {
                    names.get(name, name): read_again(cell, was, letters)
                    for name, cell in row.cells.items()
                }
        except UnicodeDecodeError:
            raise DeskError(f"This file cannot be read as {CHARSETS[letters]}.") from None
        guessed = guess_columns(names.values())
        file.columns = {
            new: columns.get(old) or guessed[new] for old, new in names.items() if new in guessed
        }
        file.letters = CHARSETS[letters]
        file.state = State.COLUMNS if file.state == State.COLUMNS else State.READING
        file.save(update_fields=["headings", "columns", "letters", "state"])
        file.rows.all().delete()
        _keep_rows(file, rows)


def _rename(file: ClientFile, was: str, letters: str) -> dict[str, str]:
    """The headings in other letters; gives what each column is called now by what it was."""
    names: dict[str, str] = {}
    headings = []
    for name, heading in file.headings:
        told = read_again(heading, was, letters)
        new = name if told == heading else fold(told)
        names[name] = name if new in {*names.values(), *dict(file.headings)} - {name} else new
        headings.append([names[name], told])
    file.headings = headings
    return names


def choose_columns(*, file: ClientFile, columns: Mapping[str, str]) -> None:
    """Each column is taken for this; what was read by other columns is read again.

    Raises DeskError where nobody would have a name, or something was taken already.
    """
    if not names_somebody(columns.values()):
        raise DeskError("Choose the column that holds the name.")
    with transaction.atomic():
        file = _locked(file, State.COLUMNS, State.READING, State.PEOPLE)
        file.state, file.columns = State.READING, dict(columns)
        file.save(update_fields=["state", "columns"])
        file.rows.update(kind="", ticked=False)


def match_again(*, file: ClientFile) -> None:
    """Back to the columns. Raises DeskError."""
    with transaction.atomic():
        file = _locked(file, State.READING, State.PEOPLE)
        file.state = State.COLUMNS if file.headings else State.READING
        file.save(update_fields=["state"])


def go_on(*, file: ClientFile, by: User) -> ClientFile:
    """What is under way, for a while. Gives the file as it stands."""
    step: Callable[[], None] | None = None
    ends = monotonic() + SECONDS
    while True:
        file = ClientFile.objects.get(pk=file.pk)
        step = {
            State.READING: lambda: _read_batch(file),  # noqa: B023 -- called at once
            State.TAKING: lambda: _take_batch(file, by),  # noqa: B023 -- called at once
            State.UNDOING: lambda: _undo_batch(file, by),  # noqa: B023 -- called at once
        }.get(State(file.state))
        if step is None or monotonic() > ends:
            return file
        step()


def _locked(file: ClientFile, *states: str) -> ClientFile:
    file = ClientFile.objects.select_for_update().get(pk=file.pk)
    if file.state not in states:
        raise DeskError(MEANWHILE)
    return file


def _read_batch(file: ClientFile) -> None:
    """The next rows are checked and compared, then written down; the last makes it a list."""
    rows = list(file.rows.filter(kind="").order_by("line")[:BATCH])
    home = home_country()
    found = [_checked(row, file, home) for row in rows]
    right = [read for read, _ in found if not read.problems]
    earlier = list(_earlier(file, rows[0].line)) if right else []
    matches = match(right, among=candidates(right), earlier=earlier) if right else []
    _fetch_facts(file, matches)
    by_line = {matched.row.line: matched for matched in matches}
    for row, (read, stated) in zip(rows, found, strict=True):
        _write_down(row, read, stated, by_line.get(read.line))
    with transaction.atomic():
        held = ClientFile.objects.select_for_update().get(pk=file.pk)
        if held.state != State.READING or held.columns != file.columns:
            return
        _keep(rows, *READ)
        if not held.rows.filter(kind="").exists():
            held.state = State.PEOPLE
            held.save(update_fields=["state"])


def _keep(rows: Iterable[FileRow], *names: str) -> None:
    """One by one, which is several times as quick as at once; who was erased meanwhile stays so."""
    for row in rows:
        FileRow.objects.filter(pk=row.pk).update(**{name: getattr(row, name) for name in names})


def _checked(row: FileRow, file: ClientFile, home: str) -> tuple[Row, set[str]]:
    """What the form says of the row, and which facts the file itself has."""
    cells = row.cells
    if file.headings:
        cells = {name: cells[name] for name, _ in file.headings if name in cells}
    read = Row(row.line, cells, list(row.problems), list(row.remarks))
    if file.headings:
        read = by_columns(read, file.columns)
    stated = {name for name, cell in read.cells.items() if cell}
    check_row(read, home)
    for facts in contacts_of(read):
        try:
            Contact().hold(facts).clean_fields(exclude=["client", "digits", "last4", "reach_key"])
        except ValidationError as error:
            read.problems += [f"{facts.value or facts.street}: {text}" for text in error.messages]
    return read, stated


def _earlier(file: ClientFile, line: int) -> Iterator[Person]:
    """Who of the file came before this line, without the facts."""
    rows = file.rows.filter(kind=Kind.NEW, line__lt=line).order_by("line")
    for at, key, reach in rows.values_list("line", "name_key", "reach"):
        yield Person(key, set(reach["numbers"]), set(reach["reached"]), line=at)


def _fetch_facts(file: ClientFile, matches: Iterable[Match]) -> None:
    """The facts of those whom a row was found to be, further up in the file."""
    people = [found.person for found in matches if found.verdict == Likeness.KNOWN and found.person]
    lines = [person.line for person in people if not person.client and not person.cells]
    facts = dict(file.rows.filter(line__in=lines).values_list("line", "facts")) if lines else {}
    for person in people:
        person.cells = person.cells or facts.get(person.line, {})


def _write_down(row: FileRow, read: Row, stated: Collection[str], found: Match | None) -> None:
    row.facts, row.name_key = read.cells, name_key(read.cells["name"])
    row.why = " ".join([*read.problems, *read.remarks])
    row.reach, row.offers, row.client, row.beside, row.ticked = {}, [], None, None, False
    if found is None:
        row.kind = Kind.WRONG
        return
    row.reach = reach_of(read)
    if found.person and found.verdict != Likeness.NEW:
        row.client, row.beside = found.client, found.person.line or None
    if found.verdict == Likeness.NEW:
        row.kind, row.ticked = Kind.NEW, True
    elif found.verdict == Likeness.ALIKE:
        row.kind, row.why = Kind.ALIKE, f"The same {found.shared}. {row.why}".strip()
    else:
        row.offers = [offer.as_data() for offer in found.offers(stated)]
        row.kind = Kind.CHANGED if row.offers else Kind.SAME
        row.ticked = any(offer["ticked"] for offer in row.offers)


def tick(*, file: ClientFile, shown: Collection[int], ticked: Collection[int],
         fields: Mapping[int, Collection[str]]) -> None:  # fmt: skip
    """Of the rows that were ``shown``, these are taken, with these of what they would change.

    Who is changed in nothing is not taken; who gets a further tick for a field is. Raises
    DeskError.
    """
    with transaction.atomic():
        file = _locked(file, State.PEOPLE)
        rows = list(file.rows.filter(pk__in=shown))
        if len(rows) < len({*shown}):
            raise DeskError(MEANWHILE)
        for row in rows:
            was = {offer["key"] for offer in row.offers if offer["ticked"]}
            wanted = set(fields.get(row.pk, ()))
            row.offers = [offer | {"ticked": offer["key"] in wanted} for offer in row.offers]
            row.ticked = row.pk in ticked
            if row.kind == Kind.CHANGED:
                row.ticked = bool(wanted) and (row.ticked or not wanted <= was)
        _keep(rows, "ticked", "offers")


def tick_all(*, file: ClientFile, kind: str, ticked: bool) -> None:
    """Everybody of the kind or nobody, on whatever page. Raises DeskError."""
    with transaction.atomic():
        rows = _locked(file, State.PEOPLE).rows.filter(kind=kind)
        if kind == Kind.CHANGED and ticked:
            # Who fills no gap is ticked field by field only.
            offers = rows.values_list("pk", "offers")
            keys = [pk for pk, several in offers if any(offer["ticked"] for offer in several)]
            for at in range(0, len(keys), 500):
                rows.filter(pk__in=keys[at : at + 500]).update(ticked=True)
        else:
            rows.update(ticked=ticked)


def start_taking(*, file: ClientFile) -> None:
    """Raises DeskError where nobody is ticked."""
    with transaction.atomic():
        file = _locked(file, State.PEOPLE)
        if not file.rows.filter(TO_TAKE).exists():
            raise DeskError("Nobody is ticked.")
        file.state = State.TAKING
        file.save(update_fields=["state"])


def _take_batch(file: ClientFile, by: User) -> None:
    with transaction.atomic():
        held = ClientFile.objects.select_for_update().get(pk=file.pk)
        if held.state != State.TAKING:
            return
        lock("clients")
        rows = list(held.rows.filter(TO_TAKE).order_by("line")[:BATCH])
        _add(held, [row for row in rows if row.kind != Kind.CHANGED], by)
        for row in [row for row in rows if row.kind == Kind.CHANGED]:
            _fill(held, row, by)
        _keep(rows, "outcome", "why", "client", "entry")
        if len(rows) < BATCH:
            held.state, held.taken_at = State.TAKEN, clock.now()
            held.save(update_fields=["state", "taken_at"])
            note(verbs.TAKE_FILE, about=held, by=by, name=held.name, **counts(held))


def counts(file: ClientFile) -> dict[str, int]:
    """How many were added, changed and left out, and could not be read."""
    told = file.rows.aggregate(
        added=Count("pk", filter=Q(outcome=Ending.ADDED)),
        changed=Count("pk", filter=Q(outcome=Ending.FILLED)),
        left=Count("pk", filter=~DONE & ~Q(kind=Kind.WRONG)),
        wrong=Count("pk", filter=Q(kind=Kind.WRONG)),
    )
    return dict(told)


def _add(file: ClientFile, rows: list[FileRow], by: User) -> None:
    """New clients, but for who came onto the list since the file was looked at."""
    fresh = {row.line: row for row in rows if row.kind == Kind.NEW}
    read = [Row(row.line, row.facts) for row in fresh.values()]
    own = file.rows.filter(outcome=Ending.ADDED).values("client")
    for found in match(read, among=candidates(read).exclude(pk__in=own)) if read else ():
        if found.client:
            row = fresh[found.row.line]
            row.outcome, row.client = Ending.LEFT, found.client
            row.why = f"{found.client} came onto the list meanwhile, with the same {found.shared}."
    taken = [row for row in rows if not row.outcome]
    clients = [client_of(row.facts) for row in taken]
    more = [
        more_contacts(client, contacts_of(Row(row.line, row.facts)))
        for client, row in zip(clients, taken, strict=True)
    ]
    Client.objects.bulk_create(clients, batch_size=500)
    Contact.objects.bulk_create([one for several in more for one in several], batch_size=500)
    made = [[client, *several] for client, several in zip(clients, more, strict=True)]
    entries = history.record_made(verbs.IMPORT, made, by=by)
    for row, client, entry in zip(taken, clients, entries, strict=True):
        row.outcome, row.client, row.entry = Ending.ADDED, client, entry


def _fill(file: ClientFile, row: FileRow, by: User) -> None:
    """Of a client what was ticked, where it still is as it was looked at."""
    key, left = row.client_id or 0, ""
    if row.beside:
        first = file.rows.get(line=row.beside)
        key = (first.client_id or 0) if first.outcome == Ending.ADDED else 0
        left = f"Line {row.beside}, the same person, was not taken."
    client = Client.objects.present().select_for_update().filter(pk=key).first()
    if client is None:
        row.outcome, row.why = Ending.LEFT, left or "The client is no longer on the list."
        return
    ticked = [offer for offer in row.offers if offer["ticked"]]
    fresh = [offer for offer in ticked if seen_now(client, offer["key"]) == offer["here"]]
    stale = [offer["label"] for offer in ticked if offer not in fresh]
    row.client, row.why = client, f"Changed meanwhile: {', '.join(stale)}." if stale else ""
    if len(client.notes) + len(row.facts[NOTES]) >= MOST_NOTES:
        fresh = [offer for offer in fresh if offer["key"] != NOTES]
        row.why = f"{row.why} Together the notes are too long.".strip()
    with record(verbs.COMPLETE, about=client, by=by) as step:
        step.keep(client)
        for contact in _write(client, row, {offer["key"] for offer in fresh}):
            contact.save()
            step.add(contact)
    row.entry = step.entry
    row.outcome = Ending.FILLED if step.entry else Ending.LEFT


def _write(client: Client, row: FileRow, keys: set[str]) -> list[Contact]:
    """Set and save what the keys name; gives what the client can be reached by besides, unsaved.

    Where another phone, e-mail or address becomes the first, the former one stays behind it.
    """
    facts: dict[str, Any] = {}
    more: list[ContactFacts] = []
    there = client_of(row.facts)
    for kind in [kind for kind in Contact.Kind.values if kind in keys]:
        first = client.first(kind)
        more += [first.facts] if first.is_filled else []
        facts |= first_of(there.first(kind).facts)
    facts |= {name: row.facts[name] for name in FACTS if name in keys}
    if NOTES in facts and client.notes:
        facts[NOTES] = f"{client.notes}\n{facts[NOTES]}"
    several = enumerate(contacts_of(Row(row.line, row.facts)))
    more += [contact for number, contact in several if f"more-{number}" in keys]
    set_facts(client, facts)
    return more_contacts(client, more)


def start_undo(*, file: ClientFile) -> None:
    """Raises DeskError."""
    with transaction.atomic():
        file = _locked(file, State.TAKEN, State.UNDONE)
        file.state = State.UNDOING
        file.save(update_fields=["state"])
        file.rows.filter(DONE).update(why="")


def _undo_batch(file: ClientFile, by: User) -> None:
    """The latest first, so that what stands on an earlier step of the file goes before it."""
    with transaction.atomic():
        held = ClientFile.objects.select_for_update().get(pk=file.pk)
        if held.state != State.UNDOING:
            return
        rows = list(held.rows.filter(DONE, why="").order_by("-entry").select_related("entry"))
        rows = rows[:UNDO_BATCH]
        entries = [row.entry for row in rows if row.entry]
        refused = history.undo_all(entries=entries, by=by)
        for row in rows:
            if row.entry is None:
                row.why = "The history has nothing of this any more."
            elif row.entry.pk in refused:
                row.why = refused[row.entry.pk]
            else:
                row.client = None if row.outcome == Ending.ADDED else row.client
                row.outcome = ""
        _keep(rows, "outcome", "why", "client")
        if len(rows) < UNDO_BATCH:
            held.state = State.UNDONE
            held.save(update_fields=["state"])
            note(verbs.UNDO_FILE, about=held, by=by, name=held.name, **counts(held))


def forget_file(*, file: ClientFile) -> None:
    """What was not taken goes at once. Raises DeskError."""
    with transaction.atomic():
        _locked(file, State.COLUMNS, State.READING, State.PEOPLE, State.UNDONE).delete()


def overdue() -> QuerySet[ClientFile]:
    """Files that have been here for long enough, with everybody's facts."""
    since = clock.now() - timedelta(days=KEPT_DAYS)
    return ClientFile.objects.alias(last=Coalesce("taken_at", "at")).filter(last__lt=since)


def sweep_files() -> int:
    """Erase what is overdue; how many files."""
    files = list(overdue())
    for file in files:
        file.delete()
    return len(files)
