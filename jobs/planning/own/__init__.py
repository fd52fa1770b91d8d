"""Own sewing where the week has a say: the card of a make, what spare hours would do for, what is
to buy, the record and the releases."""
