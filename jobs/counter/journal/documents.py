"""The journal of a year as a PDF. It grows, so it is rendered whenever somebody asks for it."""

from collections.abc import Iterator

from jobs.counter.journal.queries import Journal
from jobs.makes.models import Picture
from studio.shop import paper
from studio.shop.models import Profile
from studio.shop.pictures import shrunk

SIDES = {"A5": 900, "A4": 1000, "Letter": 1000}
"""Pixels of a photograph's longer side by size of paper: about 180 dots to the inch."""
SWATCH_SIDE = 240


def title(studio: Profile, year: int) -> str:
    return f"Journal {year}, {studio.name}"


def journal_pdf(journal: Journal, studio: Profile, *, page: str) -> bytes:
    """``page`` is one of ``SIDES``. Pictures are those whose files are there."""
    shown = dict(_pictures(journal, SIDES[page]))
    return paper.render(
        "counter/papers/journal.html",
        {"studio": studio, "journal": journal, "shown": set(shown)},
        title=title(studio, journal.year),
        language=studio.language_tag,
        page=page,
        pictures={str(pk): jpeg for pk, jpeg in shown.items()},
        sheet="journal",
    )


def _pictures(journal: Journal, side: int) -> Iterator[tuple[int, bytes]]:
    """Each picture once, by its id."""
    for picture, most in _sizes(journal, side).items():
        if picture.file.storage.exists(str(picture.file)):
            with picture.file.open("rb") as file:
                yield picture.pk, shrunk(file, most)


def _sizes(journal: Journal, side: int) -> dict[Picture, int]:
    sizes = {
        used.cloth.swatch: SWATCH_SIDE
        for entry in journal.entries
        for used in entry.cloths
        if used.cloth.swatch
    }
    return sizes | {entry.picture: side for entry in journal.entries if entry.picture}
