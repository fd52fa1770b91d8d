"""What one caution says, and how well its source is known."""

from dataclasses import dataclass

READ = "read in the source"
QUOTED = "as a trade page quotes it"
DERIVED = "worked out from the source"
CUSTOM = "common practice"

LOCAL = "Local rules and licensed practice come before this note."


@dataclass(frozen=True)
class Caution:
    """A caution in plain words. It never decides; whoever reads it does.

    ``key`` is what is kept when somebody has read it, at most 24 letters. ``advice`` is what to do,
    ``source`` where the facts come from and ``label`` how well that is known. ``safety`` cautions
    are read once for each garment and stand on the work sheet; the others are passing notes.
    """

    key: str
    title: str
    sentences: tuple[str, ...]
    advice: str
    source: str
    label: str
    safety: bool = True
