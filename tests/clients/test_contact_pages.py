"""The pages of several phones, e-mails and addresses, and of a household."""

import pytest
from django.urls import reverse

from clients.models import Client, Contact
from tests.conftest import logged_in
from tests.drafts import received
from tests.factories import ClientFactory, ContactFactory
from tests.pages import page_of
from tests.windows import Window

pytestmark = pytest.mark.django_db


def edit(client: Client) -> str:
    return reverse("client-edit", args=[client.pk])


@pytest.fixture
def mary():
    mary = ClientFactory(name="Mary Larkin", phone="086 555 0143", phone_label="mobile")
    ContactFactory(client=mary, label="her daughter", value="087 555 0166")
    ContactFactory(client=mary, kind="email", label="", value="desk@harbour.example")
    return mary


def test_the_page_shows_all_with_links_and_puts_one_first(owner_client, studio, mary):
    address = reverse("client", args=[mary.pk])
    page = page_of(owner_client, address)
    links = [link["href"] for part in (".reach a", ".reach-more a") for link in page.all(part)]
    assert links == [
        "tel:0865550143", "sms:0865550143", "tel:0875550166", "sms:0875550166",
        "mailto:desk@harbour.example",
    ]  # fmt: skip
    assert "her daughter" in page.one(".reach-more").text
    form = page.all(".reach-more form")[0]
    sent = {"value": form.one("[name=value]")["value"]}
    shown = owner_client.post(form["action"], sent, follow=True)
    mary.refresh_from_db()
    assert (mary.phone, mary.phone_label) == ("087 555 0166", "her daughter")
    assert "First now: 087 555 0166." in shown.text
    # The same press again names a number that is not there any more: nothing changes back.
    again = owner_client.post(form["action"], sent, follow=True)
    mary.refresh_from_db()
    assert (mary.phone, "Look again" in again.text) == ("087 555 0166", True)


def test_rows_are_changed_emptied_and_added_on_the_card(owner_client, studio, mary):
    window = Window(owner_client, edit(mary))
    fields = window.page.fields
    assert fields["more-0-phone"] == ["087 555 0166"]
    assert (fields["more-1-phone"], fields["more-1-label"]) == ([""], [""])
    assert fields["more-2-email"] == ["desk@harbour.example"]
    window.type(
        more_0_label="Ida", more_1_phone="01 555 0199", more_1_label="Work", more_2_email="",
        more_4_street="4 Strand Road", more_4_city="Killala",
    ).save()  # fmt: skip
    assert window.response.status_code == 302
    shown = [(row.label, str(row)) for row in mary.contacts.all()]
    assert shown == [
        ("Ida", "087 555 0166"), ("Work", "01 555 0199"), ("", "4 Strand Road, Killala"),
    ]  # fmt: skip
    wrong = Window(owner_client, edit(mary)).type(more_2_phone="x", more_3_email="y").save()
    assert wrong.response.status_code == 200
    assert "Write a phone number, with its digits." in wrong.text
    assert mary.contacts.count() == 3


def test_two_windows_on_the_rows_lose_nothing(owner_client, helper, studio, mary):
    mine, other = Window(owner_client, edit(mary)), Window(logged_in(helper), edit(mary))
    other.type(more_1_phone="01 555 0199").save()
    mine.type(notes="tall").save()
    mary.refresh_from_db()
    assert (mary.notes, mary.contacts.count()) == ("tall", 3)
    third, fourth = Window(owner_client, edit(mary)), Window(owner_client, edit(mary))
    third.type(more_0_label="Ida").save()
    fourth.type(more_0_label="Una").save()
    assert fourth.response.status_code == 200
    fourth.save("hold:More ways to reach")
    assert set(mary.contacts.values_list("label", flat=True)) == {"Una", ""}


def test_a_new_client_comes_with_all_and_is_compared_by_each_number(owner_client, studio, mary):
    facts = {
        "name": "Bea", "phone": "01 555 0111", "way": "call", "more-0-phone": "087 555 0166",
        "more-0-label": "son", "more-TOTAL_FORMS": 1, "more-INITIAL_FORMS": 1,
    }  # fmt: skip
    shown = owner_client.post(reverse("client-new"), facts | {"more-TOTAL_FORMS": "9" * 400})
    assert shown.text.count('name="more-0-phone"') == 1
    assert "more-1-" not in shown.text  # forty rows of countries took seconds
    shown = owner_client.post(reverse("client-new"), facts)
    assert "Is it one of these?" in shown.text
    assert 'value="087 555 0166"' in shown.text
    owner_client.post(reverse("client-new"), facts | {"seen": mary.pk})
    bea = Client.objects.get(name="Bea")
    assert [phone.value for phone in bea.phones] == ["01 555 0111", "087 555 0166"]


def test_a_household_sees_each_other_s_tickets_and_one_answers(
    owner_client, helper_client, studio, owner, mary
):
    child = ClientFactory(name="Ida Larkin")
    ticket = received(studio, owner, client=child)
    address = reverse("client-household", args=[mary.pk])
    found = page_of(owner_client, f"{address}?q=ida")
    owner_client.post(address, {"intent": found.one("button[name=intent]")["value"]})
    page = page_of(owner_client, reverse("client", args=[mary.pk]))
    family = page.one("section[aria-labelledby=household]")
    assert "Ida Larkin" in family.text
    assert ticket.number in family.text
    assert "€24.00" in family.text
    assert "Mary Larkin pays and answers." in family.text
    assert "€" not in page_of(helper_client, reverse("client", args=[mary.pk])).text
    other = page_of(owner_client, reverse("client", args=[child.pk]))
    assert "pays and answers" in other.one("section[aria-labelledby=household]").text
    owner_client.post(address, {"intent": f"answers:{child.pk}"})
    mary.refresh_from_db()
    assert mary.household == child
    owner_client.post(address, {"intent": f"leave:{mary.pk}"})
    assert page_of(owner_client, reverse("client", args=[child.pk])).all(".family") == []


@pytest.mark.parametrize("count", [1, 3])
def test_the_queries_of_a_household(owner_client, studio, mary, django_assert_num_queries, count):
    ClientFactory.create_batch(count, household=mary)
    ContactFactory.create_batch(count, client=mary)
    with django_assert_num_queries(5):
        owner_client.get(reverse("client-household", args=[mary.pk]))


def test_a_contact_of_nobody_is_not_found(owner_client, studio):
    assert not Contact.objects.exists()
    assert owner_client.post(reverse("contact-first", args=[1])).status_code == 404
