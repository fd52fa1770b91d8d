"""Every address by its name, and what each role gets there. Whoever adds an address adds its row.

A row says what one request comes to: a status code, or LOGIN for the way to the login page. The
request is a GET unless the row says ``method="post"``. ``make`` builds what the address speaks of
and gives the arguments of the address. ``shows`` is what the owner gets: a whole page, which the
browser then walks through, a PART of one for htmx, or a FILE.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from tests import factories as f

LOGIN = "login"
PAGE, PART, FILE = "page", "part", "file"


@dataclass(frozen=True)
class Row:
    owner: int = 200
    helper: int = 200
    nobody: int | str = LOGIN
    method: str = "get"
    make: Callable[[], dict[str, Any]] = dict
    shows: str = PAGE
    data: dict[str, Any] = field(default_factory=dict)


def money(**rest: Any) -> Row:
    """A page the helper may not see."""
    return Row(helper=403, **rest)


def a_client() -> dict[str, Any]:
    return {"pk": f.ClientFactory().pk}


# Addresses that need no login, by name. Everything else is private.
PUBLIC: set[str] = set()

TABLE: dict[str, Row] = {}
