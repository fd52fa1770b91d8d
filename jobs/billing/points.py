"""What an invoice has to say, point by point, asked before it takes a number.

``POINTS`` follows Directive 2006/112/EC, Article 226 (full invoice) and Article 226b (simplified
invoice). Pages, refusals, the table in docs/invoices.md and the tests all read this one list. It
is asked of the plain data that an invoice copies (see ``documents.invoice_data``). Inside the
European Union a missing point refuses the invoice; elsewhere local rules decide and nothing is
more than a reminder. What the program cannot know it does not claim: a licensed adviser decides.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

Facts = Mapping[str, Any]

EU = frozenset({
    "AT", "BE", "BG", "CY", "CZ", "DE", "DK", "EE", "ES", "FI", "FR", "GR", "HR", "HU", "IE", "IT",
    "LT", "LU", "LV", "MT", "NL", "PL", "PT", "RO", "SE", "SI", "SK",
})  # fmt: skip
# Directive 2006/112/EC, Article 215: the prefix is ISO 3166's, but Greece may use EL.
PREFIXES = {"GR": "EL"}
# Article 226 (11a) asks for these words. Each language's directive has its own (all but the English
# from memory); on paper stands what the owner wrote.
REVERSE_CHARGE = re.compile(
    "reverse charge|steuerschuldnerschaft des leistungsempf|autoliquida[tç]|inversi[oó]n del sujeto"
    "|inversione contabile|btw verlegd|odwrotne obci|omv[aä]nd betalningsskyldighet"
    "|omvendt betalingspligt|k[aä][aä]nnetty verovelvollisuus|přenesení daňové|fordított adózás",
    re.IGNORECASE,
)
VAT_NUMBER = re.compile(r"[A-Z]{2}[0-9A-Z+*]{2,13}")
# What follows the letters, by them. After the list that the European Commission's page for checking
# VAT numbers (VIES) shows; from memory. Those left out have forms of several kinds.
FORMS = {
    "AT": (r"U\d{8}", "U and 8 digits"), "BE": (r"[01]\d{9}", "10 digits, the first 0 or 1"),
    "CY": (r"\d{8}[A-Z]", "8 digits and a letter"), "CZ": (r"\d{8,10}", "8 to 10 digits"),
    "DE": (r"\d{9}", "9 digits"), "DK": (r"\d{8}", "8 digits"), "EE": (r"\d{9}", "9 digits"),
    "EL": (r"\d{9}", "9 digits"), "ES": (r"[0-9A-Z]\d{7}[0-9A-Z]", "9 letters and digits"),
    "FI": (r"\d{8}", "8 digits"), "FR": (r"[0-9A-Z]{2}\d{9}", "2 letters or digits and 9 digits"),
    "HR": (r"\d{11}", "11 digits"), "HU": (r"\d{8}", "8 digits"), "IT": (r"\d{11}", "11 digits"),
    "LU": (r"\d{8}", "8 digits"), "LV": (r"\d{11}", "11 digits"), "MT": (r"\d{8}", "8 digits"),
    "NL": (r"[0-9A-Z+*]{12}", "12 letters and digits"), "PL": (r"\d{10}", "10 digits"),
    "PT": (r"\d{9}", "9 digits"), "SE": (r"\d{12}", "12 digits"), "SI": (r"\d{8}", "8 digits"),
    "SK": (r"\d{10}", "10 digits"),
}  # fmt: skip


@dataclass(frozen=True)
class Limit:
    """The total, tax included, up to which a simplified invoice is usual; in whole ``currency``."""

    amount: int
    currency: str
    source: str


LEAST = Limit(100, "EUR", "Directive 2006/112/EC, Article 220a: at least 100 euro everywhere")
USUAL = {
    "AT": Limit(400, "EUR", "from memory"),
    "DE": Limit(250, "EUR", "section 33 UStDV"),
    "ES": Limit(400, "EUR", "at second hand"),
    "FI": Limit(400, "EUR", "from memory"),
    "GB": Limit(250, "GBP", "SI 1995/2518, regulation 16A"),
    "IE": Limit(100, "EUR", "at second hand"),
    "IT": Limit(400, "EUR", "from memory"),
}


def usual_limit(country: str, currency: str) -> Limit | None:
    """What is usual in a country and its money; None where nothing is known."""
    limit = USUAL.get(country, LEAST if country in EU else None)
    return limit if limit and limit.currency == currency else None


def plain_number(number: str) -> str:
    """A tax number without the spaces, points and dashes people write."""
    return re.sub(r"[\s.\-/]", "", number).upper()


def is_vat_number(number: str, country: str = "") -> bool:
    """Whether it has the form of Article 215: a member state's letters, of ``country`` if given.

    Only the form is looked at; whether it was given to somebody is the tax office's to say.
    """
    plain = plain_number(number)
    prefixes = [country] if country else [*EU, "XI"]
    allowed = {PREFIXES.get(code, code) for code in prefixes} | ({country} if country else set())
    return bool(VAT_NUMBER.fullmatch(plain)) and plain[:2] in allowed


def doubt_of_vat_number(number: str) -> str:
    """What is odd about its form in its country; empty where nothing is, or nothing is known.

    A doubt and no more: the tax office, not this list, says which numbers there are.
    """
    plain = plain_number(number)
    form, words = FORMS.get(plain[:2], ("", ""))
    if not form or not is_vat_number(plain) or re.fullmatch(form, plain[2:]):
        return ""
    return f"{plain} is no usual VAT number: after {plain[:2]} come {words}."


def vat_number_of(party: Facts) -> str:
    """The VAT number of studio or client. One that was written as a tax number counts too."""
    written = str(party.get("vat_number", ""))
    local = str(party.get("tax_number", ""))
    return written or (local if is_vat_number(local) else "")


def tax_number_of(party: Facts) -> str:
    """The local tax number, where it is another than the VAT number."""
    local = str(party.get("tax_number", ""))
    return "" if local == vat_number_of(party) else local


def _never(facts: Facts) -> bool:
    return False


@dataclass(frozen=True)
class InvoicePoint:
    """One point of an invoice.

    ``place`` names the field that is to be filled in: ``studio.legal_name``, ``client.street``,
    ``tax``, ``ticket``; empty where the program writes the point itself. ``sentence`` is what a
    refusal says. ``lacks`` tells of an invoice's facts whether the point is missing.
    """

    key: str
    name: str
    article: str
    applies: str
    printed: str
    place: str = ""
    sentence: str = ""
    lacks: Callable[[Facts], bool] = _never

    @property
    def source(self) -> str:
        return self.article if self.article.startswith("EN") else f"Article {self.article}"


def is_full(facts: Facts) -> bool:
    """Whether the invoice needs what Article 226 asks, and not only Article 226b."""
    return facts.get("form") == "full"


def client_owes(rate: Facts) -> bool:
    """Whether tax of this kind is the client's to pay: it is exempt, and its sentence says so."""
    return bool(rate["exempt"] and REVERSE_CHARGE.search(rate["sentence"]))


def shown_tax(rate: Facts) -> dict[str, Any]:
    """As papers tell it: what the client owes is not exempt, its rate is 0 %."""
    owed = client_owes(rate)
    return {**rate, "exempt": rate["exempt"] and not owed, "owed": owed}


def is_reversed(facts: Facts) -> bool:
    """Whether the client owes the tax on any of it."""
    return any(client_owes(rate) for rate in facts["rates"])


def is_abroad(client: Facts, country: str) -> bool:
    """Whether the client has a VAT number, and of another country than the studio's."""
    number = vat_number_of(client)
    return is_vat_number(number) and not is_vat_number(number, country)


def _taxed(facts: Facts) -> bool:
    return any(not rate["exempt"] for rate in facts["rates"])


def _has_address(party: Facts) -> bool:
    address = party.get("address") or {}
    return bool(str(address.get("street", "")).strip() and str(address.get("city", "")).strip())


def _nameless(client: Facts) -> bool:
    return not (str(client.get("name", "")).strip() and _has_address(client))


def _unnamed(facts: Facts) -> bool:
    lines = facts["lines"]
    return not lines or any(not str(line["name"]).strip() or not line["quantity"] for line in lines)


def _without_reason(facts: Facts) -> bool:
    return any(rate["exempt"] and not rate["sentence"].strip() for rate in facts["rates"])


def _mixed(facts: Facts) -> bool:
    """Some lines say which tax they carry and others do not."""
    taxed = [line["tax_facts"] is not None for line in (*facts["lines"], *facts["adjustments"])]
    charges = facts["studio"]["tax_mode"] != "none"
    return (any(taxed) and not all(taxed)) or (charges and not any(taxed))


def _no_tax_unsaid(facts: Facts) -> bool:
    return not facts["rates"] and not facts["studio"]["invoice_sentence"].strip()


POINTS = (
    InvoicePoint("issued", "Day of issue", "226 (1), 226b (a)", "always", "the studio's day"),
    InvoicePoint("number", "Number", "226 (2)", "always", "the next of one series without gaps"),
    InvoicePoint(
        "vat-number", "The studio's VAT number", "226 (3)",
        "where tax is charged, or the client owes it", "at the head: VAT number",
        "studio.vat_number",
        "The studio charges tax, or its client owes it, but the studio's VAT number is missing or "
        "has not the form of its country's.",
        lambda facts: (_taxed(facts) or is_reversed(facts)) and not is_vat_number(
            vat_number_of(facts["studio"]), facts["studio"]["country"]
        ),
    ),
    InvoicePoint(
        "client-vat-number", "The client's VAT number", "226 (4)", "where the client has one",
        "below the client's address", "client.vat_number",
        "The client's VAT number has not the form of any country's: two letters, then digits.",
        lambda facts: bool(facts["client"].get("vat_number"))
        and not is_vat_number(facts["client"]["vat_number"]),
    ),
    InvoicePoint(
        "legal-name", "The studio's legal name", "226 (5), 226b (b)", "always", "at the head",
        "studio.legal_name",
        "The studio's legal name is missing. Write it even where it is the name over the door.",
        lambda facts: not str(facts["studio"].get("legal_name", "")).strip(),
    ),
    InvoicePoint(
        "studio-address", "The studio's address", "226 (5), 226b (b)", "always", "at the head",
        "studio.street", "The studio's street or town is missing.",
        lambda facts: not _has_address(facts["studio"]),
    ),
    InvoicePoint(
        "client-address", "The client's name and address", "226 (5)",
        "above the limit of a simplified invoice, and for a company", "below “To”", "client.street",
        "Above the limit of a simplified invoice, and for a company, the client's street and town "
        "are needed.",
        lambda facts: is_full(facts) and not is_reversed(facts) and _nameless(facts["client"]),
    ),
    InvoicePoint(
        "client-address-owed", "The client's name and address", "226 (5), 220a (2)",
        "where the client owes the tax, whatever the total", "below “To”", "client.street",
        "Reverse charge needs a full invoice, so the client's street and town are needed.",
        lambda facts: is_reversed(facts) and _nameless(facts["client"]),
    ),
    InvoicePoint(
        "work", "What was done, and how much of it", "226 (6), 226b (c)", "always",
        "one row for each line of the agreement", "ticket",
        "There is no work on the ticket, or a line of it has no name or quantity.", _unnamed,
    ),
    InvoicePoint("supplied", "Day of supply", "226 (7)", "always",
          "the day of collection, before that of issue; while there is work to do the promised "
          "day, said to be to come"),
    InvoicePoint(
        "cash-accounting", "The words “Cash accounting”", "226 (7a)",
        "where the owner says that tax is due when the client pays", "below the rows",
    ),
    InvoicePoint(
        "rate", "The rate of each line", "226 (8) and (9), 226b (d)", "where tax is charged",
        "beside each row; for each rate the taxable amount", "ticket",
        "A line of the agreement does not say which tax it carries. Save the ticket's work as a "
        "new version, then issue the invoice.", _mixed,
    ),
    InvoicePoint(
        "unit-price", "Unit prices without tax, and discounts", "226 (8)",
        "above the limit of a simplified invoice, and for clients with a tax number",
        "in each row; a discount is a row of its own",
    ),
    InvoicePoint("tax", "The tax to pay", "226 (10), 226b (d)", "where tax is charged",
          "in the totals, for each rate"),
    InvoicePoint("self-billing", "The word “Self-billing”", "226 (10a)",
                 "never: the studio issues", ""),
    InvoicePoint(
        "exempt", "Why a line carries no tax", "226 (11)", "where a rate is exempt",
        "below the rows, with the name of the rate", "tax",
        "A rate is exempt, but the sentence that says why is missing.", _without_reason,
    ),
    InvoicePoint(
        "no-tax", "Why no tax is charged", "226 (11)", "where the studio charges none",
        "below the rows", "studio.invoice_sentence",
        "No tax is charged, but the sentence that says why is missing.", _no_tax_unsaid,
    ),
    InvoicePoint(
        "reverse-charge", "The words “Reverse charge”, and the client's VAT number",
        "226 (4) and (11a)",
        "where the client owes the tax: an exempt rate whose sentence says so",
        "below the rows; the rate is 0 %", "client.vat_number",
        "The client owes the tax (reverse charge), so the client's VAT number is needed, and one "
        "of another country than the studio's.",
        lambda facts: is_reversed(facts)
        and not is_abroad(facts["client"], facts["studio"]["country"]),
    ),
    InvoicePoint(
        "electronic", "A number of the studio, for electronic invoices", "EN 16931, BR-CO-26",
        "where electronic invoices are on", "in the XML", "studio.tax_number",
        "An electronic invoice needs the studio's VAT number or its local tax number.",
        lambda facts: bool(facts.get("electronic"))
        and not (vat_number_of(facts["studio"]) or tax_number_of(facts["studio"])),
    ),
    InvoicePoint("other-trades", "New vehicles, travel, second-hand goods", "226 (12) to (14)",
          "never: not the work of this trade", ""),
    InvoicePoint("representative", "A tax representative", "226 (15)",
          "where there is one: write it in the studio's own words", "below the rows"),
    InvoicePoint("own-money", "The tax in the country's own money", "230",
          "where the studio's money is another than its country's",
          "not converted: the program has one currency; write it in the studio's own words"),
    InvoicePoint("amends", "The invoice that is amended", "219, 226b (e)", "on credit notes",
          "its number and day, and the reason"),
)  # fmt: skip


def missing(facts: Facts) -> list[InvoicePoint]:
    """The points that an invoice with these facts would lack."""
    return [point for point in POINTS if point.lacks(facts)]


def missing_of_studio(*invoices: Facts) -> list[InvoicePoint]:
    """The points that one or another of these invoices would lack for what the studio wrote."""
    lacks = {point.key for facts in invoices for point in missing(facts)}
    owners = [point for point in POINTS if not point.place.startswith("client.")]
    return [point for point in owners if point.key in lacks]


def is_strict(country: str) -> bool:
    """Whether a missing point refuses: in the member states, where the articles are law."""
    return country in EU
