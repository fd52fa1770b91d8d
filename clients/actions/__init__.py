"""The verbs of this room: take a client on, change what is known, make two entries one."""

from clients.actions.keeping import AlikeError, add_client, change_client
from clients.actions.locking import GoneError, held
from clients.actions.merging import MergeError, merge, unmerge
from clients.actions.taking_in import Taken, take_in

__all__ = [
    "AlikeError",
    "GoneError",
    "MergeError",
    "Taken",
    "add_client",
    "change_client",
    "held",
    "merge",
    "take_in",
    "unmerge",
]
