"""What the owner sets about copies; never a passphrase or a key."""

from studio.shop.history import Verb

SECOND_PLACE = Verb("backup.place", "Copies also go to {where}.", undo=False)
LOCKED = Verb("backup.lock", "Copies have a new passphrase.", undo=False)
UNLOCKED = Verb("backup.unlock", "Copies have no passphrase any more.", undo=False)
