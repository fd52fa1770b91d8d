"""What the owner sets about copies, for ``tests/test_history.py``."""

from unittest.mock import patch

from studio.backup import actions, options, verbs
from tests.history_cases import case


@case(verbs.SECOND_PLACE)
def _second_place(house):
    yield
    actions.set_place(studio=house.studio, by=house.owner, chosen=options.Options())


@case(verbs.LOCKED)
def _passphrase(house):
    yield
    # Stretching a passphrase is meant to be slow, and has a test of its own.
    with patch("studio.backup.options.new_key", return_value=("key", "lock", "00")):
        actions.set_passphrase(studio=house.studio, by=house.owner, passphrase="five loose words")
    options.save(options.Options())  # a file of the data folder, which no test rolls back


@case(verbs.UNLOCKED)
def _no_passphrase(house):
    yield
    actions.set_passphrase(studio=house.studio, by=house.owner, passphrase="")
