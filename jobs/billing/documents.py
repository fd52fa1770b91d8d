"""Invoice, credit note and receipt on paper: rendered once from what was frozen, then stored.

The contents follow Directive 2006/112/EC, Article 226 (invoice) and Article 219 (a document that
amends names the one it amends). ``address`` is that of the ticket's page, which the codes lead to.
"""

from datetime import date, datetime
from types import SimpleNamespace
from typing import Any

from jobs.billing.models import Invoice, Payment
from studio.shop import paper
from studio.shop.models import Profile, StoredPaper
from studio.shop.paper import code_png, issued_paper, needs_width
from studio.shop.territory import countries


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
    return _kept(invoice, name, template=template, facts=facts, studio=studio, address=address)


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
    return _kept(payment, name, template=template, facts=facts, studio=studio, address=address)


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


def _kept(
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
