"""What is timed is done, not taken from what another test has printed."""

import pytest

from tests.papers import Press


@pytest.fixture(autouse=True)
def _printed_anew(press: Press, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(press, "on", False)
    monkeypatch.setattr(press, "proofs", False)
