"""Invoices check themselves: Directive 2006/112/EC, Articles 226 and 226b, point by point.

The articles' points are listed here from the directive's text; each is printed, or refused with its
sentence. The legal text is legislation.gov.uk's copy, points (11) to (15) are from memory.
"""

import io
import re
from copy import deepcopy
from datetime import date
from decimal import Decimal
from pathlib import Path
from urllib.parse import quote
from uuid import uuid4

import pytest
import zxingcpp
from django.template.loader import render_to_string
from django.urls import reverse
from lxml import html
from PIL import Image

from jobs.billing import documents
from jobs.billing.actions import IncompleteError
from jobs.billing.models import Invoice
from jobs.billing.points import (
    POINTS,
    doubt_of_vat_number,
    is_vat_number,
    missing,
    shown_tax,
    usual_limit,
)
from studio.shop.models import NumberSeries, Profile, TaxClass
from tests.drafts import hem, issued, received, trousers
from tests.factories import ClientFactory

ARTICLE_226 = [*(f"({number})" for number in range(1, 12)), "(7a)", "(10a)", "(11a)", "(15)"]
ARTICLE_226B = ["(a)", "(b)", "(c)", "(d)", "(e)"]
VAT = {"name": "Standard", "percent": "23", "exempt": False, "sentence": ""}
OWED = {"name": "Abroad", "percent": "0", "exempt": True, "sentence": "Reverse charge, rule 9."}
EXEMPT = {"name": "Training", "percent": "0", "exempt": True, "sentence": "Rule 7."}

PLACE = {"street": "3 Mill Lane", "postcode": "X00", "city": "Larkfield", "region": ""}
WHOLE = {
    "studio": {
        "name": "Larkfield Sewing Room", "legal_name": "Wren Larkfield", "country": "IE",
        "vat_number": "IE0000000X", "tax_number": "", "invoice_sentence": "", "address": PLACE,
        "tax_mode": "included",
    },
    "client": {"name": "Mary Larkin", "vat_number": "", "tax_number": "", "address": PLACE},
    "form": "full", "issued_on": "2026-03-02", "supply_on": "2026-03-02",
    "lines": [{"name": "Hem", "quantity": 1, "tax_facts": VAT}], "adjustments": [],
    "rates": [VAT],
}  # fmt: skip


def lacking(changes: dict[str, object]) -> list[str]:
    facts = deepcopy(WHOLE)
    for path, value in changes.items():
        *way, last = path.split(".")
        part = facts
        for step in way:
            part = part[int(step)] if step.isdigit() else part[step]
        part[last] = value
    return [point.key for point in missing(facts)]


@pytest.mark.parametrize(
    ("lacks", "changes"),
    [
        ([], {}),
        (["vat-number"], {"studio.vat_number": ""}),
        (["vat-number"], {"studio.vat_number": "DE123456789"}),  # another country's letters
        ([], {"studio.vat_number": "", "studio.tax_number": "IE 0000000X"}),  # an older studio's
        (["client-vat-number"], {"client.vat_number": "1234"}),
        ([], {"client.vat_number": "EL 123 456 789"}),  # Greece, Article 215
        (["legal-name"], {"studio.legal_name": " "}),
        (["studio-address"], {"studio.address": {"street": "", "city": "Larkfield"}}),
        (["client-address"], {"client.address": {"street": "3 Mill Lane", "city": ""}}),
        (["client-address"], {"client.address": {}}),
        ([], {"client.address": {}, "form": "simplified"}),
        (["work"], {"lines.0.name": " "}),
        (["work"], {"lines.0.quantity": 0}),
        (["rate"], {"lines.0.tax_facts": None, "rates": [], "studio.invoice_sentence": "Rule 1."}),
        (["exempt"], {"rates": [VAT, EXEMPT | {"sentence": ""}]}),
        ([], {"rates": [VAT, EXEMPT]}),
        ([], {"rates": [EXEMPT], "studio.vat_number": ""}),
        (["reverse-charge"], {"rates": [OWED]}),
        (["reverse-charge"], {"rates": [OWED], "client.vat_number": "IE1111111A"}),  # same country
        (["client-address-owed"],  # Article 220a, 2: never a simplified one, whatever the total
         {"rates": [OWED], "client.vat_number": "DE123456789", "client.address": {}}),
        (["vat-number"],
         {"rates": [OWED], "client.vat_number": "DE123456789", "studio.vat_number": ""}),
        ([], {"rates": [OWED], "client.vat_number": "DE123456789"}),
        (["no-tax"],
         {"studio.tax_mode": "none", "lines.0.tax_facts": None, "rates": []}),
        ([], {"studio.tax_mode": "none", "lines.0.tax_facts": None, "rates": [],
              "studio.invoice_sentence": "Small enterprise, rule 1.", "studio.vat_number": ""}),
    ],
)  # fmt: skip
def test_a_missing_point_is_named_and_no_other(lacks, changes):
    assert lacking(changes) == lacks


def test_every_point_of_the_articles_is_on_the_list_and_each_refusal_has_its_words():
    articles = [point.article for point in POINTS]
    of_226, of_226b = (
        " ".join(each for each in articles if name in each) for name in ("226 ", "b")
    )
    for number in ARTICLE_226:
        assert number in of_226, number
    for letter in ARTICLE_226B:
        assert re.search(rf"226b \({letter[1]}\)", of_226b), letter
    assert len({point.key for point in POINTS}) == len(POINTS)
    for point in POINTS:
        assert bool(point.sentence) == bool(point.place), point.key


def test_the_table_of_the_docs_is_the_list():
    page = Path("docs/invoices.md").read_text()
    shown = page.split("<!-- points -->")[1].split("<!-- end of points -->")[0].strip()
    rows = [
        f"| {point.article} | {point.name} | {point.applies} | {point.printed or '-'} "
        f"| {point.sentence or '-'} |"
        for point in POINTS
    ]
    head = "| article | point | when | on the invoice | refused with |"
    assert shown == "\n".join([head, "| --- | --- | --- | --- | --- |", *rows])


def test_usual_limits_are_those_of_the_sources():
    """250 pounds: SI 1995/2518, 16A. 250 euro: section 33 UStDV. 100 euro: Article 220a."""
    asked = [("GB", "GBP"), ("DE", "EUR"), ("FR", "EUR"), ("SE", "SEK"), ("US", "USD")]
    limits = [usual_limit(country, money) for country, money in asked]
    assert [limit and limit.amount for limit in limits] == [250, 250, 100, None, None]
    assert is_vat_number("xi 123456789")
    assert not is_vat_number("GB123456789")


def test_an_invoice_that_lacks_something_takes_no_number_and_leads_to_the_field(
    owner_client, studio, owner
):
    Profile.objects.update(legal_name="", vat_number="", tax_number="77", simplified_limit=None)
    client = ClientFactory(name="Mary Larkin", street="", city="")
    ticket = received(studio, owner, trousers(hem(unit_price=10_001)), client=client)
    issue = reverse("invoice-issue", args=[ticket.number])
    key = uuid4()
    before = list(NumberSeries.objects.values_list("key", "last"))
    answer = owner_client.post(issue, {"form_key": key})
    rows = [
        (row.get("href"), row.findtext(".//b"), row.findtext(".//small[2]"))
        for row in html.fromstring(answer.text).findall(".//a[@class='strip']")
    ]
    settings, way_back = reverse("studio-invoices"), f"?back={quote(issue, safe='')}"
    assert rows == [
        (f"{settings}{way_back}#id_vat_number", "The studio's VAT number", "Article 226 (3)"),
        (f"{settings}{way_back}#id_legal_name",
         "The studio's legal name", "Article 226 (5), 226b (b)"),
        (f"{reverse('client-edit', args=[client.pk])}{way_back}#id_street",
         "The client's name and address", "Article 226 (5)"),
    ]  # fmt: skip
    for address, _, _ in rows:
        page, _, anchor = address.partition("#")
        assert f'id="{anchor}"' in owner_client.get(page).text
    assert "Issue all the same" not in answer.text
    assert owner_client.post(issue, {"form_key": key, "anyway": "yes"}).status_code == 200
    assert not Invoice.objects.exists()
    assert list(NumberSeries.objects.values_list("key", "last")) == before

    # Save at each field leads back to what is left, then to the invoice, with the same form.
    Profile.objects.update(vat_number="IE0000000X")

    def sent(address, **typed):
        page = html.fromstring(owner_client.get(address).text)
        (form,) = (form for form in page.forms if "opened" in form.fields)
        # lxml says "on" for a chip whose value is empty.
        facts = {name: value for name, value in form.form_values() if value != "on"}
        return owner_client.post(form.get("action") or address, facts | typed)

    away = sent(f"{settings}?back=//elsewhere.example/", legal_name="Wren")
    assert away.url == settings
    answer = sent(f"{settings}{way_back}", legal_name="Wren Larkfield")
    assert answer.url == issue
    left = html.fromstring(owner_client.get(issue).text).findall(".//a[@class='strip']")
    assert [row.findtext(".//b") for row in left] == ["The client's name and address"]
    edit = f"{reverse('client-edit', args=[client.pk])}{way_back}"
    assert sent(edit, street="1 Quay", city="Larkfield").url == issue
    assert "Nothing is missing" in owner_client.get(issue).text
    assert sent(f"{reverse('studio-profile')}{way_back}").url == issue
    change = reverse("ticket-change", args=[ticket.number])
    assert sent(f"{change}{way_back}", intent="save").url == issue
    rate = TaxClass.objects.create(name="Training", exempt=True)
    taxes = html.fromstring(owner_client.get(f"{reverse('studio-taxes')}{way_back}").text)
    (door,) = (a.get("href") for a in taxes.iter("a") if f"/{rate.pk}/" in a.get("href", ""))
    page = html.fromstring(owner_client.get(door).text)
    (form,) = (form for form in page.forms if "sentence" in form.fields)
    typed = dict(form.form_values()) | {"sentence": "Rule 7."}
    assert owner_client.post(form.get("action"), typed).url == issue
    assert not Invoice.objects.exists()
    assert owner_client.post(issue, {"form_key": key}).status_code == 302
    invoice = Invoice.objects.get()
    assert invoice.data["form"] == "full"
    assert invoice.number.endswith("-0001")
    assert owner_client.get(issue).url == invoice.get_absolute_url()


def test_up_to_the_owner_s_limit_no_address_is_asked_for(studio, owner):
    """100 euro are usual; the owner's own limit goes before, to the cent."""
    studio.simplified_limit = None
    client = ClientFactory(street="", city="")
    tickets = [
        received(studio, owner, trousers(hem(unit_price=price)), client=client)
        for price in (10_000, 10_001, 15_000, 15_001)
    ]
    assert issued(studio, owner, tickets[0]).data["form"] == "simplified"
    studio.simplified_limit = 15_000
    assert issued(studio, owner, tickets[2]).data["form"] == "simplified"
    assert issued(studio, owner, tickets[1]).data["form"] == "simplified"
    with pytest.raises(IncompleteError, match="street and town"):
        issued(studio, owner, tickets[3])


def test_a_company_has_a_full_invoice_whatever_the_total(studio, owner, owner_client):
    """It deducts the tax by one (Directive 2006/112/EC, Article 178 (a), at second hand)."""
    client = ClientFactory(
        name="Harbour Hotel", who="company", legal_name="Harbour Hotel Limited",
        contact_person="Ida Quill", street="", city="",
    )  # fmt: skip
    ticket = received(studio, owner, client=client)
    with pytest.raises(IncompleteError, match="for a company, the client's street and town"):
        issued(studio, owner, ticket)
    client.street, client.city = "1 Quay", "Killala"
    client.save()
    ticket.refresh_from_db()
    invoice = issued(studio, owner, ticket)
    assert (invoice.data["form"], invoice.data["client"]["name"]) == (
        "full", "Harbour Hotel Limited",
    )  # fmt: skip
    page = owner_client.get(invoice.get_absolute_url()).text
    assert "Harbour Hotel Limited</b><br>Ida Quill<br>1 Quay" in page


def test_outside_of_the_union_it_only_reminds(owner_client, studio, owner):
    Profile.objects.update(country="US", legal_name="", vat_number="", tax_number="")
    ticket = received(studio, owner)
    issue = reverse("invoice-issue", args=[ticket.number])
    key = uuid4()
    answer = owner_client.post(issue, {"form_key": key})
    assert "The studio&#x27;s legal name" in answer.text
    assert "Article" not in answer.text
    assert "Local rules decide" in answer.text
    assert owner_client.post(issue, {"form_key": key, "anyway": "yes"}).status_code == 302
    assert Invoice.objects.count() == 1


def test_the_settings_show_the_invoice_and_what_is_wrong(owner_client, studio):
    Profile.objects.update(legal_name="")
    address = reverse("studio-invoices")
    page = html.fromstring(owner_client.get(address).text)
    assert [part.get("href") for part in page.findall(".//a[@class='lacks']")] == ["#id_legal_name"]
    assert "Usual here: EUR 100 (at second hand). Check this." in page.text_content()
    typed = {
        "legal_name": "Wren Larkfield", "vat_number": "ie 0000000x", "tax_number": "77",
        "simplified_limit": "90.00", "iban": "DE75512108001245126199", "bic": "SOLADES",
        "opened": page.find(".//input[@name='opened']").get("value"),
    }  # fmt: skip
    wrong = owner_client.post(address, typed | {"iban": "DE75512108001245126198"})
    assert "a digit slipped" in wrong.text
    assert "8 or 11 letters" in wrong.text
    # The example of the guideline EPC069-12's bank (from memory); its check digits are right.
    saved = owner_client.post(address, typed | {"bic": "SOLADEST600", "electronic": "on"})
    assert saved.status_code == 302
    kept = Profile.objects.get()
    assert (kept.vat_number, kept.simplified_limit) == ("IE0000000X", 9000)
    assert (kept.iban, kept.bic) == ("DE75512108001245126199", "SOLADEST600")
    assert kept.electronic
    assert not kept.cash_accounting
    refused = owner_client.post(address, typed | {"vat_number": "DE123456789", "bic": ""})
    assert "It begins with IE" in refused.text


def test_the_settings_ask_for_a_vat_number_where_tax_is_charged_or_the_client_owes_it(
    owner_client, studio
):
    """Article 226 (3): what is charged, or owed by the client under a rate that the studio has."""
    address = reverse("studio-invoices")
    small = {"tax_mode": "none", "vat_number": "", "tax_number": "", "invoice_sentence": "Rule 1."}

    def lacks():
        page = html.fromstring(owner_client.get(address).text)
        return [part.get("href") for part in page.findall(".//a[@class='lacks']")]

    Profile.objects.update(**small | {"tax_mode": "included"})
    assert lacks() == ["#id_vat_number"]
    Profile.objects.update(**small)
    assert lacks() == []
    TaxClass.objects.create(name="Abroad", exempt=True, sentence="Rule 7.")
    assert lacks() == []
    TaxClass.objects.create(name="Abroad, owed", exempt=True, sentence="Reverse charge")
    assert lacks() == ["#id_vat_number"]
    # One that was written as the local number counts, and stands where the paper has it.
    Profile.objects.update(tax_number="IE 0000000X")
    page = owner_client.get(address).text
    assert "Nothing is missing" in page
    assert "VAT number IE 0000000X" in page
    assert "From now on; earlier invoices stay as they were." in page


def test_a_page_tells_reverse_charge_as_its_paper_does(owner_client, studio, owner):
    """Article 226 (11a): the words alone, and 0 %; not the owner's name of the rate, nor exempt."""
    invoice = issued(studio, owner)
    data = deepcopy(invoice.data)
    owed = {"name": "EU abroad", "percent": "0", "exempt": True, "sentence": "Reverse charge"}
    data["lines"] = [line | {"tax_facts": owed} for line in data["lines"]]
    data["rates"] = [owed | {"net": data["gross"], "tax": 0, "gross": data["gross"]}]
    facts = documents.invoice_facts(data, invoice.currency)
    paper = html.fromstring(render_to_string("billing/papers/invoice.html", facts))
    shown = {
        "studio": studio, "invoice": invoice, "data": data,
        "charges": documents.shown_charges(data),
        "headings": documents.price_headings(data),
        "rates": [shown_tax(rate) for rate in data["rates"]],
    }  # fmt: skip
    page = html.fromstring(render_to_string("billing/_invoice_paper.html", shown))
    for sheet in (paper, page):
        assert "exempt" not in sheet.text_content()
        assert "Reverse charge" in [each.text_content() for each in sheet.iter("p")]
        assert ["0", "%"] in [cell.text_content().split() for cell in sheet.iter("td")]


def test_the_code_of_a_transfer_is_read_back(studio, owner):
    """EPC069-12, version 2: one element a line, in this order, UTF-8, the amount with a point."""
    studio.iban, studio.bic, studio.legal_name = "DE75512108001245126199", "", "Wren Lärkfield"
    invoice = issued(studio, owner)
    png = documents.transfer_code(invoice.data, invoice.currency)
    (code,) = zxingcpp.read_barcodes(
        Image.open(io.BytesIO(png)), formats=zxingcpp.BarcodeFormat.QRCode
    )
    assert code.bytes.decode("utf-8").split("\n") == [
        "BCD", "002", "1", "SCT", "", "Wren Lärkfield", "DE75512108001245126199", "EUR24", "", "",
        invoice.number,
    ]  # fmt: skip
    assert Decimal(code.bytes.decode().split("\n")[7][3:]) == Decimal(24)
    assert documents.transfer_code(invoice.data, "USD") is None
    assert documents.transfer_code(invoice.data | {"balance": 0}, "EUR") is None
    assert documents.transfer_code(invoice.data | {"balance": 1}, "EUR")
    assert date.fromisoformat(invoice.data["pay_by"])


def test_an_odd_vat_number_is_a_doubt():
    """Invented ones of the form that VIES shows for their country, and the same cut short."""
    for number in ("DE123456789", "ATU12345678", "NL123456789B01", "SE123456789012", "EL123456789"):
        assert doubt_of_vat_number(number) == ""
        assert number[:2] in doubt_of_vat_number(number[:-1])
    # Nothing is known of the country's, or it is no VAT number at all.
    assert [doubt_of_vat_number(number) for number in ("IE0000000X", "US123", "")] == ["", "", ""]
