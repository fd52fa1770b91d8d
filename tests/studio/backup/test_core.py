"""What is kept, what is counted, what is sealed: without a database of the program's."""

import errno
import random
import re
import sqlite3
import zipfile
from collections import Counter
from datetime import UTC, date, datetime, timedelta
from io import BytesIO
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studio.backup.core import archive
from studio.backup.core.manifest import (
    BackupError,
    Figures,
    Manifest,
    TableFigures,
    differences,
    exact,
    gaps,
    plain,
    read_figures,
    read_series,
)
from studio.backup.core.retention import KeepRule, kept, night_of

DAWN = datetime(2026, 11, 27, 2, 0, tzinfo=UTC)
moments = st.lists(
    st.datetimes(datetime(2024, 1, 1), datetime(2027, 1, 1), timezones=st.just(UTC)),  # noqa: DTZ001
    unique=True,
    max_size=60,
)


def test_a_year_of_nights_leaves_seven_days_five_weeks_and_twelve_months():
    """Reckoned by hand on the calendar of 2025 and 2026."""
    nights = [DAWN - timedelta(days=back) for back in range(365)]
    days = sorted(moment.date() for moment in kept(nights, KeepRule()))
    assert days == [
        # The last of each month, as far back as the twelfth; November 2026 is this night.
        date(2025, 12, 31), date(2026, 1, 31), date(2026, 2, 28), date(2026, 3, 31),
        date(2026, 4, 30), date(2026, 5, 31), date(2026, 6, 30), date(2026, 7, 31),
        date(2026, 8, 31), date(2026, 9, 30), date(2026, 10, 31),
        # Sundays that end the weeks before this one.
        date(2026, 11, 1), date(2026, 11, 8), date(2026, 11, 15),
        # Seven days, among them the Sunday of the week before.
        *(date(2026, 11, day) for day in range(21, 28)),
    ]  # fmt: skip


@given(moments)
def test_what_is_kept_is_enough_and_not_too_much(taken: list[datetime]):
    keep = kept(taken, KeepRule())
    assert keep <= set(taken)
    assert len(keep) <= 7 + 5 + 12
    assert not taken or max(taken) in keep
    # Each of the last seven days with a copy has its last one kept.
    by_day: dict[date, datetime] = {}
    for moment in sorted(taken):
        by_day[moment.date()] = moment
    assert {by_day[day] for day in sorted(by_day)[-7:]} <= keep
    # To ask again on the next day with nothing new removes nothing more.
    assert kept(keep, KeepRule()) == keep


def test_before_two_it_is_still_the_night_of_yesterday():
    assert night_of(datetime(2026, 11, 28, 1, 59, tzinfo=UTC)) == date(2026, 11, 27)
    assert night_of(datetime(2026, 11, 28, 2, 0, tzinfo=UTC)) == date(2026, 11, 28)


def test_sums_are_exact_where_binary_ones_are_not():
    with sqlite3.connect(":memory:") as database:
        database.execute("CREATE TABLE cloth (id integer, mm decimal, paid bigint, sold_id bigint)")
        rows = [(1, "0.1", 2**53 + 1, 9), (2, "0.2", 1, 9), (3, None, None, 9)]
        database.executemany("INSERT INTO cloth VALUES (?, ?, ?, ?)", rows)
        types = {"id": "integer", "mm": "decimal", "paid": "bigint", "sold_id": "bigint"}
        figures = read_figures(database.execute, {"cloth": types})
    # 0.1 + 0.2 is 0.30000000000000004 and 2**53 + 2 rounds in binary numbers (IEEE 754).
    assert figures.tables == {"cloth": TableFigures(3, {"mm": "0.3", "paid": "9007199254740994"})}
    assert plain(exact(25.4)) == plain(exact("25.4000")) == "25.4"


def test_numbers_are_told_first_to_last_with_their_gaps():
    numbers = ["26-0001", "26-0002", "26-0005", "25-0009", "25-0010", "R26-0001", "draft"]
    series = list(read_series("tickets_ticket", numbers))
    assert [(each.first, each.last, each.count, each.gaps) for each in series] == [
        ("25-0009", "25-0010", 2, []),
        ("26-0001", "26-0005", 3, ["26-0003", "26-0004"]),
        ("R26-0001", "R26-0001", 1, []),
    ]
    assert gaps(Figures({}, series)) == ["tickets_ticket: number 26-0003, 26-0004 is not there."]


def test_a_number_on_a_pad_of_paper_is_no_gap():
    tables = {"tickets_ticket": ["26-0001", "26-0004"], "tickets_padnumber": ["26-0002"]}
    with sqlite3.connect(":memory:") as database:
        for name, numbers in tables.items():
            database.execute(f"CREATE TABLE {name} (number varchar(16))")
            rows = [(number,) for number in numbers]
            database.executemany(f"INSERT INTO {name} VALUES (?)", rows)  # noqa: S608 -- our own
        types = {name: {"number": "varchar(16)"} for name in tables}
        figures = read_figures(database.execute, types)
    assert gaps(figures) == ["tickets_ticket: number 26-0003 is not there."]
    assert gaps(figures, said=["Number I26-0003 is lost."]) == gaps(figures)
    assert gaps(figures, said=["Without their row: 26-0002, 26-0003."]) == []


def test_what_differs_is_named():
    before = Figures({"a": TableFigures(2, {"paid": "5"}), "b": TableFigures(1)}, [])
    assert differences(before, before) == []
    assert differences(before, Figures({"a": before.tables["a"]}, [])) == ["b is not in the copy."]
    fewer = Figures({**before.tables, "a": TableFigures(1, {"paid": "5"})}, [])
    assert differences(before, fewer) == ["a has 1 rows in the copy instead of 2."]
    other = Figures({**before.tables, "a": TableFigures(2, {"paid": "6"})}, [])
    assert differences(before, other) == ["a adds up to something else in paid."]


PARTS = ["studio.sqlite3", "files/papers/2026/11/receipt.pdf", "files/photos/2026/11/coat.jpg"]
PACKED = PARTS[:2]


def parts_of(path: Path) -> dict[str, range]:
    """Where in the file each of its parts lies, its name included, and what stands at the end."""
    with zipfile.ZipFile(path) as zipped:
        starts = {part.filename: part.header_offset for part in zipped.infolist()}
        starts["list and seal"] = zipped.start_dir
    ends = [*list(starts.values())[1:], path.stat().st_size]
    return {
        name: range(start, end) for (name, start), end in zip(starts.items(), ends, strict=True)
    }


@pytest.fixture(scope="module")
def sealed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("sealed") / "studio.zip"
    dice = random.Random(7)  # noqa: S311 -- no secret
    with archive.sealed_zip(path) as zipped:
        digests = {
            name: archive.add(zipped, name, BytesIO(dice.randbytes(4000)), packed=name in PACKED)
            for name in PARTS
        }
        manifest = Manifest("0.1.0", "sqlite", "now", [], Figures({}, []), digests)
        archive.add_text(zipped, archive.MANIFEST, manifest.to_json())
    return path


def test_one_flipped_bit_anywhere_is_found(sealed: Path, key: tuple[str, str, str], tmp_path: Path):
    """40 places by chance in each part of both kinds of file, and every byte of the end."""
    locked = tmp_path / "locked.zip"
    archive.lock(sealed, locked, key=key[2], recipient=key[1])
    dice = random.Random(200)  # noqa: S311 -- no secret
    spoilt = tmp_path / "spoilt.zip"
    parts = {path: parts_of(path) for path in (sealed, locked)}
    assert list(parts[sealed]) == [*PARTS, "manifest.json", "list and seal"]
    assert set(parts[locked]) >= {"key.age", "studio.zip.age", "list and seal"}
    for path, inside in parts.items():
        archive.check_seal(path)
        whole = path.read_bytes()
        places = [dice.choice(part) for part in inside.values() for _ in range(40)]
        for place in [*places, *range(len(whole) - 100, len(whole))]:
            damaged = bytearray(whole)
            damaged[place] ^= 1 << dice.randrange(8)
            spoilt.write_bytes(damaged)
            with pytest.raises(BackupError):
                archive.check_seal(spoilt)


def test_a_file_that_was_cut_off_is_found(sealed: Path, tmp_path: Path):
    whole, cut = sealed.read_bytes(), tmp_path / "cut.zip"
    for size in (0, 1, 50, 71, len(whole) // 2, len(whole) - 64, len(whole) - 1):
        cut.write_bytes(whole[:size])
        with pytest.raises(BackupError):
            archive.check_seal(cut)


def test_locked_with_a_passphrase_it_opens_by_it_and_by_nothing_else(
    sealed: Path, key: tuple[str, str, str], tmp_path: Path
):
    identity, recipient, locked_key = key
    locked = tmp_path / "locked.zip"
    archive.lock(sealed, locked, key=locked_key, recipient=recipient)
    assert archive.is_locked(locked)
    assert not archive.is_locked(sealed)
    assert sealed.read_bytes()[:1000] not in locked.read_bytes()
    archive.unlock(locked, tmp_path / "one.zip", passphrase="pins and needles")
    archive.unlock(locked, tmp_path / "two.zip", identity=identity)
    assert (tmp_path / "one.zip").read_bytes() == sealed.read_bytes()
    assert (tmp_path / "two.zip").read_bytes() == sealed.read_bytes()
    with pytest.raises(BackupError, match="passphrase is wrong"):
        archive.unlock(locked, tmp_path / "three.zip", passphrase="pins and needle")
    with pytest.raises(BackupError, match="needs its passphrase"):
        archive.unlock(locked, tmp_path / "four.zip")
    other = str(archive.pyrage.x25519.Identity.generate())
    with pytest.raises(BackupError, match="another passphrase"):
        archive.unlock(locked, tmp_path / "five.zip", identity=other)


def test_a_new_key_opens_by_its_passphrase():
    identity, recipient, kept = archive.new_key("pins and needles")
    assert archive.open_key(bytes.fromhex(kept), "pins and needles") == identity
    assert recipient.startswith("age1")
    # It is pyrage that opened it. Of memory it takes 128 N r bytes (RFC 7914, 2), whatever the
    # machine: with N = 2^17 and r = 8, which the format fixes, 128 MB.
    assert re.match(rb"age-encryption.org/v1\n-> scrypt \S{22} 17\n", bytes.fromhex(kept))


def test_what_was_sealed_with_other_content_than_it_says_is_found(sealed: Path, tmp_path: Path):
    """Somebody who knows the seal can make one; the digests inside still have to hold."""
    with archive.open_zip(sealed) as zipped:
        held = {name: zipped.read(name) for name in zipped.namelist()}
        assert archive.unpack(zipped, tmp_path / "out").files.keys() == held.keys() - {
            "manifest.json"
        }
    cases: list[tuple[str, dict[str, bytes]]] = [
        ("cannot be read", held | {"manifest.json": b"{}"})
    ]
    for part in PARTS:
        bit_off = bytes([held[part][0] ^ 1]) + held[part][1:]
        cases.append(("another than it was", held | {part: bit_off}))
        without = {name: content for name, content in held.items() if name != part}
        cases.append(("does not hold what it says", without))
    for count, (words, content) in enumerate(cases):
        forged = tmp_path / f"forged{count}.zip"
        with archive.sealed_zip(forged) as zipped:
            for name, body in content.items():
                zipped.writestr(name, body)
        archive.check_seal(forged)
        with archive.open_zip(forged) as zipped, pytest.raises(BackupError, match=words):
            archive.unpack(zipped, tmp_path / f"out{count}")


@pytest.mark.parametrize("name", ["files/../../over.txt", "/over.txt"])
def test_no_copy_writes_outside_of_its_folder(name: str, tmp_path: Path):
    path = tmp_path / "evil.zip"
    with archive.sealed_zip(path) as zipped:
        digests = {name: archive.add(zipped, name, BytesIO(b"x"))}
        manifest = Manifest("0.1.0", "sqlite", "now", [], Figures({}, []), digests)
        archive.add_text(zipped, archive.MANIFEST, manifest.to_json())
    with archive.open_zip(path) as zipped, pytest.raises(BackupError, match="outside"):
        archive.unpack(zipped, tmp_path / "out")
    assert Counter(each.name for each in tmp_path.iterdir()) == {"evil.zip": 1}


def test_the_archive_opens_without_this_program(sealed: Path):
    """By Info-ZIP where it is there, else by Python's own reader; see APPNOTE.TXT of PKWARE."""
    with zipfile.ZipFile(sealed) as zipped:
        assert zipped.testzip() is None
        assert zipped.comment.startswith(b"sha256:")


def test_no_room_is_an_error_that_leaves_through_the_door(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setattr(archive, "new_file", full_after(3000))
    with (
        pytest.raises(OSError, match="No space") as wrong,
        archive.sealed_zip(tmp_path / "full.zip") as zipped,
    ):
        archive.add(zipped, "a", BytesIO(random.Random(1).randbytes(9000)), packed=True)  # noqa: S311
    assert wrong.value.errno == errno.ENOSPC


def full_after(most: int):
    """``new_file`` on a disk with room for ``most`` bytes of each file."""
    open_new = archive.new_file

    def opened(path: Path):
        file = open_new(path)
        write = file.write

        class Narrow:
            def __getattr__(self, name: str):
                return getattr(file, name)

            def __enter__(self):
                return self

            def __exit__(self, *wrong: object):
                file.close()

            def write(self, content: bytes) -> int:
                if file.tell() + len(content) > most:
                    raise OSError(errno.ENOSPC, "No space left on device")
                return write(content)

        return Narrow()

    return opened
