"""Compare the planner with independent references on many random books.

``python -m tests.jobs.planning.core.check_planner [books]`` prints how many books were asked each
question and how many answers differed; the exit status is 1 if any did.
"""

import sys
import time
import traceback
from collections import Counter
from multiprocessing import Pool

from tests.jobs.planning.core.books import random_case
from tests.jobs.planning.core.questions import QUESTIONS

BOOKS = 5_000
PROCESSES = 2


def ask_all(number: int) -> list[tuple[str, str]]:
    """The questions whose answers differ for one book, with the traceback."""
    case = random_case(number)
    failed = []
    for name, question in QUESTIONS.items():
        try:
            question(case)
        except Exception:
            failed.append((name, traceback.format_exc()))
    return failed


def main() -> int:
    books = int(sys.argv[1]) if len(sys.argv) > 1 else BOOKS
    start = time.monotonic()
    failures: Counter[str] = Counter()
    with Pool(PROCESSES) as pool:
        for number, failed in enumerate(pool.imap(ask_all, range(books), chunksize=25)):
            for name, report in failed:
                failures[name] += 1
                print(f"Book {number}, {name}:\n{report}", file=sys.stderr)
    print(f"{'question':<30}{'books':>8}{'failures':>10}")
    for name in QUESTIONS:
        print(f"{name:<30}{books:>8}{failures[name]:>10}")
    total = sum(failures.values())
    print(f"{books} random books, {total} failures, {time.monotonic() - start:.0f} s.")
    return 1 if total else 0


if __name__ == "__main__":
    sys.exit(main())
