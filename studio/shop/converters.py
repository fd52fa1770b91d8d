"""What addresses are made of."""

from datetime import date


class IsoDate:
    """A day such as ``2026-03-02`` (ISO 8601, the extended calendar format)."""

    regex = r"\d{4}-\d\d-\d\d"

    def to_python(self, value: str) -> date:
        return date.fromisoformat(value)

    def to_url(self, value: date) -> str:
        return value.isoformat()
