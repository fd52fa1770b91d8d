"""What the planner refuses, each with the numbers of its sentence."""


class PlanningError(ValueError):
    """The question cannot be answered as it was put."""


class WindowError(PlanningError):
    """A stage may not be worked before ``release`` but is due on ``due``, which comes earlier.

    Usually a fitting after the promise, or work that still waits when it has to be finished.
    """

    def __init__(self, ticket: str, stage: str, release: int, due: int) -> None:
        super().__init__(
            f"Stage {stage} of ticket {ticket} cannot be started before bucket {release} "
            f"but is due in bucket {due}."
        )
        self.ticket, self.stage, self.release, self.due = ticket, stage, release, due


class HorizonError(PlanningError):
    """A window ends after the last bucket of the capacity that was given."""

    def __init__(self, stage: str, due: int, buckets: int) -> None:
        super().__init__(
            f"{stage} is due in bucket {due}, but the capacity given ends after {buckets} buckets."
        )
        self.stage, self.due, self.buckets = stage, due, buckets


class NoBenchTimeError(PlanningError):
    """The calendar never holds so many minutes, however far one looks."""

    def __init__(self, minutes: int, after: int) -> None:
        super().__init__(f"The calendar never holds {minutes} minutes from bucket {after} on.")
        self.minutes, self.after = minutes, after


class NoDayError(PlanningError):
    """No allowed bucket comes at or after ``after`` in the buckets that were looked at."""

    def __init__(self, after: int) -> None:
        super().__init__(f"No allowed bucket was found at or after bucket {after}.")
        self.after = after
