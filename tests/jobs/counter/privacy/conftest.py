from collections.abc import Iterator

import pytest
import time_machine

from tests.jobs.counter.privacy.full_life import Life, full_life


@pytest.fixture(autouse=True)
def _march() -> Iterator[None]:
    """Files are named after numbers, and numbers after the year."""
    with time_machine.travel("2026-03-11 10:30Z", tick=False):
        yield


@pytest.fixture(autouse=True)
def folder(settings, tmp_path):
    """A folder of the test's own, so that every file in it is accounted for."""
    local = settings.STORAGES["default"] | {"OPTIONS": {"location": tmp_path}}
    settings.STORAGES = settings.STORAGES | {"default": local}
    settings.MEDIA_ROOT = tmp_path
    return tmp_path


@pytest.fixture
def life(studio, owner) -> Life:
    """One client with all that can be kept."""
    return full_life(studio, owner)
