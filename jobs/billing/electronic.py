"""The electronic invoice: the XML of EN 16931, in the syntax of UN/CEFACT, of an invoice's copy.

It says what the paper says. Each line of the invoice is a line (BG-25) with its net price, each
step of its price (surcharge, rush, discount in percent) a charge or an allowance of that line; a
discount in money and the odd units of a rate are allowances or charges of the document (BG-20,
BG-21). Amounts are the invoice's own.

Where prices have their tax inside, tax is the VAT fraction of the total, so that rate times net can
round to one unit more or less than the tax that was agreed. BR-CO-17 then asks for another taxable
amount: the nearest one whose tax is the agreed tax is written, and the unit that it adds or takes
goes back as rounding (BT-114), so that tax and what is to pay stay as they were agreed. Only where
no taxable amount one unit off will do, the tax itself is the unit off, and so is the rounding.

drafthorse writes the XML and holds it to the published schema; it is loaded when the first
electronic invoice is issued. The numbers behind the rules are those of EN 16931-1:2017.
"""

import re
from dataclasses import dataclass, field
from decimal import Decimal
from functools import cached_property
from typing import Any

from jobs.billing.documents import ChargeRow, charge_rows
from jobs.billing.models import Payment
from jobs.billing.points import client_owes
from studio.shop.money import decimals, round_half_up

PROFILE = "urn:cen.eu:en16931:2017"
ONE = "C62"  # UN/ECE Recommendation 20: one piece
INVOICE, CREDIT_NOTE = "380", "381"  # UNTDID 1001
CASH, CARD, CREDIT_TRANSFER, SEPA, NOT_DEFINED = "10", "48", "30", "58", "1"  # UNTDID 4461
UNTAXED = {"E", "AE"}  # UNTDID 5305: exempt; the client owes the tax
WAYS = {Payment.Method.CASH.value: CASH, Payment.Method.CARD.value: CARD}

# XML 1.0, production 2: what is no character of a document.
NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")

Facts = dict[str, Any]


@dataclass(frozen=True)
class TaxCategory:
    """A tax of EN 16931: ``code`` of UNTDID 5305 and the percentage; why, where there is none."""

    code: str
    percent: Decimal


@dataclass
class TaxGroup:
    """What one tax comes to, in minor units: BG-23. ``agreed`` is the tax that was invoiced."""

    category: TaxCategory
    reasons: list[str] = field(default_factory=list)
    net: int = 0
    agreed: int = 0

    @cached_property
    def basis(self) -> int:
        """The taxable amount whose tax is the one agreed, the invoice's own where it can be."""
        near = [self.net, self.net + 1, self.net - 1]
        return next((net for net in near if self._tax(net) == self.agreed), self.net)

    @property
    def tax(self) -> int:
        return self._tax(self.basis)

    def _tax(self, net: int) -> int:
        return int(round_half_up(net * self.category.percent / 100))


@dataclass
class BilledLine:
    """A line of the invoice and the steps of its price."""

    row: ChargeRow
    steps: list[ChargeRow] = field(default_factory=list)

    @property
    def amount(self) -> int:
        return self.row.amount + sum(step.amount for step in self.steps)


class ElectronicInvoice:
    """The parts and sums of an invoice's copy as EN 16931 has them, in minor units above zero.

    A credit note (type 381) has the amounts of its mirror.
    """

    def __init__(self, data: Facts, currency: str) -> None:
        self.data = data = _printable(data)
        self.currency = currency
        self.is_credit = data["refers_to"] is not None
        self.sign = -1 if self.is_credit else 1
        self.lines: list[BilledLine] = []
        self.others: list[ChargeRow] = []
        for row in charge_rows(data, net=True):
            if row.pieces is not None:
                self.lines.append(BilledLine(row))
            elif row.is_step:
                self.lines[-1].steps.append(row)
            else:
                self.others.append(row)
        self.groups = self._groups()
        self.others += self._roundings()

    def category(self, tax: Facts | None) -> TaxCategory:
        if tax is None or not self.data["rates"]:
            return TaxCategory("E", Decimal(0))
        if tax["exempt"]:
            return TaxCategory("AE" if client_owes(tax) else "E", Decimal(0))
        percent = Decimal(tax["percent"])
        return TaxCategory("S" if percent else "Z", percent)

    def _groups(self) -> list[TaxGroup]:
        """One for each category and percentage (BR-S-1, BR-E-1, BR-Z-1), whatever its names."""
        groups: dict[TaxCategory, TaxGroup] = {}
        data = self.data
        rates = data["rates"] or [{"exempt": True, "net": data["net"], "tax": 0,
                                   "sentence": data["studio"]["invoice_sentence"]}]  # fmt: skip
        for rate in rates:
            category = self.category(rate)
            group = groups.setdefault(category, TaxGroup(category))
            group.net += self.sign * rate["net"]
            group.agreed += self.sign * rate["tax"]
            if category.code in UNTAXED and rate["sentence"]:
                group.reasons.append(rate["sentence"])
        return list(groups.values())

    def _roundings(self) -> list[ChargeRow]:
        rows = []
        for group in self.groups:
            if off := group.basis - group.net:
                facts = {"exempt": False, "percent": str(group.category.percent)}
                rows.append(ChargeRow("Rounding", self.sign * off, facts))
        return rows

    @property
    def line_total(self) -> int:
        return self.sign * sum(line.amount for line in self.lines)

    @property
    def charge_total(self) -> int:
        return sum(amount for amount in self._other_amounts if amount > 0)

    @property
    def allowance_total(self) -> int:
        return -sum(amount for amount in self._other_amounts if amount < 0)

    @property
    def _other_amounts(self) -> list[int]:
        return [self.sign * row.amount for row in self.others]

    @property
    def basis_total(self) -> int:
        return self.line_total + self.charge_total - self.allowance_total

    @property
    def tax_total(self) -> int:
        return sum(group.tax for group in self.groups)

    @property
    def grand_total(self) -> int:
        return self.basis_total + self.tax_total

    @property
    def rounding(self) -> int:
        """BT-114: what is to pay is what was agreed."""
        return int(self.sign * self.data["gross"]) - self.grand_total

    @property
    def due(self) -> int:
        return self.grand_total - int(self.data["paid_total"]) + self.rounding

    def amount(self, minor: int) -> Decimal:
        """With two decimals, as the standard asks; a third only where the currency needs it."""
        places = decimals(self.currency)
        value = Decimal(minor).scaleb(-places)
        return value.quantize(Decimal("0.01")) if places > 2 and minor % 10 == 0 else value

    def xml(self) -> bytes:
        """Raises lxml's XMLSyntaxError where it is not valid against the published schema."""
        from jobs.billing.electronic_xml import written  # noqa: PLC0415 -- it takes a while to load

        return written(self)


def _printable(facts: Any) -> Any:
    """The facts without the control characters that no XML may have."""
    if isinstance(facts, dict):
        return {name: _printable(value) for name, value in facts.items()}
    if isinstance(facts, list):
        return [_printable(value) for value in facts]
    return NOT_XML.sub("", facts) if isinstance(facts, str) else facts


def electronic_facts(data: Facts, currency: str) -> Facts:
    """What is frozen with an invoice: its XML, and the units of rounding there (BT-114)."""
    invoice = ElectronicInvoice(data, currency)
    return {"xml": invoice.xml().decode(), "rounding": invoice.sign * invoice.rounding}
