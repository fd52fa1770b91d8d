"""Papers and messages in the client's language: the same figures, and no English left in them."""

import json
import re
from collections import Counter
from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal
from html import unescape
from uuid import uuid4

import pytest
from babel import Locale
from babel.numbers import get_decimal_symbol, get_group_symbol, parse_decimal

from clients.actions import change_client
from jobs.billing.actions import credit_invoice
from jobs.billing.documents import invoice_facts, invoice_paper, receipt_paper
from jobs.billing.messages import about_balance
from jobs.counter.papers import since
from jobs.counter.pick_up import Left, thanks
from jobs.planning.messages import about_missed_fitting, about_new_day, wait_text
from jobs.planning.models import Fitting, Wait
from jobs.tickets.agreements import latest_agreement
from jobs.tickets.documents import TicketPapers
from jobs.tickets.messages import about_promise, about_ready
from studio.shop import clock
from studio.shop.models import PaperPhrase, Profile
from studio.shop.words import Words, forms_of, phrases, provided, words_for
from tests.drafts import hem, issued, paid, received, take_in, trousers
from tests.factories import ClientFactory

TAXED = {"name": "Repairs", "percent": "13.5", "exempt": False, "sentence": ""}
FREE = {"name": "Relief", "percent": "0", "exempt": True, "sentence": "Reverse charge"}
HIDDEN = re.compile(r"<(?:style|title)\b.*?</(?:style|title)>", re.DOTALL)
TAG = re.compile(r"<[^>]*>")
SPACES = "[\N{NO-BREAK SPACE}\N{NARROW NO-BREAK SPACE} ]"


@pytest.fixture
def ticket(studio, owner):
    Profile.objects.update(
        terms="T1, T2.", cash_accounting=True, iban="IE29AIBK93115212345678",
        bic="AIBKIE2D", legal_name="Larkfield Ltd",
    )  # fmt: skip
    client = ClientFactory(
        name="Ada Moss", language="de", phone="+353 86 555 0143", country="FR", street="1 Row",
        city="Brest", vat_number="FR40303265045",
    )  # fmt: skip
    garments = (
        trousers(
            hem(unit_price=123456, quantity=3, tax=TAXED), take_in(tax=FREE), heel_typed="6.5 cm",
            washed="yes", shoes="brown",
        ),
        trousers(hem(basis="leg", measure="let_out", amount_typed="3 cm", tax=TAXED)),
    )  # fmt: skip
    made = received(
        Profile.objects.get(), owner, *garments, client=client, deposit=2000,
        rush_percent=Decimal("12.5"), discount_percent=Decimal(3), event="Wedding",
        wanted_by=date(2026, 12, 24),
    )  # fmt: skip
    paid(Profile.objects.get(), owner, made, amount=1000)
    return made


def papers_of(ticket, language: str, invoice=None) -> dict[str, str]:
    """Every paper of a client as the HTML that goes to the press, in one language."""
    studio = Profile.objects.get()
    agreement = latest_agreement(ticket)
    agreement.ticket.client.language = language
    agreement.data["client"]["language"] = language
    made = TicketPapers(agreement, studio, "http://studio.example/t/1/", since=since(agreement))
    shown = {
        "claim": made.claim(), "slip": made.slip(), "large": made.large_claim(),
        "agreement": made.stored_agreement().file.read(),
    }  # fmt: skip
    for row in [*ticket.payments.all(), *ticket.invoices.all()]:
        row.data["client"]["language"], row.paper = language, None
        type(row).objects.filter(pk=row.pk).update(paper=None)
        if row.number.startswith("R"):
            shown["receipt"] = receipt_paper(row, studio=studio, address="a").file.read()
        else:
            stored = invoice_paper(row, studio=studio, address="a")
            shown[f"invoice {row.kind}"] = stored.file.read()
    return {name: html.decode() for name, html in shown.items()}


def seen(html: str) -> str:
    return unescape(TAG.sub(" ", HIDDEN.sub("", html)))


def figures(text: str, locale: str) -> Counter:
    """Every amount, percentage, day, time and number of a text, read by Babel's own parser."""
    point, group = map(re.escape, (get_decimal_symbol(locale), get_group_symbol(locale)))
    digits = rf"\d{{1,3}}(?:(?:{group}|{SPACES})?\d{{3}})*{point}\d\d"
    months = Locale.parse(locale).months["format"]
    names = {
        name.rstrip(".").lower(): number
        for form in ("abbreviated", "wide")
        for number, name in months[form].items()
    }
    month = "|".join(re.escape(name) for name in sorted(names, key=len, reverse=True))
    found: list = []

    def amount(match: re.Match) -> str:
        plain = re.sub(SPACES, "", match["digits"])
        found.append(("money", "-" in match[0], parse_decimal(plain, locale=locale)))
        return " "

    def share(match: re.Match) -> str:
        found.append(("share", parse_decimal(match["digits"], locale=locale)))
        return " "

    def day(match: re.Match) -> str:
        found.append(("day", int(match["day"]), names[match["month"].lower()], match["year"]))
        return " "

    def number(match: re.Match) -> str:
        # The hour of one digit has a nought before it in most of the languages.
        shown = match[0].zfill(5) if ":" in match[0] else match[0].replace(",", ".")
        found.append(("number", shown))
        return " "

    text = re.sub(rf"-?€{SPACES}?(?P<digits>{digits})", amount, text)
    text = re.sub(rf"-?(?P<digits>{digits}){SPACES}€", amount, text)
    text = re.sub(rf"(?P<digits>\d+(?:{point}\d+)?){SPACES}?%", share, text)
    text = re.sub(
        rf"(?P<day>\d\d?)\.? (?P<month>{month})\b\.?(?: (?P<year>\d{{4}}))?", day, text,
        flags=re.IGNORECASE,
    )  # fmt: skip
    text = re.sub(r"\d\d?:\d\d|\d+(?:[.,-]\d+)*", number, text)
    return Counter(found)


def test_figures_are_equal_in_every_language(ticket, owner, studio):
    invoice = issued(Profile.objects.get(), owner, ticket)
    credit_invoice(
        invoice=invoice, why="Wrong", by=owner, studio=Profile.objects.get(), form_key=uuid4()
    )
    english = papers_of(ticket, "en")
    assert len(english) == 7
    for language in provided():
        locale = words_for(language, studio).locale
        for name, html in papers_of(ticket, language).items():
            expected, read = figures(seen(english[name]), "en_IE"), figures(seen(html), locale)
            assert read == expected, (language, name, read - expected, expected - read)
            assert sum(read.values()) > 15
            assert f'<html lang="{language}' in html


def test_no_english_is_left(ticket, owner, studio):
    """In a language in which every phrase stands in brackets, nothing of the program's stands
    outside them but days and money; in messages nothing but the studio's name."""
    PaperPhrase.objects.bulk_create(
        PaperPhrase(
            code="eo", phrase=phrase.text, form=form, text=in_brackets(phrase.plural or phrase.text)
        )
        for phrase in phrases().values()
        for form in forms_of(phrase, "eo")
    )
    invoice = issued(Profile.objects.get(), owner, ticket)
    data = latest_agreement(ticket).data
    said = words_for("eo", Profile.objects.get())
    days = " ".join(said.day(at) for at in (date(2026, 12, 24), *moments(data), clock.today()))
    known = set(
        re.findall(
            r"[^\W\d_]{2,}",
            f"{json.dumps([data, invoice.data], ensure_ascii=False)} {days} IBAN BIC",
        )
    )
    known -= {"Trousers", "trousers"}
    known |= {said.country("FR"), said.country("IE")}
    for name, html in papers_of(ticket, "eo").items():
        alts = " ".join(re.findall(r'alt="([^"]*)"', html))
        left = outside(f"{seen(html)} {unescape(alts)}")
        words = set(re.findall(r"[^\W\d_]{2,}", left)) - known
        assert not words, name
    ticket.client.language = "eo"
    for text in messages(ticket, Profile.objects.get()):
        assert re.findall(r"\w+", outside(text).replace(studio.name, "")) == []


def in_brackets(text: str) -> str:
    return f"⟦{' '.join(re.findall(r'{[a-z]+}', text))}⟧"


def outside(text: str) -> str:
    while "⟦" in text:
        text = re.sub(r"⟦[^⟦⟧]*⟧", " ", text)
    return text


def moments(data: dict) -> list[date]:
    return [datetime.fromisoformat(data[name]).date() for name in ("received_at", "promise_at")]


def messages(ticket, studio) -> list[str]:
    line = ticket.garments.first().lines.first()
    line.garment.ticket = ticket
    fitting = Fitting(ticket=ticket, starts_at=clock.now())
    words = words_for(ticket.client.language, studio)
    waits = [
        Wait(line=line, what=what, since=clock.now(), expected=expected)
        for what in Wait.What.values
        for expected in (None, clock.today())
    ]
    payment = ticket.payments.first()
    sent = thanks(ticket, Left([ticket.garments.first()], payment, None), studio)
    assert sent
    return [
        about_ready(ticket, studio).text,
        about_promise(ticket, studio, figures=True).text,
        about_balance(ticket, 1250, studio).text,
        about_missed_fitting(fitting, studio).text,
        about_new_day(ticket, ticket.promise_at, studio).text,
        *(wait_text(wait, words) for wait in waits),
    ]


def test_messages_speak_the_client_s_language(ticket, studio):
    ready = about_ready(ticket, studio)
    assert ready.text == f"Ihr Auftrag {ticket.number} ist abholbereit. {studio.name}"
    assert ready.language == "de"
    ticket.client.language = "pl"
    text = about_promise(ticket, studio, figures=True).text
    assert "2 sztuki odzieży" in text
    assert re.search(r"Razem \d\N{NO-BREAK SPACE}\d{3},\d\d\N{NO-BREAK SPACE}€\.", text)
    ticket.client.language = ""
    assert about_ready(ticket, studio).text.startswith("Your ticket")


def test_what_is_issued_keeps_its_language(ticket, owner, studio):
    """An invoice that was issued in German is printed in German later, and so is its credit note;
    a claim ticket follows the client; what is signed stays as it was agreed."""
    invoice = issued(Profile.objects.get(), owner, ticket)
    change_client(client=ticket.client, facts={"language": "fr"}, by=owner)
    note = credit_invoice(
        invoice=invoice, why="Falsch", by=owner, studio=Profile.objects.get(), form_key=uuid4()
    )
    studio = Profile.objects.get()
    printed = {
        row.number: seen(invoice_paper(row, studio=studio, address="a").file.read().decode())
        for row in (invoice, note)
    }
    assert "Rechnung " in printed[invoice.number]
    assert "Steuerschuldnerschaft des Leistungsempfängers" in printed[invoice.number]
    assert "Besteuerung nach vereinnahmten Entgelten" in printed[invoice.number]
    assert "Rechnungskorrektur" in printed[note.number]
    ticket.refresh_from_db()
    made = TicketPapers(
        latest_agreement(ticket), studio, "a", since=since(latest_agreement(ticket))
    )
    assert "Bon de retrait" in seen(made.claim().decode())
    assert "Vereinbarung" in seen(made.stored_agreement().file.read().decode())
    stored = made.stored_claim()
    assert made.stored_claim() == stored
    PaperPhrase.objects.create(code="fr", phrase="Claim ticket", form="other", text="Mon bon")
    again = replace(made, studio=Profile.objects.get())
    assert "Mon bon" in seen(again.stored_claim().file.read().decode())


def test_a_polish_paper_names_the_garment_in_polish_and_the_owner_s_work_as_typed(ticket, owner):
    """``Spodnie``: Polish for trousers (common knowledge); on every paper, frozen ones included."""
    ticket.garments.update(colour="black")
    agreement = latest_agreement(ticket)
    for garment in agreement.data["garments"]:
        garment["colour"] = "black"
    agreement.save()
    issued(Profile.objects.get(), owner, ticket)
    for name, html in papers_of(ticket, "pl").items():
        text = seen(html)
        assert "podnie" in text, name
        assert "rousers" not in text, name
        assert "Hem" in text, name
        assert ("czarny" in text, "black" in text) == (name != "receipt", False), name


def test_what_was_issued_before_there_were_languages_is_english(ticket, owner, studio):
    invoice = issued(Profile.objects.get(), owner, ticket)
    del invoice.data["client"]["language"]
    facts = invoice_facts(invoice.data, invoice.currency)
    assert facts["words"] == Words(locale="en_IE", tag="en-IE")
    assert "Invoice" in invoice_paper(invoice, studio=studio, address="a").file.read().decode()
