"""Run the program by another clock: ``python -m tests.torture.clocked manage.py serve ...``.

The file named by TORTURE_CLOCK says how many seconds its clock is ahead, or behind with a minus;
it is looked at while the program runs. Only what tells the day is moved, as when somebody sets the
computer's date; what measures time goes on.
"""

import os
import runpy
import sys
import threading
import time
from pathlib import Path

import time_machine

LOOK = 0.05


def ahead(file: Path) -> float:
    return float(file.read_text() or 0)


def main(words: list[str]) -> None:
    file = Path(os.environ["TORTURE_CLOCK"])
    clock = time_machine.travel(time.time() + ahead(file), tick=True).start()

    def follow() -> None:
        shown = ahead(file)
        while True:
            time.sleep(LOOK)
            asked = ahead(file)
            if asked != shown:
                shown = asked
                clock.move_to(time_machine.escape_hatch.time.time() + asked)

    threading.Thread(target=follow, daemon=True).start()
    sys.argv = words
    runpy.run_path(words[0], run_name="__main__")


if __name__ == "__main__":
    main(sys.argv[1:])
