from collections.abc import Iterator
from pathlib import Path

import pytest
from django.conf import LazySettings

from studio.backup import running


@pytest.fixture
def data(settings: LazySettings, tmp_path: Path) -> Iterator[Path]:
    """A data folder of this test alone. Database and stored files are those of the tests."""
    settings.DATA_DIR = tmp_path / "data"
    settings.DATA_DIR.mkdir()
    yield settings.DATA_DIR
    running.let_go()
