"""The owner's own names in the languages of clients: given on one page, said on their papers."""

import pytest
from django.urls import reverse
from lxml import html

from jobs.billing.documents import shown_charges
from jobs.planning.messages import wait_text
from jobs.planning.models import Wait
from jobs.tickets.agreements import latest_agreement
from jobs.tickets.documents.layouts import ticket_facts
from studio.shop.models import Entry, PaperPhrase, Profile
from studio.shop.words import words_for
from tests.drafts import hem, issued, received, trousers
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
    assert list(fields) == ["Hem", "New zip", "Beaded", "Kilt"]  # a skirt the program can say
    assert "4 of 4 without a name" in owner_client.get(names).text
    assert save(owner_client, names, GERMAN).url == names
    assert dict(PaperPhrase.objects.values_list("phrase", "text")) == GERMAN
    assert "1 of 4 without a name" in owner_client.get(names).text
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
    with django_assert_num_queries(8):
        owner_client.get(names)
