"""An agreement's frozen data as the templates of the ticket's papers read it."""

import re
from collections.abc import Callable
from datetime import date, datetime
from decimal import Decimal
from types import SimpleNamespace
from typing import Any

from jobs.pricing import quote as q
from jobs.tickets.facts import on_paper
from studio.shop.money import format_money
from studio.shop.paper import needs_width

Facts = dict[str, Any]
SHORT_TERMS = 400  # letters that stand beside the totals

# The space between a figure and its unit, where no line may break.
AMOUNT = re.compile(r"(?<=[\d¼½¾⅛⅜⅝⅞]) (?=[^\W\d])")


def ticket_facts(data: Facts, *, address: str, figures: bool = True) -> Facts:
    """The context of one paper. ``address`` is the ticket's page; ``figures`` shows the money."""
    studio = SimpleNamespace(**data["studio"])
    return {
        **data,
        "studio": studio,
        "address": address,
        "figures": figures,
        "long_terms": len(studio.terms) > SHORT_TERMS,
        "wide": needs_width(data["gross"], studio.currency, studio.locale),
        "received_at": datetime.fromisoformat(data["received_at"]),
        "promise_at": datetime.fromisoformat(data["promise_at"]),
        "wanted_by": date.fromisoformat(data["wanted_by"]) if data["wanted_by"] else None,
        "garments": [shown_garment(garment, studio) for garment in data["garments"]],
        "adjustments": [shown_line(line, studio) for line in data["adjustments"]],
    }


def shown_garment(garment: Facts, studio: SimpleNamespace) -> Facts:
    lines = [shown_line(line, studio) for line in garment["lines"]]
    return {
        **garment,
        "name": ", ".join(part for part in (garment["kind"], garment["colour"]) if part),
        "lines": lines,
        "price": sum(line["price"] for line in lines),
        "minutes": sum(line["minutes"] for line in lines),
        "fitting_first": any(line["fitting_first"] for line in lines),
        "noted": on_paper(garment),
    }


def shown_line(line: Facts, studio: SimpleNamespace) -> Facts:
    def show(minor: int) -> str:
        return format_money(minor, studio.currency, studio.locale)

    return {
        **line,
        "amount": AMOUNT.sub("\N{NO-BREAK SPACE}", line.get("amount", "")),
        "explained": explained(line, show),
        "extras": extras(line),
    }


def extras(line: Facts) -> list[str]:
    """What makes the work more than its name says: lined, beaded, rush."""
    steps = [step["name"] for step in line["steps"][1:] if step["amount"] > 0]
    return [name for name in dict.fromkeys(steps) if name != "rounding"]


def explained(line: Facts, show: Callable[[int], str]) -> str:
    """How a price came about, where it is more than one price of the list."""
    quantity = line.get("quantity", 1)
    if len(line["steps"]) == 1 and quantity == 1:
        return ""
    return q.explain(thaw_line(line), show)


def thaw_line(line: Facts) -> q.QuotedLine:
    """The quoted line that ``agreements.quoted_facts`` froze."""
    steps = tuple(
        q.Step(step["name"], step["amount"], step["percent"] and Decimal(step["percent"]))
        for step in line["steps"]
    )
    item = q.Item(
        key="",
        name=line["name"],
        unit_price=line.get("unit_price", steps[0].amount),
        quantity=line.get("quantity", 1),
    )
    amounts = {key: line[key] for key in ("price", "net", "tax", "gross", "minutes")}
    return q.QuotedLine(item, steps, **amounts)
