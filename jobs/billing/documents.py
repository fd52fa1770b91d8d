"""Invoices, credit notes and receipts: what they say is copied once and printed once.

``invoice_data``, ``credit_data`` and ``payment_data`` are what is frozen at issue, never read from
a ticket again: days are ISO 8601 texts, money is integer minor units, percentages are texts of
plain decimals. ``invoice_paper`` and ``receipt_paper`` put that on paper, the same file ever after;
their ``address`` is that of the ticket's page, which the codes lead to. The contents follow
Directive 2006/112/EC: Article 226 (full invoice), Article 226b (simplified invoice), Article 219
(a document that amends names the one it amends).
"""

from datetime import date, datetime
from fractions import Fraction
from types import SimpleNamespace
from typing import Any

from jobs.billing.models import Invoice, Payment
from jobs.billing.queries import owed, standing_payments
from jobs.tickets.agreements import client_facts, latest_agreement, studio_facts
from jobs.tickets.models import Ticket
from studio.shop import paper
from studio.shop.models import Profile, StoredPaper
from studio.shop.money import round_half_up
from studio.shop.paper import code_png, issued_paper, needs_width
from studio.shop.territory import countries

NEGATED = frozenset({"unit_net", "price", "net", "tax", "gross"})


def seller_facts(studio: Profile) -> dict[str, Any]:
    return {
        **studio_facts(studio),
        "invoice_sentence": studio.invoice_sentence,
        "pay_days": studio.pay_days,
    }


def invoice_data(
    ticket: Ticket,
    studio: Profile,
    *,
    number: str,
    issued_on: date,
    supply_on: date,
    pay_by: date,
) -> dict[str, Any]:
    """Everything that is printed on an invoice for what is agreed on the ticket now."""
    agreed = latest_agreement(ticket).data
    payments = standing_payments(ticket)
    paid_total = sum(payment.amount for payment in payments)
    balance = agreed["gross"] - paid_total
    return {
        "studio": seller_facts(studio),
        "client": client_facts(ticket.client),
        "number": number,
        "kind": Invoice.Kind.INVOICE.value,
        "issued_on": issued_on.isoformat(),
        "supply_on": supply_on.isoformat(),
        "ticket": ticket.number,
        "lines": agreed_lines(agreed),
        "adjustments": [_charge("", line) for line in agreed["adjustments"]],
        **{key: agreed[key] for key in ("rates", "net", "tax", "gross")},
        "paid": [
            {
                "number": payment.number,
                "day": payment.day.isoformat(),
                "method": payment.method,
                "amount": payment.amount,
            }
            for payment in payments
        ],
        "paid_total": paid_total,
        "balance": balance,
        "pay_by": pay_by.isoformat() if balance > 0 else None,
        "refers_to": None,
        "reason": "",
    }


def agreed_lines(agreed: dict[str, Any]) -> list[dict[str, Any]]:
    """The lines of an agreement as an invoice prints them."""
    return [
        _charge(f"{garment['letter']} {garment['colour']}".strip() + f" {garment['kind']}", line)
        for garment in agreed["garments"]
        for line in garment["lines"]
    ]


def _charge(garment: str, line: dict[str, Any]) -> dict[str, Any]:
    """One line; ``unit_net`` is its unit price without tax (Article 226, point 8)."""
    quantity = line.get("quantity", 1)
    return {
        "garment": garment,
        "name": line["name"],
        "amount": line.get("amount", ""),
        "quantity": quantity,
        "unit_net": round_half_up(Fraction(line["net"], quantity)),
        **{key: line[key] for key in ("steps", "price", "net", "tax", "gross", "tax_facts")},
    }


def credit_data(
    invoice: Invoice, studio: Profile, *, number: str, issued_on: date, reason: str
) -> dict[str, Any]:
    """The mirror of an invoice: every amount negated, the original named."""
    old = invoice.data
    return {
        **old,
        "studio": seller_facts(studio),
        "number": number,
        "kind": Invoice.Kind.CREDIT.value,
        "issued_on": issued_on.isoformat(),
        "lines": [_mirror(line) for line in old["lines"]],
        "adjustments": [_mirror(line) for line in old["adjustments"]],
        "rates": [_mirror(rate) for rate in old["rates"]],
        **{key: -old[key] for key in ("net", "tax", "gross")},
        "paid": [],
        "paid_total": 0,
        "balance": -old["gross"],
        "pay_by": None,
        "refers_to": {"number": invoice.number, "issued_on": old["issued_on"]},
        "reason": reason,
    }


def _mirror(part: dict[str, Any]) -> dict[str, Any]:
    turned = {key: -value if key in NEGATED else value for key, value in part.items()}
    if "steps" in part:
        turned["steps"] = [{**step, "amount": -step["amount"]} for step in part["steps"]]
    return turned


def payment_data(payment: Payment, studio: Profile, *, paid_total: int) -> dict[str, Any]:
    """Everything that is printed on a receipt. ``paid_total`` counts this payment already."""
    ticket = payment.ticket
    return {
        "studio": seller_facts(studio),
        "client": client_facts(ticket.client),
        "number": payment.number,
        "ticket": ticket.number,
        "invoice": payment.invoice.number if payment.invoice else "",
        "day": payment.day.isoformat(),
        "taken_at": payment.taken_at.isoformat(),
        "method": payment.method,
        "kind": payment.kind,
        "amount": payment.amount,
        "gross": owed(ticket),
        "paid_total": paid_total,
        "balance": owed(ticket) - paid_total,
        "reverses": payment.reverses.number if payment.reverses else "",
    }


def invoice_paper(invoice: Invoice, *, studio: Profile, address: str) -> StoredPaper:
    """The invoice or credit note on the studio's sheet, the same file ever after."""
    name = f"{invoice.get_kind_display()} {invoice.number}"
    data = invoice.data
    facts = {
        **_parties(data, invoice.currency),
        "issued_on": date.fromisoformat(data["issued_on"]),
        "supply_on": date.fromisoformat(data["supply_on"]),
        "pay_by": date.fromisoformat(data["pay_by"]) if data["pay_by"] else None,
        "refers_on": data["refers_to"] and date.fromisoformat(data["refers_to"]["issued_on"]),
        "charges": [*data["lines"], *data["adjustments"]],
        "wide": needs_width(data["gross"], invoice.currency, data["studio"]["locale"]),
        "paid": [
            {
                **payment,
                "day": date.fromisoformat(payment["day"]),
                "method": Payment.Method(payment["method"]).label.lower(),
            }
            for payment in data["paid"]
        ],
    }
    template = "billing/papers/invoice.html"
    return _issued(invoice, name, template=template, facts=facts, studio=studio, address=address)


def receipt_paper(payment: Payment, *, studio: Profile, address: str) -> StoredPaper:
    """The receipt of a payment, refund or reversal, the same file ever after."""
    data = payment.data
    facts = {
        **_parties(data, payment.currency),
        "taken_at": datetime.fromisoformat(data["taken_at"]),
        "method": Payment.Method(data["method"]).label.lower(),
        "kind": Payment.Kind(data["kind"]).label.lower(),
    }
    name = f"Receipt {payment.number}"
    template = "billing/papers/receipt.html"
    return _issued(payment, name, template=template, facts=facts, studio=studio, address=address)


def _parties(data: dict[str, Any], currency: str) -> dict[str, Any]:
    """Countries are told where client and studio are not in the same one."""
    here, there = data["studio"]["country"], data["client"]["country"]
    abroad = there and there != here
    return {
        **data,
        "studio": SimpleNamespace(**{**data["studio"], "currency": currency}),
        "studio_country": countries().get(here, here) if abroad else "",
        "client_country": countries().get(there, there) if abroad else "",
    }


def _issued(
    row: Invoice | Payment,
    name: str,
    *,
    template: str,
    facts: dict[str, Any],
    studio: Profile,
    address: str,
) -> StoredPaper:
    def make() -> bytes:
        return paper.render(
            template,
            {**facts, "address": address},
            title=name,
            language=facts["studio"].language,
            page=studio.paper,
            pictures={"code": code_png(address)},
        )

    return issued_paper(row, "paper", name, make)
