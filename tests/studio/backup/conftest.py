from collections.abc import Iterator
from pathlib import Path

import pytest
from django.conf import LazySettings

from studio.backup import running
from studio.backup.core import archive


@pytest.fixture(scope="session")
def key() -> tuple[str, str, str]:
    """Made once: its stretching is meant to be slow."""
    return archive.new_key("pins and needles")


@pytest.fixture
def data(settings: LazySettings, tmp_path: Path) -> Iterator[Path]:
    """A data folder of this test alone. Database and stored files are those of the tests."""
    settings.DATA_DIR = tmp_path / "data"
    settings.DATA_DIR.mkdir()
    yield settings.DATA_DIR
    running.let_go()
