"""The agreement: everything that was shown to the client, copied, one version after another."""

from typing import Any

from clients.models import Client
from jobs.pricing.quote import Quote, QuotedLine
from jobs.tickets.facts import printed
from jobs.tickets.models import Agreement, Garment, Line, Ticket
from studio.shop.models import Profile


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


def latest_agreement(ticket: Ticket) -> Agreement:
    return ticket.agreements.get(version=ticket.version)
