"""What a fit sum cannot answer, said in a sentence that can stand beside the form field."""


class FitError(ValueError):
    """The figures asked for do not go together; the message says why."""
