"""What can go wrong with the week, said in a sentence for the counter."""


class PlanError(ValueError):
    """The step cannot be taken; the message says why and what would help.

    ``field`` names what was asked wrongly, such as ``day``; empty where nothing in particular was.
    """

    def __init__(self, message: str, field: str = "") -> None:
        super().__init__(message)
        self.field = field
