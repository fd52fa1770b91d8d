"""The pages of this room. A client's own page is the counter's: rooms meet there."""
