"""The studio's profile and papers: everything can be changed later, the currency within reason."""

import pytest
from django.urls import reverse

from studio.shop import actions
from studio.shop.models import Entry, Profile, User, WorkingDay
from tests.factories import NumberSeriesFactory
from tests.studio.shop.first_run_form import Fields

pytestmark = pytest.mark.django_db


def change(client, address, **typed):
    """Open the page, change some fields, send it."""
    page = reverse(address)
    return client.post(page, Fields.of(client.get(page).text) | typed)


def test_the_page_sent_as_it_comes_changes_nothing(owner_client, studio):
    before = Profile.objects.values().get()
    for page in ("studio-profile", "studio-papers", "studio-taxes"):
        assert change(owner_client, page)["Location"] == reverse("studio-settings")
    assert Profile.objects.values().get() == before


def test_moving_the_studio(owner_client, studio):
    change(owner_client, "studio-profile", name="Larkfield Atelier", city="Übersee", country="DE",
           time_zone="Europe/Berlin", unit="in")  # fmt: skip
    studio.refresh_from_db()
    assert (studio.name, studio.city, studio.locale) == ("Larkfield Atelier", "Übersee", "en_DE")
    assert (studio.time_zone, studio.unit) == ("Europe/Berlin", "in")
    assert "Larkfield Atelier" in owner_client.get(reverse("studio-settings")).text


def test_the_currency_changes_only_before_the_first_ticket(owner_client, studio):
    change(owner_client, "studio-profile", currency="GBP")
    studio.refresh_from_db()
    assert studio.currency == "GBP"
    NumberSeriesFactory(key="2026", last=1)
    response = change(owner_client, "studio-profile", currency="EUR", name="Renamed")
    assert "Tickets have been written in GBP, so the currency stays GBP." in response.text
    assert 'value="Renamed"' in response.text
    studio.refresh_from_db()
    assert (studio.currency, studio.name) == ("GBP", "Larkfield Sewing Room")
    change(owner_client, "studio-profile", name="Renamed")
    studio.refresh_from_db()
    assert studio.name == "Renamed"


def test_the_action_refuses_the_currency_too(studio, owner):
    NumberSeriesFactory()
    studio.currency = "JPY"
    with pytest.raises(actions.CurrencyFixedError):
        actions.save_profile(studio=studio, fields=["currency"], by=owner)


def test_a_field_that_was_not_asked_for_is_not_saved(studio, owner):
    studio.name, studio.city = "Other", "Elsewhere"
    actions.save_profile(studio=studio, fields=["city"], by=owner)
    studio.refresh_from_db()
    assert (studio.name, studio.city) == ("Larkfield Sewing Room", "Elsewhere")


def test_papers_and_terms(owner_client, studio):
    typed = {"size_1": "Letter", "size_2": "A7", "name_2": "Cards", "terms": "Kept 90 days."}
    change(owner_client, "studio-papers", pay_days="30", tag_surname="on", **typed)
    studio.refresh_from_db()
    others = ["claim", "work", "agreement", "invoice", "receipt", "lists"]
    assert studio.printers == [
        {"name": "Sheet printer", "size": "Letter", "papers": others},
        {"name": "Cards", "size": "A7", "papers": ["tags"]},
    ]
    assert (studio.pay_days, studio.terms, studio.tag_surname) == (30, "Kept 90 days.", True)
    assert (
        "Cards, 74 \N{MULTIPLICATION SIGN} 105 mm"
        in owner_client.get(reverse("studio-settings")).text
    )


def test_a_printer_is_added_and_one_without_papers_goes(owner_client, studio):
    """The claim ticket is put into a new roll, the tags onto the sheets: the cards are left out."""
    page = reverse("studio-papers") + "?add=roll"
    text = owner_client.get(page).text
    assert 'id="printer-3"' in text
    assert "?add=roll#printer-3" in text
    sent = Fields.of(text)
    assert (sent["name_3"], sent["size_3"], sent["paper_claim"]) == ("Counter roll", "roll", "1")
    moved = {"paper_claim": "3", "paper_tags": "1", "size_3": "roll-58"}
    owner_client.post(page, sent | moved)
    studio.refresh_from_db()
    assert [(it["name"], it["size"], len(it["papers"])) for it in studio.printers] == [
        ("Sheet printer", "A4", 6),
        ("Counter roll", "roll-58", 1),
    ]
    entry = owner_client.get(reverse("studio-changes")).context["latest"].pk
    owner_client.post(reverse("studio-undo"), {"entry": entry})
    studio.refresh_from_db()
    assert studio.printers == []


@pytest.mark.parametrize(
    ("page", "field", "typed", "message"),
    [
        ("studio-profile", "name", "", "This field is required."),
        ("studio-profile", "street", "x" * 201, "at most 200 characters"),
        ("studio-profile", "email", "mara@", "Enter a valid email address."),
        ("studio-profile", "country", "XX", "not one of the available choices"),
        ("studio-profile", "time_zone", "Europe/Nowhere", "not one of the available choices"),
        ("studio-profile", "currency", "XXX", "not one of the available choices"),
        ("studio-papers", "size_1", "A0", "a printer that is not there"),
        ("studio-papers", "size_2", "A5", "Garment tags: not made for A5."),
        ("studio-papers", "name_1", "", "This field is required."),
        ("studio-papers", "paper_invoice", "2", "Invoice: not made for A6."),
        ("studio-papers", "paper_claim", "9", "not one of the available choices"),
        ("studio-papers", "terms", "x" * 2001, "at most 2000 characters"),
        ("studio-papers", "pay_days", "-1", "greater than or equal to 0"),
        ("studio-papers", "pay_days", "a month", "Enter a whole number."),
        ("studio-papers", "pay_days", "366", "less than or equal to"),
    ],
)
def test_what_is_wrong_is_said(owner_client, studio, page, field, typed, message):
    before = Profile.objects.values().get()
    response = change(owner_client, page, **{field: typed})
    assert message in response.text
    assert Profile.objects.values().get() == before


def test_script_in_the_address_stays_text(owner_client, studio):
    change(owner_client, "studio-profile", city="<script>alert(1)</script>")
    page = owner_client.get(reverse("studio-settings")).text
    assert "&lt;script&gt;alert(1)&lt;/script&gt;" in page
    assert "<script>alert" not in page


def test_what_was_changed_is_told_and_taken_back(owner_client, studio):
    change(owner_client, "studio-profile", name="Renamed")
    page = owner_client.get(reverse("studio-changes"))
    assert "The studio, changed: studio name." in page.text
    entry = page.context["latest"].pk
    answer = owner_client.post(reverse("studio-undo"), {"entry": entry}, follow=True)
    assert "Undone." in answer.text
    studio.refresh_from_db()
    assert studio.name == "Larkfield Sewing Room"


@pytest.mark.parametrize(
    ("page", "typed"),
    [("studio-profile", {"city": "Elsewhere"}), ("studio-week", {"monday-hours": "2"})],
)
def test_the_notice_takes_the_step_back(owner_client, studio, page, typed):
    before = (Profile.objects.values().get(), list(WorkingDay.objects.values()))
    change(owner_client, page, **typed)
    assert (Profile.objects.values().get(), list(WorkingDay.objects.values())) != before
    notice = owner_client.get(reverse("studio-settings")).text
    undo = Fields.of(notice[notice.index('class="said"') :])
    answer = owner_client.post(reverse("studio-undo"), undo)
    assert answer["Location"] == reverse("studio-settings")
    assert (Profile.objects.values().get(), list(WorkingDay.objects.values())) == before


def test_a_currency_is_not_taken_back_once_tickets_are_written_in_it(owner_client, studio):
    change(owner_client, "studio-profile", currency="GBP")
    NumberSeriesFactory()
    entry = owner_client.get(reverse("studio-changes")).context["latest"].pk
    answer = owner_client.post(reverse("studio-undo"), {"entry": entry}, follow=True)
    assert "so the currency stays" in answer.text
    studio.refresh_from_db()
    assert studio.currency == "GBP"


def test_no_password_is_written_down(owner_client, owner):
    actions.set_password(person=owner, password="a long sentence of hems", by=owner)
    for person in (owner, actions.add_person(**BEA, by=owner)):
        person.refresh_from_db()
        texts = " ".join(f"{entry.parameters} {entry.changes}" for entry in Entry.objects.all())
        assert person.shown_name in texts
        assert person.password not in texts
        assert "sentence of hems" not in texts


BEA = {
    "username": "bea",
    "first_name": "Bea",
    "password": "a long sentence of hems",
    "role": User.Role.HELPER,
}
