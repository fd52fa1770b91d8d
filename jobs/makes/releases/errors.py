class ReleaseError(ValueError):
    """A step that a release cannot take. Its sentence says what can be done."""
