"""The list of clients, a new one, and changing one."""

import pytest
from django.urls import reverse
from django.utils import timezone
from django.utils.html import escape

from clients.actions import merge
from clients.models import Client
from studio.shop.history import of
from studio.shop.text import fold
from tests.factories import ClientFactory
from tests.pages import page_of

LIST, NEW = reverse("clients"), reverse("client-new")
SCRIPT = "<script>alert(1)</script>"
FACTS = {
    "name": "Mary Larkin",
    "phone": "+353 86 555 0143",
    "email": "mary@larkfield.example",
    "street": "3 Mill Lane",
    "postcode": "X00 XX00",
    "city": "Larkfield",
    "country": "IE",
    "tax_number": "IE1234567X",
    "way": "text",
    "notes": "tall\nlikes blue",
}


def edit(client: Client) -> str:
    return reverse("client-edit", args=[client.pk])


@pytest.mark.parametrize("who", ["owner_client", "helper_client"])
def test_both_may_keep_clients(who, request):
    browser = request.getfixturevalue(who)
    response = browser.post(NEW, FACTS)
    mary = Client.objects.get()
    assert response["Location"] == reverse("client", args=[mary.pk])
    assert {name: getattr(mary, name) for name in FACTS} == FACTS
    assert "Mary Larkin" in browser.get(LIST).text


def test_a_name_is_enough(owner_client):
    owner_client.post(NEW, {"name": "  Mary   Larkin ", "way": "call"})
    mary = Client.objects.get()
    assert (mary.name, mary.phone, mary.way, mary.country) == ("Mary Larkin", "", "call", "")


@pytest.mark.parametrize(
    "name", ["J", "x" * 200, "مريم العلي", "🧵🪡", "O'Hara & Söhne", SCRIPT, "{{ 7|add:7 }}"]
)
def test_any_name_is_kept_and_shown_as_it_was_typed(name, owner_client):
    owner_client.post(NEW, {"name": name, "way": "call"})
    client = Client.objects.get()
    assert client.name == name
    for page in (LIST, edit(client), reverse("client-merge", args=[client.pk])):
        text = owner_client.get(page).text
        assert SCRIPT not in text
        assert escape(name) in text


@pytest.mark.parametrize(
    ("field", "typed", "message"),
    [
        ("name", "", "Write a name, or a word you will know the client by."),
        ("name", "   ", "Write a name, or a word you will know the client by."),
        ("name", "\u200b\u2060", "Write a name that can be seen."),
        ("name", "x" * 201, "Ensure this value has at most 200 characters (it has 201)."),
        ("phone", "ask Tom", "Write a phone number, with its digits."),
        ("phone", "1" * 41, "Ensure this value has at most 40 characters (it has 41)."),
        ("email", "mary at larkfield", "Write an e-mail address such as mary@larkfield.example."),
        ("street", "x" * 201, "Ensure this value has at most 200 characters (it has 201)."),
        ("postcode", "x" * 21, "Ensure this value has at most 20 characters (it has 21)."),
        ("city", "x" * 101, "Ensure this value has at most 100 characters (it has 101)."),
        ("country", "Larkland", "Choose a country of the list."),
        ("way", "pigeon", "Select a valid choice. pigeon is not one of the available choices."),
        ("notes", "x" * 4001, "Ensure this value has at most 4000 characters (it has 4001)."),
    ],
)
def test_a_wrong_entry_is_told_beside_its_field_and_nothing_is_lost(
    field, typed, message, owner_client
):
    typed_in = FACTS | {field: typed}
    for address in (NEW, edit(ClientFactory(name="Before"))):
        response = owner_client.post(address, typed_in)
        form = response.context["form"]
        assert form.errors == {field: [message]}
        assert {name: form[name].value() for name in FACTS} == typed_in
        assert f'aria-describedby="id_{field}_error"' in response.text
    assert [client.name for client in Client.objects.all()] == ["Before"]


def test_control_characters_are_dropped(owner_client):
    owner_client.post(NEW, {"name": "Ma\x07ry", "way": "call", "notes": "a\x1b\tb\r\nc"})
    client = Client.objects.get()
    assert (client.name, client.notes) == ("Mary", "a\tb\r\nc")


def test_a_nul_is_refused(owner_client):
    response = owner_client.post(NEW, {"name": "Ma\x00ry", "way": "call"})
    assert response.context["form"].errors == {"name": ["Null characters are not allowed."]}


def test_somebody_alike_is_shown_before_a_second_entry_is_made(owner_client):
    there = ClientFactory(name="M. Larkin", phone="086 555 0143")
    response = owner_client.post(NEW, FACTS)
    assert response.context["found"] == [there]
    assert f'name="seen" value="{there.pk}"' in response.text
    assert "None of these" in response.text
    assert response.context["form"]["notes"].value() == FACTS["notes"]
    assert Client.objects.count() == 1

    owner_client.post(NEW, FACTS | {"seen": [there.pk]})
    assert Client.objects.count() == 2


def test_a_double_click_makes_one_client(owner_client):
    there = ClientFactory(name="Mary Larkin")
    for _ in range(2):
        response = owner_client.post(NEW, FACTS | {"seen": [there.pk]})
    assert response.context["found"] == [Client.objects.exclude(pk=there.pk).get()]


@pytest.mark.parametrize("seen", ["", "x", "-1", "9" * 30, "\u0660"])
def test_a_seen_that_is_no_number_is_nobody(seen, owner_client):
    ClientFactory(name="Mary Larkin")
    response = owner_client.post(NEW, FACTS | {"seen": [seen]})
    assert len(response.context["found"]) == 1


@pytest.mark.parametrize(
    ("typed", "name", "phone"),
    [("Mary", "Mary", ""), ("086 555 0143", "", "086 555 0143"), ("x" * 300, "x" * 300, "")],
)
def test_what_was_not_found_begins_the_new_entry(typed, name, phone, owner_client):
    form = owner_client.get(NEW, {"typed": typed}).context["form"]
    assert (form["name"].value() or "", form["phone"].value() or "") == (name, phone)


def test_changing_a_client(owner_client):
    client = ClientFactory(name="Before", phone="1234")
    response = owner_client.post(edit(client), FACTS)
    assert response["Location"] == reverse("client", args=[client.pk])
    client.refresh_from_db()
    assert {name: getattr(client, name) for name in FACTS} == FACTS
    assert (client.name_key, client.phone_last4) == ("mary larkin", "0143")


def test_a_merged_entry_leads_to_the_kept_one(owner_client):
    kept = ClientFactory()
    gone = ClientFactory(merged_into=kept)
    for name in ("client", "client-edit", "client-merge"):
        response = owner_client.get(reverse(name, args=[gone.pk]))
        assert response["Location"] == reverse(name, args=[kept.pk])
    response = owner_client.get(reverse("client-edit", args=[gone.pk]), {"back": "/week/"})
    assert response["Location"] == f"{reverse('client-edit', args=[kept.pk])}?back=%2Fweek%2F"


@pytest.mark.parametrize("name", ["client-edit", "client-merge"])
def test_nobody_there(name, owner_client):
    erased = ClientFactory(erased_at=timezone.now())
    for pk in (erased.pk, 0, 10**30):
        assert owner_client.get(reverse(name, args=[pk])).status_code == 404


@pytest.mark.postgres
@pytest.mark.parametrize(
    ("query", "names"),
    [
        ({}, ["Ada Ashe", "José Órla", "Mary Larkin"]),
        ({"q": "jose"}, ["José Órla"]),
        ({"q": "lark mary"}, ["Mary Larkin"]),
        ({"q": "0143"}, ["Mary Larkin"]),
        ({"q": "lakrin"}, ["Mary Larkin"]),
        ({"q": "zzzz"}, []),
        ({"q": "x" * 300}, ["Ada Ashe", "José Órla", "Mary Larkin"]),
        ({"q": "\x00"}, ["Ada Ashe", "José Órla", "Mary Larkin"]),
        ({"sort": "-name"}, ["Mary Larkin", "José Órla", "Ada Ashe"]),
        ({"sort": "no-such"}, ["Ada Ashe", "José Órla", "Mary Larkin"]),
    ],
)
def test_the_list_finds_and_sorts(query, names, owner_client):
    ClientFactory(name="Mary Larkin", phone="086 555 0143")
    ClientFactory(name="José Órla", phone="085 555 2222")
    ClientFactory(name="Ada Ashe", phone="")
    table = owner_client.get(LIST, query).context["table"]
    assert [row.get_cell_value("name") for row in table.page] == names


def test_each_cell_of_the_list_is_filled(owner_client):
    client = ClientFactory(**FACTS)
    row = owner_client.get(LIST).context["table"].page[0]
    assert [str(cell) for cell in row.cells] == [
        f'<a href="/clients/{client.pk}/">Mary Larkin</a>',
        "+353 86 555 0143",
        "mary@larkfield.example",
        "Larkfield",
    ]


@pytest.mark.parametrize(
    ("query", "page", "rows"),
    [
        ({}, 1, 25),
        ({"page": "2"}, 2, 5),
        ({"page": "9"}, 2, 5),
        ({"page": "x"}, 1, 25),
        ({"page": "0"}, 2, 5),
        ({"per_page": "1000"}, 1, 25),
    ],
)
def test_a_page_of_the_list_has_one_size(query, page, rows, owner_client):
    ClientFactory.create_batch(30)
    shown = owner_client.get(LIST, query).context["table"].page
    assert (shown.number, len(shown)) == (page, rows)


@pytest.mark.postgres
def test_a_long_list_has_letters_that_lead_to_their_page(owner_client, django_assert_num_queries):
    """25 on a page: of 30 A the B begin on the second, after 20 of them Z on the third."""
    for name, count in (("Órla", 1), ("Anna", 29), ("ágnes", 1), ("Bea", 20), ("zoë", 1)):
        ClientFactory.create_batch(count, name=name)
    with django_assert_num_queries(6):
        letters = page_of(owner_client, LIST).all("nav[aria-label=Letters] a")
    assert [(at.text, at["href"]) for at in letters] == [
        ("A", "?page=1#letter-a"), ("B", "?page=2#letter-b"), ("O", "?page=3#letter-o"),
        ("Z", "?page=3#letter-z"),
    ]  # fmt: skip
    for letter in letters:
        address, _, place = letter["href"].partition("#")
        (begins,) = page_of(owner_client, LIST + address).all(f"li#{place}")
        assert fold(begins.text)[0] == letter.text.lower()
    for query in ("?q=anna", "?sort=phone"):
        assert not page_of(owner_client, LIST + query).all("nav[aria-label=Letters]")


@pytest.mark.parametrize(("query", "queries"), [({}, 5), ({"q": "larkin"}, 6)])
@pytest.mark.parametrize("rows", [1, 3])
def test_the_queries_of_the_list(rows, query, queries, owner_client, django_assert_num_queries):
    ClientFactory.create_batch(rows, name="Mary Larkin")
    with django_assert_num_queries(queries):
        owner_client.get(LIST, query)


@pytest.mark.parametrize("name", ["clients", "clients-csv", "clients-vcf"])
def test_looking_is_not_sending(name, owner_client):
    assert owner_client.post(reverse(name)).status_code == 405


@pytest.mark.parametrize("address", [NEW, LIST + "import/"])
def test_a_form_is_not_put(address, owner_client):
    assert owner_client.put(address).status_code == 405
    assert owner_client.delete(address).status_code == 405


@pytest.mark.parametrize("who", ["owner_client", "helper_client"])
def test_what_was_changed_is_told_on_the_page_and_taken_back_there(who, request):
    browser = request.getfixturevalue(who)
    browser.post(NEW, FACTS)
    mary = Client.objects.get()
    browser.post(edit(mary), FACTS | {"phone": "085 555 7777", "notes": ""})
    page = reverse("client", args=[mary.pk])
    assert "Changed: phone, notes." in browser.get(page).text
    undo = reverse("client-undo", args=[mary.latest_entries[0].pk])
    assert f'action="{undo}"' in browser.get(page).text
    assert "Undone." in browser.post(undo, follow=True).text
    mary.refresh_from_db()
    assert {name: getattr(mary, name) for name in FACTS} == FACTS
    assert mary.phone_last4 == "0143"
    assert undo not in browser.get(page).text


def test_what_was_changed_since_is_not_taken_back(owner_client):
    owner_client.post(NEW, FACTS)
    mary = Client.objects.get()
    for notes in ("blue", "green"):
        owner_client.post(edit(mary), FACTS | {"notes": notes})
    undo = reverse("client-undo", args=[mary.latest_entries[1].pk])
    assert "changed since" in owner_client.post(undo, follow=True).text
    mary.refresh_from_db()
    assert mary.notes == "green"


def test_a_client_added_by_mistake_is_taken_off_the_list(owner_client):
    owner_client.post(NEW, FACTS)
    undo = reverse("client-undo", args=[Client.objects.get().latest_entries[0].pk])
    assert owner_client.post(undo)["Location"] == LIST
    assert not Client.objects.exists()


def test_a_merge_is_taken_back_among_the_latest_changes(owner_client, owner, studio):
    """It is told of both entries, and is one step all the same."""
    kept, gone = ClientFactory(name="Nora Byrne"), ClientFactory(name="N Byrne")
    merge(keep=kept, other=gone, by=owner, facts={})
    page = owner_client.get(reverse("client", args=[kept.pk])).text
    undo = reverse("client-undo", args=[of(kept).get().pk])
    assert f'action="{undo}"' in page
    assert owner_client.post(undo, follow=True).status_code == 200
    gone.refresh_from_db()
    assert gone.merged_into is None
