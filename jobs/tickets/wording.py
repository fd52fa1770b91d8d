"""What changed between two versions of an agreement, in words a client can read."""

from collections.abc import Iterator
from datetime import datetime
from typing import Any

from studio.shop import clock
from studio.shop.locales import show_clock, show_day
from studio.shop.money import format_money


def describe_delta(old: dict[str, Any], new: dict[str, Any], *, figures: bool = True) -> str:
    """``price 24.00 → 30.00; ready Fri 4 Dec → Mon 7 Dec``; empty when nothing printed changed.

    Without ``figures`` the price is named but not told, for a history that helpers read too.
    """
    return "; ".join(_deltas(old, new, figures))


def _deltas(old: dict[str, Any], new: dict[str, Any], figures: bool) -> Iterator[str]:
    was, now = _lines(old), _lines(new)
    yield from (f"added {name}" for pk, name in now.items() if pk not in was)
    yield from (f"took off {name}" for pk, name in was.items() if pk not in now)
    yield from (f"{was[pk]} is now {name}" for pk, name in now.items() if was.get(pk, name) != name)
    if old["gross"] != new["gross"]:
        studio = new["studio"]
        before, after = (
            format_money(data["gross"], studio["currency"], studio["locale"]) for data in (old, new)
        )
        yield f"price {before} → {after}" if figures else "price"
    if old["promise_at"] != new["promise_at"]:
        yield f"ready {_moment(old)} → {_moment(new)}"
    if old["wanted_by"] != new["wanted_by"] or old["event"] != new["event"]:
        yield "the day it is wanted"
    if old["deposit"] != new["deposit"]:
        yield "deposit"
    noted = _facts(old)
    for letter, facts in _facts(new).items():
        if noted.get(letter, facts) != facts:
            yield f"what was noted of {letter}"


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


def _moment(data: dict[str, Any]) -> str:
    moment = clock.local(datetime.fromisoformat(data["promise_at"]))
    locale = data["studio"]["locale"]
    return f"{show_day(moment, locale, year=False)} {show_clock(moment, locale)}"
