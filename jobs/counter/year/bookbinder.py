"""Journals are built beside the program: asked for in a row, made by a process, one at a time.

The process holds a lock while it builds (``one_at_a_time``), so that no second one is begun beside
it, each of which would take 80 MB to wait; and it is begun with a lock of this machine in its hand,
so that neither are several while the first one starts. Locks go with the process, also when the
machine stops. What was cut short is begun again when somebody looks for it.
"""

import logging
import os
import subprocess
import sys
from contextlib import suppress
from secrets import token_urlsafe

from django.conf import settings
from django.db import transaction

from jobs.counter.year.journal import journal_pdf, read_journal
from jobs.makes.models import JournalBook
from studio.backup.running import one_at_a_time, take_to_hand_on
from studio.shop import clock
from studio.shop.models import Profile
from studio.shop.numbers import lock
from studio.shop.stored.files import FilePiece, atomic_with_files, save_with_file

MOST_TRIES = 3
JOURNALS = "journals"
"""What is locked while one is built, and in the database while one is asked for or taken up."""
PROCESS = "journals-process"
"""What is locked on this machine from before the process is begun until it ends."""
State = JournalBook.State
UNDERWAY = (State.WAITING, State.BUILDING)

logger = logging.getLogger(__name__)


@transaction.atomic
def ask_for(*, year: int, page: str) -> JournalBook:
    """The journal of that year and size, to be built anew; one that is under way is that one."""
    lock(JOURNALS)
    fresh = {"asked_at": clock.now()}
    book, new = JournalBook.objects.get_or_create(year=year, page=page, defaults=fresh)
    if not new and not book.underway:
        book.state, book.done, book.tries, book.asked_at = State.WAITING, 0, 0, clock.now()
        book.save(update_fields=["state", "done", "tries", "asked_at"])
    return book


def start() -> None:
    """Build what waits, in a process of its own; at once and here where settings say so.

    One that is at work looks again before it ends, and so finds what is asked for meanwhile.
    """
    if not settings.IN_THE_BACKGROUND:
        build_all()
        return
    if at_work():
        return
    try:
        taken = take_to_hand_on(PROCESS)
    except BlockingIOError:
        return
    try:
        handle = taken.handle
        subprocess.Popen(  # noqa: S603 -- our own command
            [
                sys.executable,
                str(settings.BASE_DIR / "manage.py"),
                "journal",
                "--lock",
                f"{handle}",
            ],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            start_new_session=True,
            pass_fds=[handle],
        )
    finally:
        taken.close()


def let_go(handle: int) -> None:
    """The end of such a process. Who asked while it found nothing more to do gets one anew."""
    os.close(handle)
    if JournalBook.objects.filter(state=State.WAITING).exists():
        start()


def at_work() -> bool:
    """Whether a process is building."""
    try:
        with one_at_a_time(JOURNALS, wait=False):
            return False
    except BlockingIOError:
        return True


def build_all() -> None:
    """Build one after the other until nothing waits; leaves it to another process that is at it."""
    with suppress(BlockingIOError):
        while JournalBook.objects.filter(state__in=UNDERWAY).exists():
            with one_at_a_time(JOURNALS, wait=False):
                while book := _take_up():
                    _build(book)


@transaction.atomic
def _take_up() -> JournalBook | None:
    """The next one that waits, or that another process began and left."""
    lock(JOURNALS)
    for book in JournalBook.objects.filter(state__in=UNDERWAY):
        book.tries += 1
        book.state = State.BUILDING if book.tries <= MOST_TRIES else State.FAILED
        book.save(update_fields=["tries", "state"])
        if book.state == State.BUILDING:
            return book
    return None


def _build(book: JournalBook) -> None:
    def tell(done: int) -> None:
        JournalBook.objects.filter(pk=book.pk).update(done=done)

    try:
        studio = Profile.objects.get(pk=1)
        journal = read_journal(book.year, studio.winter_begins)
        made = journal_pdf(journal, studio, page=book.page, tell=tell)
        before, storage = str(book.file), book.file.storage
        name = f"{book.year}-{book.page.lower()}-{token_urlsafe(12)}.pdf"
        piece = FilePiece(book.file, name, made.pdf)
        with atomic_with_files(piece):
            book.state, book.done, book.built_at = State.DONE, 1000, clock.now()
            book.pages, book.size = made.pages, len(made.pdf)
            save_with_file(piece)
        if before:
            storage.delete(before)
    except Exception:
        logger.exception("The journal %s could not be built.", book)
        JournalBook.objects.filter(pk=book.pk).update(state=State.FAILED)
