"""What pages say of the copies."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.conf import settings
from django.db import connection

from studio.backup import shelf, write
from studio.backup.asked import PUT_ASIDE, AskedRestore
from studio.backup.core.manifest import quoted
from studio.backup.models import Backup, Kind
from studio.shop import clock
from studio.shop.locales import show_clock, show_day, show_when
from studio.shop.models import Profile
from studio.shop.money import format_money
from studio.shop.stored.files import StoreError

LATE = timedelta(hours=36)
"""Without a good copy for so long, the pages say so: a night was missed."""
DAYS_SHOWN = 14
MOST_ROWS = 60
"""Tries that the page looks back on; the rule keeps fewer copies."""


@dataclass(frozen=True)
class BackupState:
    """How the copies stand, in a headline and a line; ``wrong`` where something is to be done."""

    headline: str
    words: str
    wrong: bool
    latest: Backup | None

    @property
    def missing(self) -> bool:
        """None was ever made, and none failed: a first step, unlike what went wrong since."""
        return self.wrong and self.latest is None


def sentence(row: Backup, studio: Profile) -> str:
    """``180 tickets, €7,143.95 paid, read back and equal``."""
    if not row.name:
        return " ".join(row.wrong)
    tickets = f"{row.tickets} {'ticket' if row.tickets == 1 else 'tickets'}"
    paid = format_money(row.paid, row.currency or studio.currency, studio.locale)
    end = "read back and equal" if row.good else " ".join(row.wrong)
    return f"{tickets}, {paid} paid, {end}"


def read_state(studio: Profile) -> BackupState:
    """One query where the latest copy is good, two where it is not. The demo needs no copies.

    A copy counts while its file is there: what is remembered of it also comes back with restored
    data, into a folder that may hold none.
    """
    latest = Backup.objects.exclude(finished_at=None).first()
    if settings.DEMO and (latest is None or clock.now() - latest.started_at > LATE):
        words = "A studio of your own keeps one each night."
        return BackupState("The demo keeps no nightly copies", words, wrong=False, latest=None)
    if latest is None:
        return BackupState("No backup yet", "What you write exists once.", wrong=True, latest=None)
    good: Backup | None = latest
    if not (latest.good and _is_here(latest)):
        whole = Backup.objects.exclude(finished_at=None).exclude(name="").filter(wrong=[])
        good = next((row for row in whole if _is_here(row)), None)
        if good is None and latest.good:
            words = "Earlier copies are not in this folder. Are second place and passphrase set?"
            return BackupState("No backup here yet", words, wrong=True, latest=latest)
    faults = [*latest.wrong, *latest.test_wrong, *([_second(latest)] if latest.second else [])]
    since = clock.now() - (good or latest).started_at
    if good is None or since > LATE:
        days = since.days
        headline = f"No backup for {days} {'day' if days == 1 else 'days'}" if good else "No backup"
        gone = latest.good and good != latest
        why = "Later copies are not in this folder." if gone else "The program was closed."
        return BackupState(headline, " ".join(faults) or why, True, latest)
    if faults:
        return BackupState("The backup needs you", " ".join(faults), True, latest)
    return BackupState(f"Backed up {when(good, studio)}", sentence(good, studio), False, latest)


def _is_here(row: Backup) -> bool:
    try:
        return shelf.has(row.name)
    except StoreError:  # no reason to say that it is gone
        return True


def _second(row: Backup) -> str:
    return f"Second place: {row.second}"


def when(row: Backup, studio: Profile) -> str:
    """``last night``, ``today at 15:20``, ``yesterday``, ``on Sun 8 Mar``."""
    local, today = clock.local(row.started_at), clock.today()
    if row.kind == Kind.NIGHT and local.date() == today and local.hour < 8:
        return "last night"
    if local.date() == today:
        return f"today at {show_clock(local, studio.locale)}"
    if local.date() == today - timedelta(days=1):
        return "yesterday"
    return f"on {show_day(local.date(), studio.locale)}"


@dataclass(frozen=True)
class DayMark:
    day: date
    state: str
    """``good``, ``wrong``, or nothing where there is none."""


@dataclass(frozen=True)
class CopyRow:
    """A file of the copies' folder, and what is remembered of it, if anything is."""

    name: str
    moment: datetime
    size: int
    words: str
    good: bool


def days(rows: list[Backup]) -> list[DayMark]:
    """The last fortnight, a mark for each day."""
    today = clock.today()
    by_day: dict[date, str] = {}
    for row in rows:
        day = clock.local(row.started_at).date()
        if by_day.get(day) != "good":
            by_day[day] = "good" if row.good else "wrong"
    span = [today - timedelta(days=back) for back in range(DAYS_SHOWN - 1, -1, -1)]
    return [DayMark(day, by_day.get(day, "")) for day in span]


def copies(rows: list[Backup], studio: Profile) -> list[CopyRow]:
    """The files that are there, newest first, each with what the ``rows`` remember of it."""
    known = {row.name: row for row in rows if row.name}
    found = []
    for name, size in shelf.sizes().items():
        if moment := write.moment_of(name):
            row = known.get(name)
            words = _words(row, studio) if row else _words_of_name(name)
            found.append(CopyRow(name, moment, size, words, row is None or row.good))
    return sorted(found, key=lambda copy: (copy.moment, copy.name), reverse=True)


def _words_of_name(name: str) -> str:
    """Of a copy that no row knows, since a restore replaced the rows."""
    if PUT_ASIDE in name:
        return "Before a restore"
    return "Before an upgrade" if write.UPGRADED in name else "Read back when it was made"


def _words(row: Backup, studio: Profile) -> str:
    if row.kind == Kind.UPGRADE:
        return "Before an upgrade"
    return sentence(row, studio)


# One copy beside today


def moment_in_words(name: str, studio: Profile) -> str:
    moment = write.moment_of(name)
    return show_when(clock.local(moment), studio.locale) if moment else name


def waiting_words(asked: AskedRestore, studio: Profile) -> str:
    """For everybody who writes meanwhile."""
    return (
        f"At the next start the studio goes back to {moment_in_words(asked.name, studio)}. "
        "What is written until then is not in it."
    )


@dataclass(frozen=True)
class InsideRow:
    """How many of one kind; the sum of payments is its own row, in the words of its currency."""

    name: str
    inside: str
    now: str
    differs: bool


@dataclass(frozen=True)
class Inside:
    """What is in a copy beside what is there now; ``lost`` are sentences' parts, nouns and all."""

    rows: list[InsideRow]
    lost: list[str]


def read_inside(row: Backup, studio: Profile) -> Inside | None:
    """None where nobody knows before the copy is looked into. Two queries."""
    if not row.inside:
        return None
    counts = ", ".join(f"(SELECT count(*) FROM {quoted(table)})" for table in row.inside)
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT {counts}")
        now = dict(zip(row.inside, cursor.fetchone(), strict=True))
        cursor.execute(f"SELECT amount FROM {quoted(write.PAYMENTS)}")
        paid = sum(amount for (amount,) in cursor.fetchall())
    rows, lost = [], []
    for table, (one, many) in write.COUNTED.items():
        if table not in row.inside:
            continue
        before, after = row.inside[table], now[table]
        rows.append(InsideRow(many.capitalize(), str(before), str(after), before != after))
        if after > before:
            more = f"{after - before} {one if after - before == 1 else many}"
            if table == write.PAYMENTS:
                more += f" of {_amount(paid - row.paid, row, studio)}"
            lost.append(more)
    sums = (_amount(row.paid, row, studio), _amount(paid, row, studio))
    rows.append(InsideRow("Paid in all", *sums, row.paid != paid))
    return Inside(rows, lost)


def _amount(minor: int, row: Backup, studio: Profile) -> str:
    return format_money(minor, row.currency or studio.currency, studio.locale)
