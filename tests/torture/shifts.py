"""A working day: clerks at their desks while the plug is pulled, in a crowd, in two windows."""

import contextlib
import json
import multiprocessing
import threading
import time

from tests.jobs.planning.core.books import dice
from tests.torture.book import compare, examine, reading
from tests.torture.clerks import BROKEN, Browser, Clerk, Deed
from tests.torture.fill import clerk_name
from tests.torture.fuzz import Fuzzer
from tests.torture.scene import (
    CLERKS,
    CROWD,
    ENOUGH,
    KILLS,
    REQUESTS,
    SECONDS,
    SEED,
    Line,
    Place,
    crew,
    judged,
    open_for,
    studio,
)

EXAMINED_EVERY = 20


def kills(place: Place) -> Line:
    """The plug is pulled at a random moment, again and again."""
    line, rng = Line(f"killed by SIGKILL{place.suffix}"), dice(f"{SEED} kills{place.suffix}")
    serve = studio(place, CLERKS)
    clerks = crew(CLERKS)
    clerks[0].backs_up = True
    with judged(line, serve, clerks):
        for _ in range(KILLS):
            serve.start()
            line.found.add(compare(serve, clerks))
            threads = [threading.Thread(target=_until_killed, args=(clerk,)) for clerk in clerks]
            for clerk, thread in zip(clerks, threads, strict=True):
                clerk.browser.port = serve.port
                thread.start()
            time.sleep(rng.uniform(0.2, 6))
            serve.kill()
            for thread in threads:
                thread.join()
            line.times += 1
            if line.times % EXAMINED_EVERY == 0:
                line.found.add(examine(serve))
            if line.found.all or ENOUGH.is_set():
                break
        serve.start()
        for clerk in clerks:
            clerk.work(0)
    return line


def _until_killed(clerk: Clerk) -> None:
    with contextlib.suppress(BROKEN):
        clerk.work(time.monotonic() + 600)


def crowd(place: Place) -> Line:
    """Eight machines of the house work at once without a pause."""
    line = Line(f"8 clients for {SECONDS} s{place.suffix}", CROWD)
    serve = studio(place, CROWD)
    clerks = crew(CROWD)
    clerks[0].backs_up = True
    with judged(line, serve, clerks):
        serve.start()
        with multiprocessing.get_context("fork").Pool(CROWD) as machines:
            clerks[:] = machines.map(
                _work_on, [(clerk, serve.port) for clerk in clerks], chunksize=1
            )
    return line


def _work_on(given: tuple[Clerk, int]) -> Clerk:
    clerk, clerk.browser.port = given
    clerk.come_in()
    clerk.work(time.monotonic() + SECONDS)
    return clerk


def fuzz(place: Place) -> Line:
    """Every address and every form, with what no browser would send."""
    line = Line("requests by chance")
    serve = studio(place, 2)
    made = serve.run("-m", "tests.torture.fuzz")
    if made.returncode:
        raise RuntimeError(made.stderr)
    told = json.loads(made.stdout)
    try:
        serve.start()
        fuzzers = [
            Fuzzer(Browser(serve.port), f"{SEED} fuzz {place}", clerk_name(place), **told)
            for place in range(2)
        ]
        with multiprocessing.get_context("fork").Pool(2) as machines:
            fuzzers = machines.map(_send_all, fuzzers, chunksize=1)
        line.found.add(compare(serve, []))
        # What the addresses speak of is made with numbers of its own, which copies rightly say.
        line.found.gaps.clear()
        line.found.wrong = [words for words in line.found.wrong if not words.startswith("backup ")]
    finally:
        serve.kill()
    for fuzzer in fuzzers:
        line.times += sum(fuzzer.statuses.values())
        line.broken += fuzzer.browser.broken_pages
        line.slowest = max(line.slowest, fuzzer.browser.slowest)
        line.found.wrong += fuzzer.gone
        line.notes.append(str(sorted(fuzzer.statuses.items())))
    line.answered, line.peak = line.times, serve.peak
    return line


def _send_all(fuzzer: Fuzzer) -> Fuzzer:
    return fuzzer.run(REQUESTS // 2)


def windows(place: Place) -> Line:
    """Two windows send the same payment, and issue the invoice of one ticket, at one moment."""
    line = Line(f"two windows{place.suffix}")
    serve = studio(place, 2)
    clerks = crew(2)
    with judged(line, serve, clerks):
        open_for(serve, clerks)
        for _ in range(max(3, SECONDS // 3)):
            clerks[0].drop_off()
            number, _ = clerks[0].tickets[-1]
            same = clerks[0].new_key()
            for kind, keys in ("payment", [same, same]), ("invoice", [c.new_key() for c in clerks]):
                _at_once(clerks, [_deed_of(kind, key, number) for key in keys])
            line.times += 1
        with reading(serve) as ask:
            line.found.twins += [
                f"{times} invoices of ticket {ticket}"
                for ticket, times in ask(
                    "SELECT ticket_id, count(*) FROM billing_invoice GROUP BY 1 HAVING count(*) > 1"
                )
            ]
    return line


def _deed_of(kind: str, key: str, number: str) -> Deed:
    if kind == "payment":
        facts = {"amount": "0.07", "method": "cash", "note": "", "form_key": key}
        return Deed(kind, key, f"/t/{number}/pay/", facts, amount=7)
    return Deed(kind, key, f"/t/{number}/invoice/", {"anyway": "yes", "form_key": key})


def _at_once(clerks: list[Clerk], deeds: list[Deed]) -> None:
    gate = threading.Barrier(len(clerks))

    def go(clerk: Clerk, deed: Deed) -> None:
        gate.wait()
        clerk.send(deed)

    threads = [threading.Thread(target=go, args=pair) for pair in zip(clerks, deeds, strict=True)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
