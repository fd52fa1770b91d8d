"""The one history of the house: what was done, by whom, and the way back.

An entry is a verb with its parameters, the things on whose page it is read, and the old and the
new value of every field that changed. The page makes the sentence; undo puts back exactly those
fields. How a room uses it:

1. **Declare the verbs** in the app's ``verbs.py``, which is found by its name when the program
   starts (a room with rooms of its own imports theirs there)::

       TICK = Verb("ticket.tick", "Done: {letter} {name}.", stays=("letter", "name"))
       ISSUED = Verb("invoice.issue", "Invoice {number} issued.", undo=False, money=True,
                     stays=("number",))

   A sentence is a format string or a function of the parameters and the locale. Parameters are
   plain facts (text, numbers, days, moments, amounts in minor units), written for a reader by a
   conversion: ``{starts_at:when}``, ``{day:day}``, ``{letters:list}``, ``{length:minutes}``; see
   ``verbs.CONVERSIONS``. A parameter that an older entry lacks is told as ``…``. ``stays`` names
   the parameters that remain when a client is erased: all others are forgotten, so a parameter
   added later is personal until it is named.

2. **Record inside the action**, which changes the rows as it always did::

       with record(TICK, about=ticket, by=by, letter=garment.letter, name=line.name) as step:
           step.keep(ticket, line)
           line.done_at = clock.now()
           line.save(update_fields=["done_at"])

   ``keep`` reads the rows before, the end of the block reads them again, and only the fields that
   differ are written down, also those no page prints. It takes rows and querysets: a queryset is
   asked again, so that rows which came or went are noticed. ``step.add(row)`` names a row made in
   the block; ``step.parameters`` may still be filled in the block, and ``step.verb`` be another, by
   what ``step.changes()`` finds so far. Where nothing differs there is no entry (``step.entry`` is
   None). Do not record one row in two blocks that are open at once.
   ``note(ISSUED, about=ticket, by=by, number=...)`` writes an entry without rows, which has no
   way back. ``record_made(IMPORT, [[client, *contacts], ...], by=by)`` writes an entry for each
   group of rows that were made at once. ``by`` is None for what the program did by itself.
   ``about`` is a row or several.

3. **Read**: ``of(ticket)``, latest first, with who did it, in one query; ``of(client,
   *client.merged.all())`` follows a merge. In a template ``{% sentence entry %}``, in Python
   ``sentence(entry, locale)``. ``undoable(entries, by)`` is the latest that can be taken back.

4. **Undo**: ``undo(entry=entry, by=by)`` raises HistoryError with a sentence to show. Twice is
   once. Fields put back are those of the entry and no others; a row that came with the entry goes
   (where its model has ``removed_at`` that is set instead), a row that went comes back with its
   key. Undo refuses where a field has changed since, a row has vanished, or the program no longer
   has the field. ``undo_all(entries=entries, by=by)`` does so with each of many, which is
   quick where they are alike, and gives why not of those that stay.

5. **Have a say**: in the app's ``verbs.py``, or in its ``undo.py`` where the room's actions are
   asked, which is found in the same way. ``@before_undo`` marks a function of the ``Undo`` that is
   about to happen, of one step or of several, which raises HistoryError to refuse;
   ``@after_undo`` one that also gets the open ``Step`` and sees to what follows from the fields
   put back (a quote, a file). ``fields(Ticket, derived=("gross",))`` names what follows from other
   fields: recorded, neither compared nor put back; ``fields(Make, loose=("place",))`` what is put
   back though it has changed since.

6. **Erase**: ``redact(client, *tickets)`` forgets, in every entry about them, the parameters that
   do not stay, and all old and new values.

7. **Test**: a case for each verb in ``tests/<room>/history_cases.py``; see
   ``tests/test_history.py``.
"""

from studio.shop.history.queries import of, undoable
from studio.shop.history.recording import Change, Step, fields, note, record, record_made
from studio.shop.history.verbs import OLDER, UNDONE, Verb, all_verbs, sentence
from studio.shop.history.way_back import (
    HistoryError,
    Undo,
    after_undo,
    before_undo,
    redact,
    undo,
    undo_all,
)

__all__ = [
    "OLDER",
    "UNDONE",
    "Change",
    "HistoryError",
    "Step",
    "Undo",
    "Verb",
    "after_undo",
    "all_verbs",
    "before_undo",
    "fields",
    "note",
    "of",
    "record",
    "record_made",
    "redact",
    "sentence",
    "undo",
    "undo_all",
    "undoable",
]
