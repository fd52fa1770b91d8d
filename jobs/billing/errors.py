"""What can go wrong with money, said in a sentence for the counter."""


class BillingError(ValueError):
    """The money cannot be booked so; the message says why and what would help."""
