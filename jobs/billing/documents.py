"""Invoices, credit notes and receipts: what they say is copied once and printed once.

``invoice_data``, ``credit_data`` and ``payment_data`` are what is frozen at issue, never read from
a ticket again: days are ISO 8601 texts, money is integer minor units, percentages are texts of
plain decimals. ``invoice_paper`` and ``receipt_paper`` put that on paper, the same file ever after;
their ``address`` is that of the ticket's page, which the codes lead to. The contents follow
Directive 2006/112/EC: Article 226 (full invoice), Article 226b (simplified invoice), Article 219
(a document that amends names the one it amends).
"""

from dataclasses import dataclass, replace
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from types import SimpleNamespace
from typing import Any

from stdnum import iban

from clients.models import Client
from jobs.billing.models import Invoice, Payment
from jobs.billing.points import (
    InvoicePoint,
    client_owes,
    is_full,
    is_strict,
    missing_of_studio,
    shown_tax,
    tax_number_of,
    usual_limit,
    vat_number_of,
)
from jobs.billing.queries import gives_back, owed, standing_payments
from jobs.pricing.quote import TaxMode, share_out, tax_within
from jobs.tickets.agreements import client_facts, latest_agreement, studio_facts
from jobs.tickets.models import Ticket, amount_in, garment_words
from jobs.tickets.quoting import thaw_tax, untaxed
from studio.shop import paper
from studio.shop.locales import show_share
from studio.shop.models import Profile, StoredPaper, TaxClass
from studio.shop.money import decimals, round_half_up
from studio.shop.paper import Enclosure, code_png, issued_paper, needs_width, transfer_png
from studio.shop.paper.printers import SHEETS, size_of
from studio.shop.words import Words, frozen_words

NEGATED = frozenset({"unit_net", "price", "net", "tax", "gross"})
INVOICE_PAPER = "billing/papers/invoice.html"
ENCLOSED = "factur-x.xml"  # the name that readers of hybrid invoices look for
METADATA = Path(__file__).with_name("electronic.xmp")
ROUNDING, DISCOUNT = "rounding", "discount"  # as the quote names these steps


SAID = (
    "legal_name", "vat_number", "invoice_sentence", "invoice_words", "iban", "bic",
    "cash_accounting", "pay_days",
)  # fmt: skip


WRITTEN = ("invoice_sentence", "invoice_words")  # by the owner, and said in the client's language


def seller_facts(studio: Profile) -> dict[str, Any]:
    return {
        **studio_facts(studio),
        **{name: getattr(studio, name) for name in SAID},
        "address": _address(studio),
    }


def buyer_facts(client: Client) -> dict[str, Any]:
    """Whom the invoice is made out to: a company by the name under which it is registered."""
    person = {"contact_person": client.contact_person} if client.contact_person else {}
    return {
        **client_facts(client),
        "name": client.legal_name or client.name,
        **person,
        "vat_number": client.vat_number,
        "address": _address(client),
    }


def _address(party: Profile | Client) -> dict[str, str]:
    names = ("street", "postcode", "city", "region")
    return {name: getattr(party, name, "") for name in names}


def simplified_limit(studio: Profile) -> int | None:
    """The total in minor units up to which a simplified invoice will do; None where none is known.

    The owner's own, else what is usual in the country.
    """
    if studio.simplified_limit is not None:
        return studio.simplified_limit
    usual = usual_limit(studio.country, studio.currency)
    return usual.amount * 10 ** decimals(studio.currency) if usual else None


def unsaid(studio: Profile) -> list[InvoicePoint]:
    """The points that invoices of the studio lack as its settings stand.

    They are asked of the usual one; where it has no tax, also of one whose tax the client owes,
    if the studio has named such a tax.
    """
    taxed = studio.tax_mode != studio.TaxMode.NONE
    line = {"name": "work", "quantity": 1, "tax_facts": {} if taxed else None}
    usual = {
        "studio": seller_facts(studio), "client": {}, "form": "simplified",
        "rates": [{"exempt": False}] if taxed else [], "lines": [line], "adjustments": [],
        "issued_on": "today", "supply_on": "today", "electronic": studio.electronic,
    }  # fmt: skip
    if taxed:
        return missing_of_studio(usual)
    exempt = TaxClass.objects.filter(exempt=True).values("exempt", "sentence")
    reversed_ones = [usual | {"rates": [rate]} for rate in exempt if client_owes(rate)]
    return missing_of_studio(usual, *reversed_ones)


def _form(gross: int, rates: list[dict[str, Any]], studio: Profile, client: Client) -> str:
    """A simplified one will not do for a company, nor where the client owes the tax (220a, 2)."""
    limit = simplified_limit(studio)
    if client.is_company or any(client_owes(rate) for rate in rates):
        return "full"
    if limit is None:
        return "full" if is_strict(studio.country) else "simplified"
    return "full" if gross > limit else "simplified"


def invoice_data(
    ticket: Ticket, studio: Profile, *, issued_on: date, supply_on: date, to_come: bool,
    pay_by: date,
) -> dict[str, Any]:  # fmt: skip
    """Everything that is printed on an invoice for what is agreed now; its number comes last."""
    agreed = latest_agreement(ticket).data
    payments = standing_payments(ticket)
    paid_total = sum(payment.amount for payment in payments)
    balance = agreed["gross"] - paid_total
    return {
        "studio": seller_facts(studio),
        "client": buyer_facts(ticket.client),
        "form": _form(agreed["gross"], agreed["rates"], studio, ticket.client),
        "electronic": studio.electronic,
        "number": "",
        "kind": Invoice.Kind.INVOICE.value,
        "issued_on": issued_on.isoformat(),
        "supply_on": supply_on.isoformat(),
        "to_come": to_come,
        "ticket": ticket.number,
        **charges(agreed),
        "paid": [
            {
                "number": payment.number,
                "day": payment.day.isoformat(),
                "method": payment.method,
                "amount": payment.amount,
                **_tax_told(payment),
            }
            for payment in payments
        ],
        "paid_total": paid_total,
        "balance": balance,
        "pay_by": pay_by.isoformat() if balance > 0 else None,
        "refers_to": None,
        "reason": "",
    }


def charges(agreed: dict[str, Any]) -> dict[str, Any]:
    """What an agreement charges, as an invoice copies it."""
    return {
        "lines": agreed_lines(agreed),
        "adjustments": [_charge("", line) for line in agreed["adjustments"]],
        **{key: agreed[key] for key in ("rates", "net", "tax", "gross")},
    }


def agreed_lines(agreed: dict[str, Any]) -> list[dict[str, Any]]:
    """The lines of an agreement as an invoice prints them."""
    return [
        _charge(garment_words(garment["letter"], garment["kind"], garment["colour"]), line)
        for garment in agreed["garments"]
        for line in garment["lines"]
    ]


def _charge(garment: str, line: dict[str, Any]) -> dict[str, Any]:
    """One line; its first step is the unit price times the quantity."""
    return {
        "garment": garment,
        "name": line["name"],
        "amount": line.get("amount", ""),
        "quantity": line.get("quantity", 1),
        **{key: line[key] for key in ("steps", "price", "net", "tax", "gross", "tax_facts")},
    }


def credit_data(
    invoice: Invoice,
    studio: Profile,
    *,
    number: str,
    issued_on: date,
    reason: str,
    charges: dict[str, Any] | None = None,
) -> dict[str, Any]:
    """The mirror of an invoice: every amount negated, the original named.

    With ``charges`` only these of it, as ``credit_charges`` makes them.
    """
    old = invoice.data
    charged = charges or _mirrored(old)
    return {
        **old,
        # The amounts speak of tax as the invoice did, whatever the studio does by now.
        "studio": {**seller_facts(studio), "tax_mode": old["studio"]["tax_mode"]},
        "number": number,
        "kind": Invoice.Kind.CREDIT.value,
        "issued_on": issued_on.isoformat(),
        **charged,
        "paid": [],
        "paid_total": 0,
        "balance": charged["gross"],
        "pay_by": None,
        "refers_to": {"number": invoice.number, "issued_on": old["issued_on"]},
        "reason": reason,
    }


def _mirrored(old: dict[str, Any]) -> dict[str, Any]:
    return {
        "lines": [_mirror(line) for line in old["lines"]],
        "adjustments": [_mirror(line) for line in old["adjustments"]],
        "rates": [_mirror(rate) for rate in old["rates"]],
        **{key: -old[key] for key in ("net", "tax", "gross")},
    }


def _mirror(part: dict[str, Any]) -> dict[str, Any]:
    turned = {key: -value if key in NEGATED else value for key, value in part.items()}
    if "steps" in part:
        turned["steps"] = [{**step, "amount": -step["amount"]} for step in part["steps"]]
    return turned


def payment_data(payment: Payment, studio: Profile, *, paid_total: int) -> dict[str, Any]:
    """Everything that is printed on a receipt. ``paid_total`` counts this payment already."""
    ticket = payment.ticket
    total = owed(ticket)
    return {
        "studio": seller_facts(studio),
        "client": buyer_facts(ticket.client),
        "number": payment.number,
        "ticket": ticket.number,
        "invoice": payment.invoice.number if payment.invoice else "",
        "day": payment.day.isoformat(),
        "taken_at": payment.taken_at.isoformat(),
        "method": payment.method,
        "kind": payment.kind,
        "amount": payment.amount,
        "gross": total,
        "paid_total": paid_total,
        "balance": total - paid_total,
        "reverses": payment.reverses.number if payment.reverses else "",
        "rates": deposit_rates(payment, studio),
        "work": work_done(latest_agreement(ticket).data),
    }


def work_done(agreed: dict[str, Any]) -> dict[str, Any]:
    """What a receipt says of the work and its tax: with it a receipt is a simplified invoice.

    Article 226b asks for the day, who supplies, what, and the tax or what is needed to compute it.
    No amounts of the body are copied: the books are kept longer than they.
    """
    return {
        "lines": [
            {
                "name": f"{garment['letter']} {garment['kind']}: {line['name']}",
                "quantity": line.get("quantity", 1),
                "price": line["price"],
            }
            for garment in agreed["garments"]
            for line in garment["lines"]
        ]
        + [
            {"name": line["name"].capitalize(), "quantity": 1, "price": line["price"]}
            for line in agreed["adjustments"]
        ],
        **{key: agreed[key] for key in ("rates", "net", "gross")},
    }


def _tax_told(payment: Payment) -> dict[str, int]:
    """The tax that the receipt told already, where it did."""
    rates = payment.data.get("rates")
    return {"tax": sum(rate["tax"] for rate in rates)} if rates else {}


def deposit_rates(payment: Payment, studio: Profile) -> list[dict[str, Any]]:
    """The tax inside money that is paid before the invoice, where the owner has it told.

    The amount is shared over the rates of the agreement in proportion to their totals, by largest
    remainder; the tax of each part is the VAT fraction of it. A reversal mirrors its payment.
    """
    if payment.reverses:
        return [_mirror(rate) for rate in payment.reverses.data.get("rates", [])]
    if not studio.deposit_tax or payment.invoice:
        return []
    rates = latest_agreement(payment.ticket).data["rates"]
    totals, names = [rate["gross"] for rate in rates], [(rate["name"],) for rate in rates]
    found = []
    for rate, part in zip(rates, share_out(abs(payment.amount), totals, names), strict=True):
        known = thaw_tax(rate)
        tax = tax_within(part, known, TaxMode.INCLUDED) if known else 0
        made = {**rate, "gross": part, "tax": tax, "net": part - tax}
        found.append(_mirror(made) if payment.amount < 0 else made)
    return found


@dataclass(frozen=True)
class ChargeRow:
    """One row of an invoice: where it has pieces, they times ``unit`` are ``amount``, exactly.

    Money is minor units. On a credit note pieces and amounts are below zero, a unit never is.
    """

    name: str
    amount: int
    tax: dict[str, Any] | None
    pieces: int | None = None
    unit: int | None = None
    is_step: bool = False


def speaks_of_net(data: dict[str, Any]) -> bool:
    """Whether the rows are without tax: where the price list is, and on a full invoice.

    A unit price without tax is asked for by Article 226, point 8: above the limit of a simplified
    invoice, and for a taxable person, who is known by a tax number. Anybody else reads the prices
    that were agreed.
    """
    mode, client = data["studio"]["tax_mode"], data["client"]
    numbered = bool(client["tax_number"] or client.get("vat_number"))
    return mode == "added" or (mode == "included" and (numbered or is_full(data)))


@dataclass(frozen=True)
class PriceHeadings:
    """Above the prices of an invoice: with or without tax, where there is any."""

    unit: str
    amount: str


def price_headings(data: dict[str, Any], words: Words | None = None) -> PriceHeadings:
    words = words or Words()
    if not data["rates"]:
        return PriceHeadings(words("Unit price"), words("Amount"))
    if speaks_of_net(data):
        return PriceHeadings(words("Unit price without tax"), words("Amount without tax"))
    return PriceHeadings(words("Unit price with tax"), words("Amount with tax"))


def charge_rows(
    data: dict[str, Any], *, net: bool | None = None, words: Words | None = None
) -> list[ChargeRow]:
    """The rows between the head of an invoice and its totals, to which they add up for each rate.

    Prices with tax inside are taken without it by the VAT fraction, 100 / (100 + percent), for one
    piece. So like work has like rows; the odd units stand in one row of rounding a rate, and a
    discount in money in one row of its own. With ``net`` they are without tax, whoever reads them;
    ``is_step`` are the steps of the line before them. ``words`` are those of the client.
    """
    words = words or Words(locale=data["studio"].get("locale", "en"))
    without_tax = speaks_of_net(data) if net is None else net
    sign = -1 if data["kind"] == Invoice.Kind.CREDIT else 1
    out_of_gross = data["studio"]["tax_mode"] == "included" and without_tax
    rows: list[ChargeRow] = []
    rates: dict[str, RateRest] = {}
    for line in [*data["lines"], *data["adjustments"]]:
        tax = line["tax_facts"]
        fraction = untaxed(tax) if out_of_gross else Fraction(1)
        rest = rates.setdefault(repr(tax), RateRest(tax, fraction, words))
        rest.target += line["net" if out_of_gross else "price"]
        base, *steps = line["steps"]
        unit = round_half_up(Fraction(sign * base["amount"], line["quantity"]) * fraction)
        pieces = sign * line["quantity"]
        shown = [ChargeRow(_charged(line, words), unit * pieces, tax, pieces, unit)]
        for step in steps:
            in_money = step["name"] == DISCOUNT and step["percent"] is None
            if in_money and sign * step["amount"] < 0:
                rest.discount += step["amount"]
            elif step["name"] != ROUNDING:
                amount = round_half_up(step["amount"] * fraction)
                shown.append(ChargeRow(_step_name(step, words), amount, tax, is_step=True))
        rest.shown += sum(row.amount for row in shown)
        rows += shown
    return [*rows, *(row for rest in rates.values() for row in rest.rows())]


@dataclass
class RateRest:
    """What the lines of one rate come to, and what of it their rows show."""

    tax: dict[str, Any] | None
    fraction: Fraction
    words: Words
    target: int = 0
    shown: int = 0
    discount: int = 0

    def rows(self) -> list[ChargeRow]:
        discount = round_half_up(self.discount * self.fraction)
        rounding = self.target - self.shown - discount
        named = [(DISCOUNT, discount), (ROUNDING, rounding)]
        return [
            ChargeRow(self.words.heading(name), amount, self.tax)
            for name, amount in named
            if amount
        ]


def _charged(line: dict[str, Any], words: Words) -> str:
    """``A \N{MIDDLE DOT} trousers, navy: Hem, take off 4.5 cm, total``."""
    parts = (words.named(line["name"]), amount_in(words, line["amount"]))
    work = ", ".join(part for part in parts if part)
    garment = words.garment(line["garment"])
    return f"{garment}: {work}" if garment else work[:1].upper() + work[1:]


def _step_name(step: dict[str, Any], words: Words) -> str:
    name = words.named(step["name"])
    percent = step["percent"] and show_share(Decimal(step["percent"]), words.locale, signed=True)
    return " ".join(part for part in (name[:1].upper() + name[1:], percent) if part)


def invoice_paper(invoice: Invoice, *, studio: Profile, address: str) -> StoredPaper:
    """The invoice or credit note on the studio's sheet, the same file ever after."""
    name = f"{invoice.get_kind_display()} {invoice.number}"
    data = invoice.data
    transfer = transfer_code(data, invoice.currency)
    words = frozen_words(data, studio)
    facts = {**invoice_facts(data, invoice.currency, words), "transfer": bool(transfer)}
    heading = "Credit note {number}" if data["refers_to"] else "Invoice {number}"
    return _issued(
        invoice, name, title=words(heading, number=invoice.number), template=INVOICE_PAPER,
        facts=facts, page=size_of(studio, "invoice"), address=address,
        pictures={"transfer": transfer} if transfer else {},
        enclosed=enclosure(data),
    )  # fmt: skip


def invoice_facts(
    data: dict[str, Any], currency: str, words: Words | None = None
) -> dict[str, Any]:
    """What the paper of an invoice is told."""
    words = words or Words(locale=data["studio"]["locale"], tag=data["studio"]["language"])
    return {
        **_parties(data, currency, words),
        "issued_on": date.fromisoformat(data["issued_on"]),
        "supply_on": date.fromisoformat(data["supply_on"]),
        "to_come": data.get("to_come", False),
        "pay_by": date.fromisoformat(data["pay_by"]) if data["pay_by"] else None,
        "refers_on": data["refers_to"] and date.fromisoformat(data["refers_to"]["issued_on"]),
        "rates": [words.rate(shown_tax(rate)) for rate in data["rates"]],
        "charges": shown_charges(data, words),
        "to_give_back": gives_back(data),
        "without_tax": speaks_of_net(data),
        "headings": price_headings(data, words),
        "wide": needs_width(data["gross"], currency, words.locale),
        "account": iban.format(data["studio"].get("iban", "")),
        "tax_left": data["tax"] - sum(payment.get("tax", 0) for payment in data["paid"]),
        "paid": [
            {
                **payment,
                "day": date.fromisoformat(payment["day"]),
                "method": words.choice(Payment.Method(payment["method"]).label),
            }
            for payment in data["paid"]
        ],
    }


def shown_charges(data: dict[str, Any], words: Words | None = None) -> list[ChargeRow]:
    """The rows of the work with their tax as papers and pages tell it."""
    rows = charge_rows(data, words=words)
    return [replace(row, tax=row.tax and shown_tax(row.tax)) for row in rows]


def transfer_code(data: dict[str, Any], currency: str) -> bytes | None:
    """The code that fills in the transfer of what is to pay; None but for euro and an account."""
    studio = data["studio"]
    if currency != "EUR" or not studio.get("iban") or data["balance"] <= 0 or data["refers_to"]:
        return None
    return transfer_png(
        holder=studio["legal_name"] or studio["name"], iban=studio["iban"], bic=studio["bic"],
        amount=Decimal(data["balance"]).scaleb(-2), reference=data["number"],
    )  # fmt: skip


def enclosure(data: dict[str, Any]) -> Enclosure | None:
    """The XML that an invoice was issued with, as a file inside its PDF."""
    if not data.get("xml"):
        return None
    return Enclosure(
        name=ENCLOSED,
        content=data["xml"].encode(),
        description="The invoice as EN 16931 has it",
        metadata=METADATA.read_bytes(),
    )


def receipt_paper(payment: Payment, *, studio: Profile, address: str) -> StoredPaper:
    """The receipt of a payment, refund or reversal, the same file ever after."""
    data = payment.data
    words = frozen_words(data, studio)
    facts = {
        **_parties(data, payment.currency, words),
        "taken_at": datetime.fromisoformat(data["taken_at"]),
        "work": _work_in(words, data.get("work")),
        "rates": [words.rate(rate) for rate in data.get("rates", [])],
        "to_give_back": gives_back(data),
        "method": words.choice(Payment.Method(data["method"]).label),
        "kind": words.choice(Payment.Kind(data["kind"]).label),
        "wide": needs_width(data["gross"], payment.currency, words.locale),
    }
    name, page = f"Receipt {payment.number}", size_of(studio, "receipt")
    small = page not in SHEETS
    template = "billing/papers/receipt_small.html" if small else "billing/papers/receipt.html"
    return _issued(
        payment, name, title=words("Receipt {number}", number=payment.number), template=template,
        facts=facts, page=page, address=address, sheet="roll" if small else "",
    )  # fmt: skip


def _work_in(words: Words, work: dict[str, Any] | None) -> dict[str, Any] | None:
    """What was done, with the program's own names of its parts in the client's language."""
    if not work:
        return work
    lines = [{**line, "name": words.work(line["name"])} for line in work["lines"]]
    return {**work, "lines": lines, "rates": [words.rate(rate) for rate in work["rates"]]}


def _parties(data: dict[str, Any], currency: str, words: Words) -> dict[str, Any]:
    seller = {**data["studio"], **_numbers(data["studio"]), "currency": currency}
    seller |= {"locale": words.locale, "language": words.tag}
    seller |= {name: words.written(seller.get(name, "")) for name in WRITTEN}
    return {
        **data,
        "words": words,
        "studio": SimpleNamespace(**seller),
        "client": {**data["client"], **_numbers(data["client"])},
        **told_countries(data, words),
    }


def told_countries(data: dict[str, Any], words: Words) -> dict[str, str]:
    """Countries are told where client and studio are not in the same one."""
    here, there = data["studio"]["country"], data["client"]["country"]
    abroad = there and there != here
    return {
        "studio_country": words.country(here) if abroad else "",
        "client_country": words.country(there) if abroad else "",
    }


def _numbers(party: dict[str, Any]) -> dict[str, str]:
    return {"vat_number": vat_number_of(party), "tax_number": tax_number_of(party)}


def _issued(
    row: Invoice | Payment,
    name: str,
    *,
    title: str,
    template: str,
    facts: dict[str, Any],
    page: str,
    address: str,
    pictures: dict[str, bytes] | None = None,
    enclosed: Enclosure | None = None,
    sheet: str = "",
) -> StoredPaper:
    def make() -> bytes:
        return paper.render(
            template,
            {**facts, "address": address},
            title=title,
            language=facts["studio"].language,
            page=page,
            sheet=sheet,
            pictures={"code": code_png(address), **(pictures or {})},
            enclosed=enclosed,
        )

    return issued_paper(row, "paper", name, make)
