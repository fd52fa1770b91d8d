"""Short ways to write down a book."""

from random import Random

from jobs.planning.core import Calendar, Stage


def dice(key: int) -> Random:
    """Random numbers that are the same in every run."""
    return Random(key)  # noqa: S311 -- reproducible, not secret


def job(name: str, processing: int, release: int, due: int) -> Stage:
    """A ticket of one stage."""
    return Stage(name, name, 0, processing, release, due)


def units(jobs: list[tuple[int, int]]) -> list[Stage]:
    """Jobs 1, 2, ... of (length, due time), all there at time 0, on buckets of one time unit.

    Finished at time C means finished in bucket C - 1, so due time d is due bucket d - 1 and the
    lateness C - d stays the same.
    """
    return [job(str(i), length, 0, due - 1) for i, (length, due) in enumerate(jobs, start=1)]


def unit_calendar(stages: list[Stage]) -> Calendar:
    """One minute in every bucket, for ever."""
    return Calendar((1,) * max(stage.due + 1 for stage in stages), (1,))
