"""The verbs of the shelf: what is cut, put back, washed and measured is one move each."""

from jobs.makes.shelf.actions.keeping import add_cloth, change_cloth
from jobs.makes.shelf.actions.moving import (
    TAKEN_BACK,
    cut,
    give_away,
    measure_again,
    put_back,
    take_back,
)
from jobs.makes.shelf.actions.washing import Washed, wash
from jobs.makes.shelf.errors import ShelfError

__all__ = [
    "TAKEN_BACK",
    "ShelfError",
    "Washed",
    "add_cloth",
    "change_cloth",
    "cut",
    "give_away",
    "measure_again",
    "put_back",
    "take_back",
    "wash",
]
