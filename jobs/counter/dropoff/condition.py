"""The garment's condition at drop-off: common things as chips, anything else in words."""

# Common practice at the counter: what is looked for before a garment is taken in.
MARKS = [
    "mark", "hole", "missing button", "worn seam", "fading", "colour not fast",
    "earlier alteration",
]  # fmt: skip
BETWEEN = "; "


def put_together(marks: list[str], words: str) -> str:
    """One text for the ticket: ``mark; hole; near the left pocket``."""
    return BETWEEN.join([*marks, *([words] if words else [])])


def take_apart(condition: str) -> tuple[list[str], str]:
    """The chips and the words that ``put_together`` made it of."""
    marks: list[str] = []
    parts = condition.split(BETWEEN)
    while parts and parts[0] in MARKS and parts[0] not in marks:
        marks.append(parts.pop(0))
    return marks, BETWEEN.join(parts)
