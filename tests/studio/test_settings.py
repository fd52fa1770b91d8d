"""What the tests' own settings change for speed is in force where a studio runs."""

from studio import settings


def test_what_was_saved_survives_a_power_cut():
    """SQLite's documentation of PRAGMA synchronous: FULL waits until the disk has it."""
    assert "PRAGMA synchronous=FULL;" in settings.SQLITE["OPTIONS"]["init_command"]
