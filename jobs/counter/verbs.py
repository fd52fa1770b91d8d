"""What is done where the rooms meet."""

from studio.shop.history import Verb

CLIENT_ERASED = Verb("client.erase", "The client was erased.", undo=False)
