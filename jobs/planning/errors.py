"""What can go wrong with the week, said in a sentence for the counter."""


class PlanError(ValueError):
    """The step cannot be taken; the message says why and what would help."""
