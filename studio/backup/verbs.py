"""What the owner sets about copies; never a passphrase or a key."""

from studio.shop.history import Verb

ASKED = Verb("backup.ask", "{copy} is put back at the next start.", undo=False)
TAKEN_BACK = Verb("backup.take_back", "{copy} is not put back after all.", undo=False)
PUT_BACK = Verb("backup.put_back", "{copy} was put back.", undo=False)
SECOND_PLACE = Verb("backup.place", "Copies also go to {where}.", undo=False)
LOCKED = Verb("backup.lock", "Copies have a new passphrase.", undo=False)
UNLOCKED = Verb("backup.unlock", "Copies have no passphrase any more.", undo=False)
