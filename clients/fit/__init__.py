"""Sums of body and garment, in plain Python."""


class FitError(ValueError):
    """The figures asked for do not go together; the message says why."""
