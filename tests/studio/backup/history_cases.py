"""What the owner sets about copies, for ``tests/test_history.py``."""

from unittest.mock import patch

from studio.backup import actions, asked, options, verbs
from studio.shop.history import note
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


@case(verbs.ASKED)
def _put_back_at_the_next_start(house):
    yield
    actions.ask_to_put_back(studio=house.studio, by=house.owner, name="studio.zip")
    asked.forget()


@case(verbs.TAKEN_BACK)
def _not_put_back(house):
    asked.save(asked.AskedRestore("studio.zip"))
    yield
    actions.take_back(studio=house.studio, by=house.owner)


@case(verbs.PUT_BACK)
def _was_put_back(house):
    yield
    note(verbs.PUT_BACK, about=house.studio, by=None, copy="studio.zip")
