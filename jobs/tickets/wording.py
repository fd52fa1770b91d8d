"""What changed between two versions of an agreement, in words a client can read."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from typing import Any

from studio.shop import clock
from studio.shop.locales import show_clock, show_day
from studio.shop.money import format_money

Delta = Sequence[Any]
"""What changed, as plain data: its kind, then what was and what is; see ``tell_deltas``."""

TOLD = {
    "added": "added {}",
    "removed": "took off {}",
    "line": "{} is now {}",
    "price": "price {} → {}",
    "ready": "ready {} → {}",
    "wanted": "the day it is wanted",
    "deposit": "deposit",
    "noted": "what was noted of {}",
}


def deltas(old: dict[str, Any], new: dict[str, Any]) -> list[Delta]:
    """From one agreement's data to the next; empty when nothing that is printed changed."""
    return [list(delta) for delta in _deltas(old, new)]


def describe_delta(old: dict[str, Any], new: dict[str, Any]) -> str:
    """``price 24.00 → 30.00; ready Fri 4 Dec → Mon 7 Dec``; empty when nothing printed changed."""
    studio = new["studio"]
    return tell_deltas(deltas(old, new), studio["locale"], currency=studio["currency"])


def tell_deltas(changes: Iterable[Delta], locale: str, *, currency: str = "") -> str:
    """Without ``currency`` the price is named but not told: helpers read the history too."""
    return "; ".join(_tell(change, locale, currency) for change in changes)


def _tell(change: Delta, locale: str, currency: str) -> str:
    kind, *values = change
    if kind == "price" and not currency:
        return "price"
    if kind == "price":
        values = [format_money(minor, currency, locale) for minor in values]
    elif kind == "ready":
        values = [_moment(iso, locale) for iso in values]
    return TOLD[kind].format(*values)


def _deltas(old: dict[str, Any], new: dict[str, Any]) -> Iterator[Delta]:
    was, now = _lines(old), _lines(new)
    yield from (("added", name) for pk, name in now.items() if pk not in was)
    yield from (("removed", name) for pk, name in was.items() if pk not in now)
    yield from (("line", was[pk], name) for pk, name in now.items() if was.get(pk, name) != name)
    if old["gross"] != new["gross"]:
        yield "price", old["gross"], new["gross"]
    if old["promise_at"] != new["promise_at"]:
        yield "ready", old["promise_at"], new["promise_at"]
    if old["wanted_by"] != new["wanted_by"] or old["event"] != new["event"]:
        yield ("wanted",)
    if old["deposit"] != new["deposit"]:
        yield ("deposit",)
    noted = _facts(old)
    for letter, facts in _facts(new).items():
        if noted.get(letter, facts) != facts:
            yield "noted", letter


def tell_worn(letter: str, parts: Iterable[Delta]) -> str:
    """What a garment is worn with; each part is its name, what was and what is."""
    words = "; ".join(
        f"{name} of {letter}: {now or 'not known'}" + (f" instead of {was}" if was else "")
        for name, was, now in parts
    )
    return words[:1].upper() + words[1:]


def _lines(data: dict[str, Any]) -> dict[int, str]:
    """Each line by its key, in words."""
    return {
        line["pk"]: " ".join(
            part
            for part in (
                f"{garment['letter']}: {line['name']}",
                f"x {line['quantity']}" if line["quantity"] > 1 else "",
                line["amount"],
                line["note"],
            )
            if part
        )
        for garment in data["garments"]
        for line in garment["lines"]
    }


def _facts(data: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """What is said of each garment apart from its lines, by its letter.

    Older data lacks what could not be said yet, which is as if nothing was said.
    """
    return {
        garment["letter"]: {key: said for key, said in garment.items() if said and key != "lines"}
        for garment in data["garments"]
    }


def _moment(iso: str, locale: str) -> str:
    moment = clock.local(datetime.fromisoformat(iso))
    return f"{show_day(moment, locale, year=False)} {show_clock(moment, locale)}"
