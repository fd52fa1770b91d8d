"""The agreement: everything shown to the client, copied; and what changed between two versions."""

import re
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from itertools import takewhile
from typing import Any

from clients.models import Client
from jobs.pricing.quote import Quote, QuotedLine
from jobs.tickets.facts import printed
from jobs.tickets.models import Agreement, Garment, Line, Ticket, amount_in
from studio.shop import clock
from studio.shop.locales import show_clock, show_day, show_length
from studio.shop.models import Profile
from studio.shop.words import PARAMETER, Words


def studio_facts(studio: Profile) -> dict[str, Any]:
    """What a paper prints of the studio, copied so that a later move changes no paper."""
    return {
        "name": studio.name,
        "address_lines": studio.address_lines,
        "country": studio.country,
        "phone": studio.phone,
        "email": studio.email,
        "tax_number": studio.tax_number,
        "locale": studio.locale,
        "language": studio.language_tag,
        "time_zone": studio.time_zone,
        "unit": studio.unit,
        "currency": studio.currency,
        "tax_mode": studio.tax_mode,
        "terms": studio.terms,
    }


def client_facts(client: Client) -> dict[str, Any]:
    return {
        "name": client.name,
        "phone": client.phone,
        "email": client.email,
        "address_lines": client.address_lines,
        "country": client.country,
        "tax_number": client.tax_number,
        "language": client.language,
    }


def quoted_facts(quoted: QuotedLine) -> dict[str, Any]:
    return {
        "steps": [
            {
                "name": step.name,
                "amount": step.amount,
                "percent": None if step.percent is None else str(step.percent),
            }
            for step in quoted.steps
        ],
        "price": quoted.price,
        "net": quoted.net,
        "tax": quoted.tax,
        "gross": quoted.gross,
        "minutes": quoted.minutes,
    }


def rate_facts(quote: Quote) -> list[dict[str, Any]]:
    return [
        {
            "name": rate.tax.name,
            "percent": str(rate.tax.percent),
            "exempt": rate.tax.exempt,
            "sentence": rate.tax.sentence,
            "net": rate.net,
            "tax": rate.tax_amount,
            "gross": rate.gross,
        }
        for rate in quote.rates
    ]


def line_facts(line: Line, quoted: QuotedLine) -> dict[str, Any]:
    return {
        "pk": line.pk,
        "name": line.name,
        "quantity": line.quantity,
        "unit_price": line.unit_price,
        "amount": line.pinned,
        "note": line.note,
        "fitting_first": line.fitting_first,
        "hang_days": line.hang_days,
        "stitch": line.stitch,
        "tax_facts": line.tax,
        **quoted_facts(quoted),
    }


def garment_facts(garment: Garment, lines: list[dict[str, Any]]) -> dict[str, Any]:
    return {
        "letter": garment.letter,
        "kind": garment.kind_name,
        **printed(garment),
        "worn": garment.worn,
        "lines": lines,
    }


def worn_facts(garment: Garment) -> dict[str, Any]:
    """What it is worn with, as the fitting showed."""
    facts = printed(garment)
    return {key: facts[key] for key in ("heel", "heel_was", "shoes", "underwear")}


def with_worn(data: dict[str, Any], garment: Garment, version: int) -> dict[str, Any]:
    """The agreement's ``data`` with nothing new in it but what this garment is worn with."""
    pieces = [
        {**facts, **worn_facts(garment)} if facts["letter"] == garment.letter else facts
        for facts in data["garments"]
    ]
    return {**data, "version": version, "garments": pieces}


def agreement_data(
    ticket: Ticket, garments: list[tuple[Garment, list[Line]]], quote: Quote, studio: Profile
) -> dict[str, Any]:
    """The plain data of one version. ``garments`` come with their lines in the quote's order."""
    quoted = iter(quote.lines)
    pieces = [
        garment_facts(garment, [line_facts(line, next(quoted)) for line in lines])
        for garment, lines in garments
    ]
    return {
        "studio": studio_facts(studio),
        "client": client_facts(ticket.client),
        "number": ticket.number,
        "version": ticket.version,
        "received_at": ticket.received_at.isoformat(),
        "promise_at": ticket.promise_at.isoformat(),
        "wanted_by": ticket.wanted_by.isoformat() if ticket.wanted_by else None,
        "event": ticket.event,
        "note": ticket.note,
        "garments": pieces,
        "adjustments": [
            {"name": line.item.name, "tax_facts": _tax_facts(line), **quoted_facts(line)}
            for line in quote.adjustments
        ],
        "rates": rate_facts(quote),
        "net": quote.net,
        "tax": quote.tax,
        "gross": quote.gross,
        "deposit": quote.deposit,
        "balance": quote.balance,
        "minutes": quote.minutes,
    }


def _tax_facts(line: QuotedLine) -> dict[str, Any] | None:
    tax = line.item.tax
    if tax is None:
        return None
    return {
        "name": tax.name,
        "percent": str(tax.percent),
        "exempt": tax.exempt,
        "sentence": tax.sentence,
    }


def line_prices(data: dict[str, Any]) -> dict[int, int]:
    """What each line costs as agreed, by its key; with the adjustments they come to the total,
    which is without tax where tax is added."""
    garments = data.get("garments", [])
    return {line["pk"]: line["price"] for garment in garments for line in garment["lines"]}


def latest_agreement(ticket: Ticket) -> Agreement:
    return ticket.agreements.get(version=ticket.version)


Delta = Sequence[Any]
"""What changed, as plain data: its kind, then what was and what is; see ``tell_deltas``."""

TOLD = {
    "added": "added {new}",
    "removed": "took off {new}",
    "line": "{old} is now {new}",
    "price": "price {old} → {new}",
    "tax": "the tax of the work",
    "ready": "ready {old} → {new}",
    "wanted": "the day it is wanted",
    "deposit": "deposit",
    "noted": "what was noted of {new}",
}


def deltas(old: dict[str, Any], new: dict[str, Any]) -> list[Delta]:
    """From one agreement's data to the next; empty when nothing that is printed changed."""
    return [list(delta) for delta in _deltas(old, new)]


def describe_delta(old: dict[str, Any], new: dict[str, Any]) -> str:
    """``price 24.00 → 30.00; ready Fri 4 Dec → Mon 7 Dec``; empty when nothing printed changed."""
    studio = new["studio"]
    return tell_deltas(deltas(old, new), studio["locale"], currency=studio["currency"])


def delta_in(words: Words | None, agreement: Agreement) -> str:
    """What changed, told in a client's language: found again, where that is another one."""
    if words is None or words.is_english or not agreement.delta:
        return agreement.delta
    before = agreement.ticket.agreements.filter(version=agreement.version - 1).first()
    if before is None:
        return agreement.delta
    changes = deltas(_in_words(before.data, words), _in_words(agreement.data, words))
    currency = agreement.data["studio"]["currency"]
    return tell_deltas(changes, words.locale, currency=currency, words=words) or agreement.delta


def _in_words(data: dict[str, Any], words: Words) -> dict[str, Any]:
    """The data with its work and pinned amounts in words of that language."""
    garments = [
        {
            **garment,
            "lines": [
                {
                    **line,
                    "name": words.named(line["name"]),
                    "amount": amount_in(words, line.get("amount", "")),
                    "steps": [
                        {**step, "name": words.named(step["name"])} for step in line["steps"]
                    ],
                }
                for line in garment["lines"]
            ],
        }
        for garment in data["garments"]
    ]
    return {**data, "garments": garments}


def tell_deltas(
    changes: Iterable[Delta], locale: str, *, currency: str = "", words: Words | None = None
) -> str:
    """Without ``currency`` the price is named but not told: helpers read the history too."""
    words = words or Words(locale=locale)
    return "; ".join(_tell(change, words, currency) for change in changes)


def tell_asked(changes: Iterable[Delta], locale: str, *, currency: str = "") -> str:
    """As ``tell_deltas``, short: of a line what stays stands once, ``A: Hem take off 4 → 6 cm``."""
    return "; ".join(
        _from_to(*change[1:])
        if change[0] == "line"
        else tell_deltas([change], locale, currency=currency)
        for change in changes
    )


def _from_to(old: str, new: str) -> str:
    was, now = old.split(), new.split()
    before = _alike(was, now)
    after = _alike(was[before:][::-1], now[before:][::-1])
    ends = len(was) - after, len(now) - after
    here, there = " ".join(was[before : ends[0]]), " ".join(now[before : ends[1]])
    if not (here and there):
        return f"{old} → {new}"
    return " ".join([*was[:before], here, "→", there, *was[ends[0] :]])


def _alike(first: list[str], second: list[str]) -> int:
    """With how many same words two texts begin."""
    both = zip(first, second, strict=False)
    return sum(1 for _ in takewhile(lambda words: words[0] == words[1], both))


def _tell(change: Delta, words: Words, currency: str) -> str:
    kind, *values = change
    if kind == "price" and not currency:
        return "price"
    if kind == "price":
        values = [words.money(minor, currency) for minor in values]
    elif kind == "ready":
        values = [_moment(iso, words.locale) for iso in values]
    old, new = (values * 2)[:2] if values else ("", "")
    return words(TOLD[kind], old=old, new=new)


def _deltas(old: dict[str, Any], new: dict[str, Any]) -> Iterator[Delta]:
    was, now = _lines(old), _lines(new)
    yield from (("added", name) for pk, name in now.items() if pk not in was)
    yield from (("removed", name) for pk, name in was.items() if pk not in now)
    yield from (("line", was[pk], name) for pk, name in now.items() if was.get(pk, name) != name)
    charged, charges = _surcharged(old), _surcharged(new)
    for kind, these, others in (("added", charges, charged), ("removed", charged, charges)):
        yield from (
            (kind, name)
            for pk, name in these
            if (pk, name) not in others and pk in was and pk in now
        )
    if old["gross"] != new["gross"]:
        yield "price", old["gross"], new["gross"]
    if _taxes(old) != _taxes(new):
        yield ("tax",)
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


def extras(line: dict[str, Any]) -> list[str]:
    """What makes the work more than its name says: lined, beaded, rush."""
    steps = [step["name"] for step in line["steps"][1:] if step["amount"] > 0]
    return [name for name in dict.fromkeys(steps) if name != "rounding"]


def _surcharged(data: dict[str, Any]) -> dict[tuple[int, str], None]:
    """Each line's key with its work and one of its surcharges in words; rush is a matter of the
    day."""
    return {
        (line["pk"], f"{garment['letter']}: {line['name']}, {name}"): None
        for garment in data["garments"]
        for line in garment["lines"]
        for name in extras(line)
        if name != "rush"
    }


REASONS = (
    "Finish at {finished}, cut at {cut}. All {amount} that is there is turned up",
    "Finish at {finished}, cut at {cut}", "{amount} can be let out", "{amount} is taken in",
    "At the hem {inner} comes off at the inner seam, {outer} at the outer",
    "At the hem {amount} comes off at each seam",
    "The hem is {edge} round; {excess} has to be eased in",
    "Finished waist {waist}; cut the band {band} long",
    "Reverse charge", "Tax as usual", "Undone", "the days before were too full",
)  # fmt: skip
"""What the program writes as the reason of a version; figures are lengths."""
WAITED = ("waited {count} day for {what}", "waited {count} days for {what}")
WAITED_FOR = ("the client's answer", "a zip or other part", "washing", "the event shoes")
AS_FITS = "as one that fits"


def reason_in(words: Words | None, reason: str) -> str:
    """The reason of a version in a client's language, its figures as they are; what somebody typed
    stays. Versions keep it in English, so that those of before are said as well."""
    if words is None or words.is_english:
        return reason
    for phrase in REASONS:
        values = _values(phrase, reason)
        if values is not None:
            return words(phrase, **{
                name: show_length(value, words.locale) for name, value in values.items()
            })  # fmt: skip
    for phrase in WAITED:
        values = _values(phrase, reason)
        if values and values["count"].isdecimal() and values["what"] in WAITED_FOR:
            return words(*WAITED, count=int(values["count"]), what=words(values["what"]))
    return words(AS_FITS) if reason.endswith(f" {AS_FITS}") else reason


def _values(phrase: str, text: str) -> dict[str, str] | None:
    """The values of a phrase's parameters in a text that was made of it; they have no comma and no
    semicolon. None for another text."""
    parts = PARAMETER.split(phrase)
    pattern = "".join(
        f"(?P<{part}>[^,;]+?)" if place % 2 else re.escape(part) for place, part in enumerate(parts)
    )
    match = re.fullmatch(pattern, text)
    return match.groupdict() if match else None


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


def _taxes(data: dict[str, Any]) -> list[Any]:
    """The taxes that its sums name, without what they come to."""
    return [[rate[key] for key in ("name", "percent", "exempt")] for rate in data["rates"]]


def _facts(data: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """What is said of each garment apart from its lines, by its letter.

    Older data lacks what could not be said yet, which is as if nothing was said.
    """
    return {
        garment["letter"]: {
            key: value for key, value in garment.items() if value and key != "lines"
        }
        for garment in data["garments"]
    }


def _moment(iso: str, locale: str) -> str:
    moment = clock.local(datetime.fromisoformat(iso))
    return f"{show_day(moment, locale, year=False)} {show_clock(moment, locale)}"
