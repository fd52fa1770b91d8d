class ShelfError(ValueError):
    """What cannot be done with a cloth; ``field`` is the form's field it is said beside."""

    def __init__(self, message: str, field: str = "length") -> None:
        super().__init__(message)
        self.field = field
