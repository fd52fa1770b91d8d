"""Many small cases in one test: a test of each would take longer than what it checks."""

import inspect
from collections.abc import Callable, Iterable, Sequence
from functools import wraps
from typing import Any


def each_row(names: str | Sequence[str], rows: Iterable[Any]) -> Callable[..., Any]:
    """As pytest's ``parametrize``, for checks that need no database and change nothing.

    Every row is tried; what fails is told with its row.
    """
    names, rows = [names] if isinstance(names, str) else list(names), list(rows)
    assert rows, "There is no row to check."

    def decorate(test: Callable[..., None]) -> Callable[..., None]:
        @wraps(test)
        def each(**given: Any) -> None:
            wrong = []
            for row in rows:
                values = row if len(names) > 1 else [row]
                try:
                    test(**dict(zip(names, values, strict=True)), **given)
                except Exception as error:
                    error.add_note(f"with {row!r}")
                    wrong.append(error)
            if wrong:
                raise ExceptionGroup(f"{len(wrong)} of {len(rows)} rows", wrong)

        signature = inspect.signature(test)
        left = [part for name, part in signature.parameters.items() if name not in names]
        each.__signature__ = signature.replace(parameters=left)  # type: ignore[attr-defined]
        return each

    return decorate
