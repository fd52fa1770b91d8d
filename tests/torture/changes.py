"""What changes all of a studio at once: a restore, a migration; and what takes much memory."""

import io
import json
import lzma
import re
import shutil
import sqlite3
import tempfile
import threading
import time
import zipfile
from contextlib import closing
from datetime import date
from pathlib import Path
from typing import Any

from PIL import Image
from pillow_heif import register_heif_opener

from tests.jobs.planning.core.books import dice
from tests.torture.book import missing_files, reading, soundness
from tests.torture.clerks import Clerk, Fields
from tests.torture.scene import KILLS, PORT, SEED, Line, Place, crew, judged, open_for, studio
from tests.torture.serving import HOUSE, Serve, end

OLD = HOUSE / "tests/upgrades/studio_0_1_0.sql.xz"
OURS = ("shop_", "clients_", "pricing_", "tickets_", "makes_", "billing_", "planning_")
TIMES = max(KILLS // 10, 3)
SIDE = 7000
AT_ONCE = 4

register_heif_opener()

Book = dict[str, list[tuple[Any, ...]]]


def rows_of(database: Path) -> Book:
    """Every row of the studio, without the program."""
    with closing(sqlite3.connect(database, timeout=60)) as book:
        tables = book.execute("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY 1")
        return {
            table: book.execute(f"SELECT * FROM {table} ORDER BY 1").fetchall()  # noqa: S608
            for (table,) in tables.fetchall()
            if table.startswith(OURS)
        }


def copied(path: Path) -> Book:
    """The rows in a copy, which is a ZIP archive for everybody."""
    with tempfile.TemporaryDirectory() as folder, zipfile.ZipFile(path) as archive:
        return rows_of(Path(archive.extract("studio.sqlite3", folder)))


def with_two_copies(place: Place, line: Line) -> tuple[Serve, list[Clerk], list[tuple[Book, Path]]]:
    """A studio as in the second of its copies; of each what is in it."""
    serve, clerks = studio(place, 2), crew(2)
    known: list[tuple[Book, Path]] = []
    for _ in range(2):
        open_for(serve, clerks)
        for clerk in clerks:
            for _ in range(4):
                clerk.one_deed()
        serve.kill()
        made = serve.manage("backup")
        copy = place.folder / f"copy{len(known)}.zip"
        shutil.copyfile(serve.data / made.stdout.splitlines()[0], copy)
        known.append((rows_of(serve.database), copy))
    for clerk in clerks:
        line.take(clerk)
    return serve, clerks, known


def look_through(serve: Serve, line: Line) -> None:
    """The book and its files, as they are after a kill."""
    with reading(serve) as ask:
        line.found.add(soundness(ask))
        line.found.lost += missing_files(ask, serve.data)


def ended(serve: Serve, clerks: list[Clerk], line: Line) -> Line:
    """The studio opens once more, and somebody works in it."""
    open_for(serve, clerks[:1])
    serve.kill()
    line.peak = serve.peak
    return line


def restores(place: Place) -> Line:
    """Killed while a copy is brought back: afterwards all is as it was, or all as in the copy."""
    line, rng = Line("restores killed by SIGKILL"), dice(f"{SEED} restores")
    serve, clerks, known = with_two_copies(place, line)
    stands, begun = 1, time.monotonic()
    if serve.manage("restore", str(known[stands][1])).returncode:
        line.found.wrong.append("a copy could not be restored")
    whole = time.monotonic() - begun
    new = 0
    for _ in range(TIMES):
        other = 1 - stands
        process = serve.begin("restore", str(known[other][1]))
        time.sleep(rng.uniform(0.1, whole * 1.1))
        end(process)
        if serve.manage("upgrade").returncode:
            line.found.wrong.append("it does not start any more")
        rows = rows_of(serve.database)
        line.times += 1
        if rows == known[other][0]:
            stands, new = other, new + 1
        elif rows != known[stands][0]:
            line.found.wrong.append(f"half a restore, of kill {line.times}")
            break
        look_through(serve, line)
    line.notes.append(f"{new} restores of {line.times} were done, the others were as before")
    return ended(serve, clerks, line)


def starts(place: Place) -> Line:
    """Killed while it puts a copy back at its start; then started in peace, up to four times.

    What was asked for is then done, or the third start was killed too and it says so.
    """
    line, rng = Line("starts killed by SIGKILL"), dice(f"{SEED} starts")
    serve, clerks, known = with_two_copies(place, line)
    wish = serve.data / "restore-asked.json"

    def ask_for(copy: Path) -> None:
        wish.write_text(json.dumps({"name": str(copy)}))

    def told(rows: Book) -> Book:
        """Without what the history tells of a copy that was put back."""
        own = {row[0] for row in rows["shop_entry"] if "backup.put_back" in row}
        return rows | {
            "shop_entry": [row for row in rows["shop_entry"] if row[0] not in own],
            "shop_entrysubject": [row for row in rows["shop_entrysubject"] if row[-1] not in own],
        }

    ask_for(known[0][1])
    begun = time.monotonic()
    serve.start()
    serve.kill()
    whole, stands, done = time.monotonic() - begun, 0, 0
    if told(rows_of(serve.database)) != known[0][0]:
        line.found.wrong.append("a start did not put the copy back")
    for _ in range(TIMES):
        other = 1 - stands
        ask_for(known[other][1])
        for _ in range(rng.choice([1, 1, 2, 3])):
            process = serve.begin("serve", "--port", str(serve.port))
            time.sleep(rng.uniform(0.1, whole))
            end(process)
            line.times += 1
        serve.start()
        serve.kill()
        rows = told(rows_of(serve.database))
        given_up = wish.exists()
        if given_up and not json.loads(wish.read_text())["wrong"]:
            line.found.wrong.append(f"it neither put the copy back nor says why, kill {line.times}")
        if rows != known[stands if given_up else other][0]:
            line.found.wrong.append(f"half a restore, of kill {line.times}")
            break
        if not given_up:
            stands, done = other, done + 1
        look_through(serve, line)
    line.notes.append(f"{done} of {TIMES} copies were put back, the others given up and said so")
    return ended(serve, clerks, line)


def migrations(place: Place) -> Line:
    """Killed while it brings a studio of version 0.1.0 up to date at its start."""
    line, rng = Line("migrations killed by SIGKILL"), dice(f"{SEED} migrations")
    place.folder.mkdir()
    old = place.folder / "old.sqlite3"
    with closing(sqlite3.connect(old)) as book:
        book.executescript(lzma.decompress(OLD.read_bytes()).decode())
    before = rows_of(old)

    def fresh(name: str) -> Serve:
        folder = place.folder / name
        serve = Serve(folder, PORT)
        serve.data.mkdir(parents=True)
        shutil.copyfile(old, serve.database)
        return serve

    expected, whole = [], 0.0
    for name in "first", "second":
        serve, begun = fresh(name), time.monotonic()
        serve.manage("upgrade")
        whole = time.monotonic() - begun
        expected.append(rows_of(serve.database))
    same = [table for table, rows in expected[0].items() if rows == expected[1][table]]
    for count in range(TIMES):
        serve = fresh(f"killed{count}")
        for _ in range(rng.choice([1, 1, 2, 3])):
            process = serve.begin("upgrade")
            time.sleep(rng.uniform(0.3, whole))
            end(process)
            line.times += 1
        if serve.manage("upgrade").returncode:
            line.found.wrong.append(f"studio {count} does not start any more")
            break
        after = rows_of(serve.database)
        line.found.lost += [
            f"{table} of studio {count}" for table in same if after[table] != expected[0][table]
        ]
        if before not in [copied(path) for path in (serve.data / "backups").glob("studio-*.zip")]:
            line.found.lost.append(f"the copy of studio {count} as it was before")
        with reading(serve) as ask:
            line.found.add(soundness(ask))
        shutil.rmtree(serve.folder)
    line.notes.append(f"{len(same)} of {len(expected[0])} tables are alike after each upgrade")
    return line


def pictures(place: Place) -> Line:
    """Four photographs at one moment, and beside them what else takes much memory."""
    line = Line(f"{AT_ONCE} photographs of {SIDE} squared", AT_ONCE, patience=60)
    serve, clerks = studio(place, AT_ONCE + 2), crew(AT_ONCE + 2)
    drawn = io.BytesIO()
    Image.new("RGB", (SIDE, SIDE), "teal").save(drawn, "PNG")
    with judged(line, serve, clerks):
        open_for(serve, clerks)
        for clerk in clerks:
            clerk.drop_off()
        *photographers, lawyer, bookbinder = clerks
        gate = threading.Barrier(len(clerks))

        def photograph(clerk: Clerk) -> None:
            gate.wait()
            clerk.photograph(clerk.tickets[0][1], drawn.getvalue())

        def post(clerk: Clerk, path: str, fields: Fields) -> None:
            gate.wait()
            answer = clerk.browser.post(path, fields)
            line.notes.append(f"{answer.status} {path} {answer.location}")

        paper = f"/year/{date.today().year}/journal/build/"  # noqa: DTZ011 -- of whatever year
        words = {"passphrase": "pins and needles", "again": "pins and needles"}
        threads = [
            *(threading.Thread(target=photograph, args=(clerk,)) for clerk in photographers),
            threading.Thread(target=post, args=(lawyer, "/studio/backups/passphrase/", words)),
            threading.Thread(target=post, args=(bookbinder, paper, {})),
        ]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        time.sleep(3)
    return line


def formats(place: Place) -> Line:
    """Half a photograph is refused and whole ones are kept, after a paper was laid out.

    The library that lays out papers lets half a JPEG pass, in all of the program that loads it.
    """
    line = Line("half a photograph, and five whole", 1)
    serve, (clerk,) = studio(place, 1), crew(1)
    noise = Image.effect_noise((900, 700), 90).convert("RGB")
    gradient = Image.linear_gradient("L").convert("RGB")
    sent = {
        "JPEG": (noise, (900, 700)), "PNG": (noise, (900, 700)), "HEIF": (noise, (900, 700)),
        "AVIF": (noise, (900, 700)), "WEBP": (gradient.resize((6000, 1000)), (3600, 600)),
    }  # fmt: skip
    with judged(line, serve, [clerk]):
        open_for(serve, [clerk])
        clerk.drop_off()
        clerk._invoice()
        number, garment = clerk.tickets[0]
        if not clerk.papers or not clerk.papers[0][1].startswith(b"%PDF"):
            line.found.wrong.append("no paper was laid out")
        half = written(noise, "JPEG")
        sent_half = {"picture": half[: len(half) * 6 // 10]}
        clerk.browser.post(f"/garments/{garment}/photo/", {}, **sent_half)
        said = clerk.browser.get(f"/t/{number}/").text
        if "no picture that can be read" not in said or "/photos/" in said:
            line.found.wrong.append("half a photograph was not refused")
        for kind, (image, size) in sent.items():
            clerk.photograph(garment, written(image, kind))
            page = clerk.browser.get(f"/t/{number}/").text
            newest = max(map(int, re.findall(r"/photos/(\d+)/", page)), default=0)
            kept = clerk.browser.get(f"/photos/{newest}/").body if newest else b""
            if not kept or Image.open(io.BytesIO(kept)).size != size:
                line.found.wrong.append(f"{kind} is not kept as a picture of {size}")
        line.notes += clerk.refused
    return line


def written(image: Image.Image, kind: str) -> bytes:
    file = io.BytesIO()
    image.save(file, kind)
    return file.getvalue()
