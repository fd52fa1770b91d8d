"""What ``make test`` leaves to ``make test-thorough``: more of the same, which seldom tells more.

A case that is left out is marked ``thorough``; what goes on for a number of rounds asks ``rounds``.
"""

import os
from collections.abc import Callable, Iterable
from typing import Any

import pytest

THOROUGH = bool(os.environ.get("TESTS_THOROUGH"))


def rounds(usual: int, thorough: int) -> int:
    return thorough if THOROUGH else usual


def thinned(cases: Iterable[Any], kept: Callable[[Any], bool]) -> list[Any]:
    """All cases for ``parametrize``; those that are not kept are for a thorough run."""
    return [case if kept(case) else left_out(case) for case in cases]


def left_out(case: Any) -> Any:
    values = case if isinstance(case, tuple) else (case,)
    return pytest.param(*values, marks=pytest.mark.thorough)
