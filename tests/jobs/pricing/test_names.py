"""The owner's own names in the languages of clients: given on one page, said on their papers."""

import pytest
from django.urls import reverse
from lxml import html

from jobs.billing.documents import invoice_facts, receipt_paper, shown_charges
from jobs.planning.messages import wait_text
from jobs.planning.models import Wait
from jobs.tickets.agreements import latest_agreement
from jobs.tickets.documents.layouts import ticket_facts
from studio.shop.models import Entry, PaperPhrase, Profile, TaxClass
from studio.shop.words import words_for
from tests.drafts import hem, issued, paid, received, trousers
from tests.factories import (
    ClientFactory,
    GarmentKindFactory,
    OperationFactory,
    SurchargeFactory,
)

GERMAN = {"Hem": "Säumen", "Beaded": "Perlenbesatz", "Kilt": "Schottenrock"}


@pytest.fixture
def names(studio):
    kilt, skirt = GarmentKindFactory(name="Kilt"), GarmentKindFactory(name="Skirt")
    for kind, work in ((kilt, "Hem"), (skirt, "Hem"), (skirt, "New zip")):
        OperationFactory(garment_kind=kind, name=work)
    SurchargeFactory(name="Beaded")
    return reverse("price-names", args=["de"])


def opened(client, address):
    """The fields of the page by their labels, and all that its form would send."""
    page = html.fromstring(client.get(address).text)
    (form,) = (form for form in page.forms if form.get("id") == "names")
    labels = {label.text_content().strip(): label.get("for") for label in form.iter("label")}
    fields = {words: page.get_element_by_id(of).get("name") for words, of in labels.items()}
    return fields, dict(form.form_values())


def save(client, address, texts):
    fields, sent = opened(client, address)
    return client.post(address, sent | {fields[name]: text for name, text in texts.items()})


@pytest.mark.postgres
def test_each_name_is_asked_once_and_kept_with_a_way_back(owner_client, names):
    fields, _ = opened(owner_client, names)
    assert list(fields) == [
        "Repairs",
        "Standard",
        "Hem",
        "New zip",
        "Beaded",
        "Kilt",
    ]  # a skirt the program can say
    assert "6 of 6 not in German" in owner_client.get(names).text
    assert save(owner_client, names, GERMAN).url == names
    assert dict(PaperPhrase.objects.values_list("phrase", "text")) == GERMAN
    assert "3 of 6 not in German" in owner_client.get(names).text
    save(owner_client, names, {"Beaded": " "})
    assert dict(PaperPhrase.objects.values_list("phrase", "text")) == {
        name: text for name, text in GERMAN.items() if name != "Beaded"
    }
    owner_client.post(reverse("studio-undo"), {"entry": Entry.objects.latest("pk").pk})
    assert dict(PaperPhrase.objects.values_list("phrase", "text")) == GERMAN


def test_what_another_window_saved_stays(owner_client, names):
    """Each saves what was typed in it; the fields it left alone are as the other left them."""
    fields, first = opened(owner_client, names)
    save(owner_client, names, {"Hem": "Kürzen"})
    owner_client.post(names, first | {fields["Beaded"]: "Perlen"})
    assert dict(PaperPhrase.objects.values_list("phrase", "text")) == {
        "Hem": "Kürzen", "Beaded": "Perlen",
    }  # fmt: skip


def test_papers_and_messages_of_that_language_say_them(owner_client, names, studio, owner):
    save(owner_client, names, GERMAN)
    beads = {"name": "Beaded", "percent": "25", "amount": 0, "minutes_percent": "0", "minutes": 0}
    work = trousers(hem(surcharges=[beads]), hem(name="New zip"), kind_name="Kilt", colour="navy")
    ticket = received(studio, owner, work, client=ClientFactory(language="de"))
    words = words_for("de", Profile.objects.get())
    agreed = latest_agreement(ticket)
    facts = ticket_facts(agreed.data, address="", words=words)
    (garment,) = facts["garments"]
    assert garment["name"] == "Schottenrock, marineblau"
    assert [line["name"] for line in garment["lines"]] == ["Säumen", "New zip"]
    how = garment["lines"][0]["explained"].replace("\N{NO-BREAK SPACE}", " ")
    assert how == "Säumen 24,00 €, Perlenbesatz +25 % 6,00 €"
    assert garment["work"] == ["Hem", "New zip"]  # by which the drawing knows its marks
    shown = [row.name for row in shown_charges(issued(studio, owner, ticket).data, words)]
    assert shown[0].startswith("A \N{MIDDLE DOT} Schottenrock, marineblau: Säumen, ")
    assert shown[1].startswith("Perlenbesatz")
    assert words.work("A Kilt: Hem") == "A Schottenrock: Säumen"
    wait = Wait(line=ticket.garments.get().lines.get(name="Hem"), what=Wait.What.CLIENT)
    assert "Schottenrock, marineblau: Säumen)" in wait_text(wait, words)
    # English ones stay as they were typed.
    plain = ticket_facts(agreed.data, address="", words=words_for("", studio))
    assert [line["name"] for line in plain["garments"][0]["lines"]] == ["Hem", "New zip"]


def test_terms_sentences_and_taxes_are_said_in_the_language_of_the_client(
    owner_client, names, studio, owner
):
    """As they were agreed: a text goes with what it was written for, and not with the next one."""
    terms, law = (
        "Collect within 30 days.\n<b>Try on</b> first. " + "Ask. " * 20,
        "No VAT: Article 1.",
    )
    Profile.objects.update(terms=terms, invoice_sentence=law, invoice_words="Thank you.")
    TaxClass.objects.create(name="Relief", exempt=True, sentence="Article 132.")
    shown = owner_client.get(names).text
    assert "11 of 11 not in German" in shown
    assert "&lt;b&gt;Try on&lt;/b&gt; first." in shown
    said = {
        "Terms": "Abholung binnen 30 Tagen.\r\n\r\nErst anprobieren.", "Repairs": "Reparatur",
        "Sentence the law asks on invoices": "Keine USt.", "Your own words on invoices": "Danke.",
        "Relief": "Befreit", "Relief: why it is exempt": "Artikel 132.",
    }  # fmt: skip
    save(owner_client, names, said)
    assert "5 of 11 not in German" in owner_client.get(names).text
    again = opened(owner_client, names)[1]
    owner_client.post(names, again)  # nothing was changed
    assert PaperPhrase.objects.count() == 6
    relief = {"name": "Relief", "percent": "0", "exempt": True, "sentence": "Article 132."}
    ticket = received(
        Profile.objects.get(), owner, trousers(hem(), hem(tax=relief)),
        client=ClientFactory(language="de"),
    )  # fmt: skip
    Profile.objects.update(terms="Cash only.")
    studio = Profile.objects.get()
    words = words_for("de", studio)
    data = latest_agreement(ticket).data
    facts = ticket_facts(data, address="", words=words)
    assert facts["studio"].terms == "Abholung binnen 30 Tagen.\n\nErst anprobieren."
    assert [rate["name"] for rate in facts["rates"]] == ["Reparatur", "Befreit"]
    assert ticket_facts(data, address="")["studio"].terms == terms
    invoice = issued(studio, owner, ticket)
    bill = invoice_facts(invoice.data, "EUR", words)
    assert (bill["studio"].invoice_sentence, bill["studio"].invoice_words) == (
        "Keine USt.",
        "Danke.",
    )
    assert [(rate["name"], rate["sentence"]) for rate in bill["rates"]] == [
        ("Reparatur", ""), ("Befreit", "Artikel 132."),
    ]  # fmt: skip
    assert invoice.data["studio"]["invoice_sentence"] == law
    receipt = receipt_paper(paid(studio, owner, ticket), studio=studio, address="")
    paper = receipt.file.read().decode()
    assert "Reparatur" in paper
    assert "Repairs" not in paper


def test_a_studio_that_types_in_german_names_its_work_in_english(owner_client, names):
    english = reverse("price-names", args=["en"])
    assert owner_client.get(english).status_code == 404
    Profile.objects.update(language="de")
    assert owner_client.get(names).status_code == 404
    assert f'href="{english}"' in owner_client.get(reverse("studio-words")).text
    save(owner_client, english, {"Hem": "Hemming"})
    words = words_for("en", Profile.objects.get())
    assert (words.named("Hem"), words("Total")) == ("Hemming", "Total")
    assert words.key  # so that a paper kept before is laid out anew


def test_more_names_take_no_more_queries(owner_client, names, django_assert_num_queries):
    for count in range(8):
        OperationFactory(name=f"Work {count}")
    with django_assert_num_queries(9):
        owner_client.get(names)
