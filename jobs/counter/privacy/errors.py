"""What can stand in the way of erasing a client, said in sentences."""


class EraseError(ValueError):
    """Nothing was erased; ``reasons`` are sentences that say what has to be settled first."""

    def __init__(self, reasons: list[str]) -> None:
        self.reasons = reasons
        super().__init__(" ".join(reasons))
