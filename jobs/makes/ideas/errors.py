class MakeError(ValueError):
    """A step that a make cannot take now. Its sentence says what can be done."""
