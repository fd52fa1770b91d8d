from collections.abc import Iterator
from pathlib import Path

import pyrage
import pytest
from django.conf import LazySettings

from studio.backup import running
from tests.studio.backup.age_format import locked


@pytest.fixture(scope="session")
def key() -> tuple[str, str, str]:
    """As ``new_key`` makes it, but for the stretching, which is meant to be slow."""
    identity = pyrage.x25519.Identity.generate()
    kept = locked(str(identity).encode(), "pins and needles")
    return str(identity), str(identity.to_public()), kept.hex()


@pytest.fixture
def data(settings: LazySettings, tmp_path: Path) -> Iterator[Path]:
    """A data folder of this test alone. Database and stored files are those of the tests."""
    settings.DATA_DIR = tmp_path / "data"
    settings.DATA_DIR.mkdir()
    yield settings.DATA_DIR
    running.let_go()
