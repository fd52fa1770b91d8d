"""Saying that somebody is on the list twice, and taking it back; the card on a client's page."""

import pytest
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone

from clients import actions
from studio.shop.models import Entry
from tests.drafts import received
from tests.factories import ClientFactory, ContactFactory, SheetFactory, TicketFactory
from tests.pages import page_of, read

SCRIPT = "<script>alert(1)</script>"


@pytest.fixture
def keep(studio):
    return ClientFactory(name="Mary Larkin", phone="086 555 0143", notes="tall", way="call")


@pytest.fixture
def other(studio):
    return ClientFactory(
        name="M. Larkin", phone="086 555 0143", email="m@x.example", notes="blue", way="text"
    )


def page(client) -> str:
    return reverse("client-merge", args=[client.pk])


def test_who_is_alike_is_offered_first(keep, other, owner_client):
    ClientFactory(name="Somebody Else")
    assert owner_client.get(page(keep)).context["found"] == [other]


def test_anybody_else_can_be_found_but_not_the_client(keep, other, owner_client):
    clients = owner_client.get(page(keep), {"q": "larkin"}).context["found"]
    assert clients == [other]
    assert "Nobody else matches" in owner_client.get(page(keep), {"q": "zzz"}).text


def test_both_are_shown_side_by_side_and_only_what_differs_is_asked(keep, other, owner_client):
    response = owner_client.get(page(keep), {"other": other.pk})
    form = response.context["form"]
    assert {name: form[name].initial for name in form.fields} == {
        "name": "keep",
        "email": "other",
        "way": "keep",
        "notes": "both",
    }
    assert form.fields["email"].choices == [("keep", "Nothing"), ("other", "m@x.example")]
    # Who has tickets is the one that is known; what only the other says is kept all the same.
    TicketFactory(client=other)
    form = owner_client.get(page(keep), {"other": other.pk}).context["form"]
    assert [form[name].initial for name in ("name", "email", "way")] == ["other"] * 3
    form = owner_client.get(page(other), {"other": keep.pk}).context["form"]
    assert form["email"].initial == "keep"
    for word in ("Stays", "Goes into it", "tall", "blue", "Text message"):
        assert word in response.text


def test_sheets_tickets_faces_and_ways_of_both_stand_before_it_asks(
    keep, other, studio, owner, owner_client, helper_client
):
    """What will stand: every number of both, by hand 3; the chosen one first."""
    mine = received(studio, owner, client=keep)
    theirs = received(studio, owner, client=other)
    SheetFactory(client=other).values.create(key="waist", mm=795, typed="79.5", unit="cm")
    ContactFactory(client=other, label="her daughter", value="087 555 0166")
    other.phone, other.street, other.city = "01 555 0199", "1 Quay", "Killala"
    other.save()
    address = f"{page(keep)}?other={other.pk}"
    left, right = page_of(owner_client, address).all(".two-entries section")
    assert (len(left.all(".faces li")), len(right.all(".faces li"))) == (1, 1)
    assert mine.number in left.text
    for words in (theirs.number, "1 Quay, Killala", "79.5", "087 555 0166 her daughter", "€24.00"):
        assert words in right.text
        assert words not in left.text or words == "€24.00"
    assert "€" not in page_of(helper_client, address).one(".two-entries").text
    after = page_of(owner_client, address).one("#after").text
    assert "2 tickets, 1 sheet" in after
    assert "086 555 0143 first087 555 016601 555 0199" in after
    choice = {
        "other": other.pk, "name": "other", "email": "other", "way": "keep", "notes": "keep",
        "phone": "other", "street": "other", "city": "other",
    }  # fmt: skip
    look = read(owner_client.post(page(keep), choice | {"intent": "look"}).text)
    assert not Entry.objects.filter(verb="client.merge").exists()
    assert "01 555 0199 first087 555 0166086 555 0143" in look.one("#after").text
    owner_client.post(page(keep), choice)
    keep.refresh_from_db()
    # What stands is what was shown.
    assert [way.value for way in keep.phones] == ["01 555 0199", "087 555 0166", "086 555 0143"]
    assert [str(place) for place in keep.addresses] == ["1 Quay, Killala"]
    assert (keep.tickets.count(), keep.sheets.count()) == (2, 1)


def test_whose_phone_it_is_goes_with_the_phone(keep, other, owner_client):
    keep.phone_label, other.phone_label, other.phone = "mobile", "shop", "01 555 0199"
    keep.save()
    other.save()
    choice = {"other": other.pk, "name": "keep", "email": "other", "way": "keep", "notes": "keep"}
    owner_client.post(page(keep), choice | {"phone": "other"})
    keep.refresh_from_db()
    assert [(way.label, way.value) for way in keep.phones] == [
        ("shop", "01 555 0199"), ("mobile", "086 555 0143"),
    ]  # fmt: skip


@pytest.mark.parametrize("rows", [1, 3])
def test_the_queries_of_both_side_by_side(
    rows, keep, other, studio, owner, owner_client, django_assert_num_queries
):
    for client in (keep, other):
        ContactFactory.create_batch(rows, client=client)
        for _ in range(rows):
            SheetFactory(client=client)
            received(studio, owner, client=client)
    with django_assert_num_queries(21):
        owner_client.get(page(keep), {"other": other.pk})


@pytest.mark.parametrize("who", ["owner_client", "helper_client"])
def test_merging_and_undoing(who, keep, other, request):
    browser = request.getfixturevalue(who)
    ticket = TicketFactory(client=other)
    choice = {"other": other.pk, "name": "other", "email": "other", "way": "keep", "notes": "both"}
    response = browser.post(page(keep), choice)
    assert response["Location"] == reverse("client", args=[keep.pk])
    keep.refresh_from_db()
    ticket.refresh_from_db()
    assert (keep.name, keep.email, keep.way) == ("M. Larkin", "m@x.example", "call")
    assert (keep.notes, ticket.client) == ("tall\nblue", keep)
    entry = Entry.objects.get()
    undo = reverse("client-unmerge", args=[entry.pk])
    assert f'action="{undo}"' in browser.get(response["Location"]).text

    response = browser.post(undo)
    assert response["Location"] == reverse("client", args=[keep.pk])
    ticket.refresh_from_db()
    assert ticket.client == other
    assert undo not in browser.get(response["Location"]).text


def test_a_double_click_merges_once(keep, other, owner_client):
    choice = {"other": other.pk, "name": "keep", "email": "other", "way": "keep", "notes": "keep"}
    owner_client.post(page(keep), choice)
    owner_client.post(page(keep), choice)
    assert Entry.objects.count() == 1


def test_two_that_say_the_same_need_no_choice(keep, owner_client):
    twin = ClientFactory(name=keep.name, phone=keep.phone, notes=keep.notes)
    assert "Both say the same" in owner_client.get(page(keep), {"other": twin.pk}).text
    owner_client.post(page(keep), {"other": twin.pk})
    twin.refresh_from_db()
    assert twin.merged_into == keep


@pytest.mark.parametrize("choice", [{}, {"name": "neither"}, {"name": SCRIPT}])
def test_each_fact_needs_an_answer(choice, keep, other, owner_client):
    answers = {"other": other.pk, "email": "other", "way": "keep", "notes": "both"}
    response = owner_client.post(page(keep), answers | choice)
    assert list(response.context["form"].errors) == ["name"]
    assert response.context["form"]["way"].value() == "keep"
    assert SCRIPT not in response.text
    assert not Entry.objects.exists()


def test_notes_that_are_too_long_together(keep, other, owner_client):
    keep.notes, other.notes = "x" * 2000, "y" * 2000
    keep.save()
    other.save()
    answers = {"other": other.pk, "name": "keep", "email": "keep", "way": "keep", "notes": "both"}
    response = owner_client.post(page(keep), answers)
    assert response.context["form"].errors == {
        "notes": ["Together the notes are too long. Choose one."]
    }


def test_an_entry_with_itself_is_refused_in_words(keep, owner_client):
    response = owner_client.post(page(keep), {"other": keep.pk}, follow=True)
    assert "These are the same entry." in response.text


def test_an_erased_entry_is_refused_in_words(keep, other, owner_client):
    other.erased_at = timezone.now()
    other.save()
    answers = {"other": other.pk, "name": "keep", "email": "keep", "way": "keep", "notes": "keep"}
    response = owner_client.post(page(keep), answers, follow=True)
    assert "no longer an entry of its own" in response.text


@pytest.mark.parametrize("other", ["0", "9" * 18])
def test_merging_with_nobody(other, keep, owner_client):
    assert owner_client.get(page(keep), {"other": other}).status_code == 404


@pytest.mark.parametrize("other", ["", "x", "-1", "9" * 30])
def test_another_that_is_no_number_is_asked_for_again(other, keep, owner_client):
    response = owner_client.get(page(keep), {"other": other})
    assert "Which entry is the same person?" in response.text


def test_undoing_out_of_turn_is_refused_in_words(keep, other, owner, owner_client):
    first = actions.merge(keep=keep, other=other, by=owner, facts={})
    actions.merge(keep=keep, other=ClientFactory(), by=owner, facts={})
    response = owner_client.post(reverse("client-unmerge", args=[first.pk]), follow=True)
    assert "another merge since" in response.text


def test_undoing_is_sent_not_opened(keep, other, owner, owner_client):
    first = actions.merge(keep=keep, other=other, by=owner, facts={})
    assert owner_client.get(reverse("client-unmerge", args=[first.pk])).status_code == 405
    assert owner_client.put(page(keep)).status_code == 405


@pytest.mark.parametrize("rows", [1, 3])
def test_the_queries_of_choosing(rows, keep, owner_client, django_assert_num_queries):
    ClientFactory.create_batch(rows, phone=keep.phone)
    with django_assert_num_queries(6):
        owner_client.get(page(keep))


def card(client, studio) -> str:
    """How the client is reached, and the drawer with address and facts."""
    context = {"client": client, "studio": studio}
    parts = ("clients/_reach.html", "clients/_card.html")
    return "".join(render_to_string(part, context) for part in parts)


def test_the_card_has_ways_to_reach_the_client(studio):
    text = card(
        ClientFactory(
            phone="+353 (0)86 555 0143",
            email="a+b&c@x.example",
            way="text",
            street="3 Mill Lane",
            postcode="X00",
            city="Larkfield",
            country="IE",
            notes="tall\nblue",
        ),
        studio,
    )
    assert '<a class="btn" href="tel:+353865550143">' in text
    assert '<bdi class="break">+353 (0)86 555 0143</bdi>' in text
    assert '<a class="btn liked" href="sms:+353865550143">' in text
    assert 'href="mailto:a%2Bb%26c@x.example"' in text
    for words in ("3 Mill Lane", "X00 Larkfield", "Ireland", "a+b&amp;c@x.example"):
        assert words in text


def test_the_card_of_somebody_who_cannot_be_reached(studio):
    text = card(ClientFactory(phone=""), studio)
    for words in ("tel:", "sms:", "mailto:", "<dt>Address"):
        assert words not in text


def test_nothing_on_the_card_is_executed(studio):
    client = ClientFactory(name=SCRIPT, notes=SCRIPT, street=SCRIPT, phone=f"1234 {SCRIPT}")
    assert SCRIPT not in card(client, studio)
    assert 'href="tel:1234"' in card(client, studio)
