"""Sharing a whole amount so that the parts add up to it."""

from collections.abc import Sequence
from fractions import Fraction
from typing import Any


def share_out(total: int, weights: Sequence[int], order: Sequence[Any]) -> list[int]:
    """``total`` minor units in proportion to ``weights``, by largest remainder.

    Everybody gets the whole units of their exact share; the units left over go one each to the
    largest fractions. Equal fractions go to the larger weight, then to the smaller ``order``, so
    the sequence of the parts does not matter. ``total`` and ``weights`` are 0 or more; all weights
    zero gives zeros. A part is never above its weight when the total is not above their sum.

    O(n log n). The method is Hamilton's of 1792 for seats in proportion to people.
    """
    weight_sum = sum(weights)
    if not weight_sum:
        return [0] * len(weights)
    shares = [Fraction(total * weight, weight_sum) for weight in weights]
    parts = [int(share) for share in shares]
    by_remainder = sorted(
        range(len(parts)), key=lambda i: (parts[i] - shares[i], -weights[i], order[i])
    )
    for i in by_remainder[: total - sum(parts)]:
        parts[i] += 1
    return parts
