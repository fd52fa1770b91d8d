"""Everything that is stored, as text: every table's every cell, every file's every byte."""

import io
import json
from pathlib import Path

import pypdf
from django.conf import settings
from django.db import connection


def tables() -> dict[str, str]:
    """Each table of the database by its name, its cells in text.

    A password's hash says nothing, and has any three letters once in a thousand runs.
    """
    texts = {}
    with connection.cursor() as cursor:
        for name in connection.introspection.table_names(cursor):
            cursor.execute(f"SELECT * FROM {connection.ops.quote_name(name)}")  # noqa: S608 -- the database's own names
            columns = [column[0] for column in cursor.description]
            cells = [
                plain(cell)
                for row in cursor.fetchall()
                for column, cell in zip(columns, row, strict=True)
                if column != "password"
            ]
            texts[name] = "\n".join(cells)
    return texts


def plain(cell: object) -> str:
    """A cell as text, JSON taken apart so that no letter hides behind an escape."""
    text = cell if isinstance(cell, str) else str(cell)
    try:
        return json.dumps(json.loads(text), ensure_ascii=False)
    except ValueError:
        return text


def where(words: list[str], but_for: tuple[str, ...] = ()) -> list[tuple[str, str]]:
    """Each table that holds one of ``words``, with the word; upper and lower case alike."""
    return [
        (name, word)
        for name, text in tables().items()
        for word in words
        if name not in but_for and word.casefold() in text.casefold()
    ]


def files() -> dict[str, str]:
    """Each stored file by its path, with what can be read in it; a PDF as its text."""
    root = Path(settings.MEDIA_ROOT)
    paths = sorted(path for path in root.rglob("*") if path.is_file())
    return {str(path.relative_to(root)): readable(path.read_bytes()) for path in paths}


def readable(content: bytes) -> str:
    if content.startswith(b"%PDF"):
        pages = pypdf.PdfReader(io.BytesIO(content)).pages
        return "\n".join(page.extract_text() for page in pages)
    return content.decode(errors="replace")
