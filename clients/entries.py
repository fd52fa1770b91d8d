"""A client as a file tells it, before anybody has looked at it."""

from dataclasses import dataclass, field


@dataclass
class Entry:
    """One row or card: the line it begins on, facts by name, and what is wrong with it."""

    line: int
    facts: dict[str, str]
    problems: list[str] = field(default_factory=list)

    def add_note(self, note: str) -> None:
        self.facts["notes"] = f"{self.facts.get('notes', '')}\n{note}".strip()
