"""The owner's price list: looked at, edited, put in order, without a ticket ever changing."""

import re
from decimal import Decimal

import pytest
from django.urls import reverse

from jobs.pricing import actions
from jobs.pricing.models import GarmentKind, Operation, PriceRules, Surcharge
from tests.factories import GarmentKindFactory, LineFactory, OperationFactory, SurchargeFactory
from tests.studio.shop.first_run_form import Fields

pytestmark = pytest.mark.django_db

HEM = {
    "name": "Hem", "price": "24,50", "minutes": "30", "work_order": "40",
    "fitting_place": "after", "hang_days": "0",
    "takes_amount": "on",
    "usual_basis": "total", "usual_measure": "take_off", "stitch": "103", "active": "on",
}  # fmt: skip
LINED = {
    "name": "Lined", "percent": "25", "amount": "0", "minutes_percent": "12,5", "minutes": "0",
    "active": "on",
}  # fmt: skip
RULES = {
    "minimum_charge": "9",
    "rush_percent": "33,333",
    "rounding_step": "0.50",
    "deposit_percent": "50",
}


def test_a_new_garment_and_its_first_operation(owner_client):
    owner_client.post(reverse("price-kind-new"), {"name": "Kilt", "active": "on"})
    kilt = GarmentKind.objects.get()
    page = owner_client.post(reverse("price-operation-new", args=[kilt.pk]), HEM, follow=True).text
    assert "“Hem” saved." in page
    hem = Operation.objects.get()
    assert (hem.price, hem.minutes, hem.work_order, hem.stitch) == (2450, 30, 40, "103")
    assert (hem.takes_amount, hem.usual_basis, hem.usual_measure) == (True, "total", "take_off")
    listed = owner_client.get(reverse("prices")).text
    assert "Kilt" in listed
    assert "€24.50" in listed


def test_a_garment_is_given_its_caution_and_loses_it_again(owner_client):
    facts = {"name": "Romper", "active": "on"}
    owner_client.post(reverse("price-kind-new"), facts | {"concern": "child_night"})
    romper = GarmentKind.objects.get()
    assert romper.concern == "child_night"
    page = reverse("price-kind", args=[romper.pk])
    assert '<option value="child_night" selected>' in owner_client.get(page).text
    owner_client.post(page, facts | {"concern": ""})
    romper.refresh_from_db()
    assert romper.concern == ""


def test_prices_in_yen_have_no_decimals(owner_client, studio):
    studio.currency, studio.country = "JPY", "JP"
    studio.save()
    kind = GarmentKindFactory()
    page = reverse("price-operation-new", args=[kind.pk])
    refused = owner_client.post(page, HEM | {"price": "2400.50"}).text
    assert "JPY is written with no decimals." in refused
    owner_client.post(page, HEM | {"price": "2,400"})
    assert Operation.objects.get().price == 2400


@pytest.mark.parametrize(
    ("field", "typed", "message"),
    [
        ("name", "", "This field is required."),
        ("name", "x" * 81, "at most 80 characters"),
        ("name", "Taper", "This garment has an operation of that name already."),
        ("price", "", "This field is required."),
        ("price", "-5", "cannot be negative"),
        ("price", "12.345", "EUR is written with at most 2 decimals."),
        ("price", "a lot", "Write an amount in EUR"),
        ("price", "$ 5", "Write an amount in EUR"),
        ("price", "99999999", "That is more money than a price can be."),
        ("price", "9" * 39, "This amount is too large."),
        ("price", "9" * 41, "at most 40 characters"),
        ("minutes", "", "This field is required."),
        ("minutes", "-1", "greater than or equal to 0"),
        ("minutes", "6001", "less than or equal to 6000"),
        ("minutes", "half an hour", "Enter a whole number."),
        ("work_order", "99", "not one of the available choices"),
        ("usual_basis", "perhaps", "not one of the available choices"),
        ("stitch", "999", "An ISO 4915 stitch is 101 to 699."),
        ("stitch", "30", "An ISO 4915 stitch is 101 to 699."),
    ],
)
def test_what_is_wrong_with_an_operation_is_said_and_kept(owner_client, field, typed, message):
    taper = OperationFactory(name="Taper")
    page = reverse("price-operation-new", args=[taper.garment_kind_id])
    response = owner_client.post(page, HEM | {field: typed})
    assert message in response.text
    if field in {"name", "price", "minutes", "stitch"}:
        assert f'value="{typed}"' in response.text or typed == ""
    assert Operation.objects.count() == 1


def test_the_same_operation_may_stand_on_two_garments(owner_client):
    OperationFactory(name="Hem")
    owner_client.post(reverse("price-operation-new", args=[GarmentKindFactory().pk]), HEM)
    assert Operation.objects.filter(name="Hem").count() == 2


def test_an_operation_is_shown_as_it_was_saved_and_saved_as_it_is_shown(owner_client):
    hem = OperationFactory(name="Hem", price=2450, minutes=25)
    page = reverse("price-operation", args=[hem.pk])
    assert 'value="24.50"' in owner_client.get(page).text
    owner_client.post(page, HEM | {"price": "24.50", "minutes": "25"})
    hem.refresh_from_db()
    assert (hem.price, hem.minutes) == (2450, 25)


def test_script_and_foreign_letters_stay_letters(owner_client):
    hostile = "<script>alert(1)</script> 裾上げ 🪡"
    owner_client.post(reverse("price-kind-new"), {"name": hostile, "active": "on"})
    assert GarmentKind.objects.get().name == hostile
    page = owner_client.get(reverse("prices")).text
    assert "裾上げ 🪡" in page
    assert "<script>alert" not in page


@pytest.mark.parametrize(
    ("field", "typed", "message"),
    [
        ("name", "Beaded", "already exists"),
        ("percent", "-1", "greater than or equal to 0"),
        ("percent", "1000", "no more than 3 digits before the decimal point"),
        ("percent", "a quarter", "Enter a number."),
        ("amount", "-1", "cannot be negative"),
        ("minutes_percent", "1.2345", "no more than 3 decimal places"),
        ("minutes", "-5", "greater than or equal to 0"),
        ("minutes", "99999999999999999999", "less than or equal to 6000"),
    ],
)
def test_what_is_wrong_with_a_surcharge(owner_client, field, typed, message):
    SurchargeFactory(name="Beaded")
    response = owner_client.post(reverse("price-surcharge-new"), LINED | {field: typed})
    assert message in response.text
    assert Surcharge.objects.count() == 1


@pytest.mark.postgres
def test_a_surcharge_is_added_and_changed(owner_client):
    owner_client.post(reverse("price-surcharge-new"), LINED)
    lined = Surcharge.objects.get()
    assert (lined.percent, lined.minutes_percent) == (Decimal(25), Decimal("12.5"))
    page = reverse("price-surcharge", args=[lined.pk])
    assert 'value="12.5"' in owner_client.get(page).text
    owner_client.post(page, LINED | {"amount": "3", "minutes": "10"})
    lined.refresh_from_db()
    assert (lined.amount, lined.minutes) == (300, 10)


def test_the_house_rules(owner_client):
    owner_client.post(reverse("price-rules"), RULES)
    rules = PriceRules.load()
    assert (rules.minimum_charge, rules.rounding_step) == (900, 50)
    assert (rules.rush_percent, rules.deposit_percent) == (Decimal("33.333"), Decimal(50))
    page = owner_client.get(reverse("prices")).text
    assert "+33.333 %" in page
    assert "€9.00" in page


@pytest.mark.parametrize(
    ("field", "typed", "message"),
    [
        ("minimum_charge", "", "This field is required."),
        ("rush_percent", "soon", "Enter a number."),
        ("rounding_step", "0", "The step is at least the smallest coin."),
        ("rounding_step", "0.001", "EUR is written with at most 2 decimals."),
        ("rounding_step", "99999999", "That is more money than a price can be."),
        ("deposit_percent", "101", "A deposit is at most the whole price."),
    ],
)
def test_house_rules_that_cannot_be(owner_client, field, typed, message):
    response = owner_client.post(reverse("price-rules"), RULES | {field: typed})
    assert message in response.text
    assert PriceRules.objects.count() == 0


def names(kind: GarmentKind) -> list[str]:
    return [operation.name for operation in kind.operations.all()]


def test_up_and_down_by_buttons_that_say_whom_they_move(owner_client):
    kind = GarmentKindFactory()
    rows = [OperationFactory(garment_kind=kind, name=name) for name in ("A", "B", "C")]
    page = owner_client.get(reverse("price-operation", args=[rows[1].pk])).text
    assert 'Up<span class="visually-hidden">: B</span>' in page
    moved = owner_client.post(reverse("price-operation-move", args=[rows[2].pk]), {"way": "up"})
    assert moved["Location"].endswith(f"#operation-{rows[2].pk}")
    assert f'id="operation-{rows[2].pk}"' in page
    assert names(kind) == ["A", "C", "B"]
    owner_client.post(reverse("price-operation-move", args=[rows[0].pk]), {"way": "down"})
    assert names(kind) == ["C", "A", "B"]
    owner_client.post(reverse("price-operation-move", args=[rows[2].pk]), {"way": "up"})
    assert names(kind) == ["C", "A", "B"]


def test_a_row_that_is_carried_moves_by_as_many_places_as_it_went(owner_client):
    kind = GarmentKindFactory()
    rows = [OperationFactory(garment_kind=kind, name=name) for name in "ABCD"]

    def carry(row: Operation, places: str) -> list[str]:
        owner_client.post(reverse("price-operation-move", args=[row.pk]), {"places": places})
        return names(kind)

    assert carry(rows[0], "2") == ["B", "C", "A", "D"]
    assert carry(rows[3], "-3") == ["D", "B", "C", "A"]
    for nowhere in ("9", "-9", "lots", "99999999"):
        assert carry(rows[1], nowhere) == ["D", "B", "C", "A"]


def test_garments_and_surcharges_move_among_their_own(owner_client):
    first, second = GarmentKindFactory(name="A"), GarmentKindFactory(name="B")
    owner_client.post(reverse("price-kind-move", args=[first.pk]), {"way": "down"})
    assert list(GarmentKind.objects.all()) == [second, first]
    first, second = SurchargeFactory(name="A"), SurchargeFactory(name="B")
    owner_client.post(reverse("price-surcharge-move", args=[second.pk]), {"way": "up"})
    assert list(Surcharge.objects.all()) == [second, first]


def test_what_is_new_comes_last(owner):
    kind = GarmentKindFactory(position=4)
    OperationFactory(garment_kind=kind, name="Z", position=7)
    actions.save_entry(entry=Operation(garment_kind=kind, name="A", price=100, minutes=5), by=owner)
    assert names(kind) == ["Z", "A"]


def test_what_no_ticket_names_is_removed(owner_client):
    hem = OperationFactory()
    owner_client.post(reverse("price-operation-remove", args=[hem.pk]))
    assert Operation.objects.count() == 0


def test_what_a_ticket_names_is_only_no_longer_offered_and_the_ticket_stays(owner_client):
    hem = OperationFactory(name="Hem", price=2400)
    line = LineFactory(operation=hem, name="Hem", unit_price=2400)
    page = owner_client.post(reverse("price-operation-remove", args=[hem.pk]), follow=True).text
    assert "no longer offered; tickets still name it" in page
    hem.refresh_from_db()
    assert not hem.active
    line.refresh_from_db()
    assert (line.name, line.unit_price, line.operation) == ("Hem", 2400, hem)


def test_a_garment_goes_with_its_operations_or_stays_with_all_of_them(owner_client):
    kind = GarmentKindFactory()
    hem, taper = OperationFactory(garment_kind=kind), OperationFactory(garment_kind=kind)
    line = LineFactory(operation=taper)
    owner_client.post(reverse("price-kind-remove", args=[kind.pk]))
    kind.refresh_from_db()
    assert not kind.active
    assert set(kind.operations.all()) == {hem, taper}
    line.garment.lines.all().delete()
    owner_client.post(reverse("price-kind-remove", args=[kind.pk]))
    assert GarmentKind.objects.count() == Operation.objects.count() == 0


def test_editing_the_list_changes_no_ticket(owner_client, owner):
    hem = OperationFactory(name="Hem", price=2400, minutes=30)
    line = LineFactory(operation=hem, name="Hem", unit_price=2400, minutes_each=30)
    before = type(line).objects.values().get()
    page = reverse("price-operation", args=[hem.pk])
    owner_client.post(page, HEM | {"name": "Hem by hand", "price": "60", "minutes": "90"})
    actions.recalculate_prices(hour=9000, currency="EUR", by=owner)
    hem.refresh_from_db()
    assert hem.name == "Hem by hand"
    assert type(line).objects.values().get() == before


def test_a_helper_sees_operations_and_minutes_but_no_price(helper_client):
    OperationFactory(name="Hem", price=2497, minutes=35)
    OperationFactory(name="Gone", active=False)
    SurchargeFactory(name="Lined", percent=Decimal(27), amount=333, minutes_percent=Decimal(30))
    page = helper_client.get(reverse("prices")).text
    assert "35 min" in page
    assert "minutes </span>+30 %" in page
    for hidden in ("24.97", "€", "27 %", "3.33", "Gone", "Minimum charge", "data-open", "Add"):
        assert hidden not in page


def test_the_counter_is_offered_what_is_active_in_order():
    late, early = GarmentKindFactory(position=2), GarmentKindFactory(position=1)
    GarmentKindFactory(active=False)
    hem = OperationFactory(garment_kind=early, position=2)
    zipper = OperationFactory(garment_kind=early, position=1)
    OperationFactory(garment_kind=early, active=False)
    assert list(GarmentKind.objects.on_offer()) == [early, late]
    assert list(GarmentKind.objects.on_offer()[0].operations.all()) == [zipper, hem]


@pytest.mark.parametrize("rows", [1, 3])
def test_the_counters_list_is_two_questions_to_the_database(rows, django_assert_num_queries):
    OperationFactory.create_batch(rows)
    with django_assert_num_queries(2):
        for kind in GarmentKind.objects.on_offer():
            assert [operation.garment_kind for operation in kind.operations.all()] == [kind]


@pytest.mark.parametrize("rows", [1, 3])
def test_the_list_asks_the_database_eight_times(owner_client, rows, django_assert_num_queries):
    OperationFactory.create_batch(rows)
    SurchargeFactory.create_batch(rows)
    with django_assert_num_queries(8):
        owner_client.get(reverse("prices"))


@pytest.mark.parametrize("rows", [1, 3])
def test_a_garments_page_asks_the_database_five_times(
    owner_client, rows, django_assert_num_queries
):
    kind = GarmentKindFactory()
    OperationFactory.create_batch(rows, garment_kind=kind)
    with django_assert_num_queries(5):
        owner_client.get(reverse("price-kind", args=[kind.pk]))


@pytest.mark.parametrize("rows", [1, 3])
def test_an_open_row_asks_the_database_eleven_times(owner_client, rows, django_assert_num_queries):
    row = OperationFactory.create_batch(rows)[0]
    SurchargeFactory.create_batch(rows)
    with django_assert_num_queries(11):
        owner_client.get(reverse("price-operation", args=[row.pk]))


def test_a_row_opens_in_its_place_on_the_whole_list(owner_client):
    kilt = GarmentKindFactory(name="Kilt")
    hem = OperationFactory(garment_kind=kilt, name="Hem", price=2400, minutes=40)
    OperationFactory(garment_kind=kilt, name="Taper")
    page = owner_client.get(reverse("price-operation", args=[hem.pk])).text
    assert page.count('<tr class="open"') == 1
    assert page.index("Kilt") < page.index('value="24.00"') < page.index("Taper")
    # 24.00 in 40 minutes is 36.00 in 60.
    assert "€36.00 an hour." in page
    alone = owner_client.get(
        reverse("price-operation", args=[hem.pk]), headers={"hx-request": "true"}
    )
    assert alone.text.strip().startswith('<tr class="open"')
    assert "Taper" not in alone.text
    new = owner_client.get(reverse("price-operation-new", args=[kilt.pk])).text
    assert new.index("Taper") < new.index('id="operation-new"')


def test_what_a_row_refused_is_said_above_the_whole_list(owner_client):
    hem = OperationFactory(name="Hem", price=2400)
    OperationFactory(name="Taper")
    page = owner_client.post(
        reverse("price-operation", args=[hem.pk]), HEM | {"price": "much"}
    ).text
    assert "<title>Error: " in page
    assert 'href="#id_price"' in page
    assert "Taper" in page
    assert 'value="much"' in page
    # Sent from a list of found rows, it stands among these, and goes back to them.
    back = f"{reverse('prices')}?q=ta"
    facts = HEM | {"price": "much", "back": back}
    page = owner_client.post(reverse("price-operation", args=[hem.pk]), facts).text
    assert [words.split()[-1] for words in rows_shown(page)] == ["taper"]
    assert page.count('<tr class="open"') == 1
    assert Fields.of(page)["back"] == back


def test_saved_the_list_comes_back_as_it_was_and_the_notice_takes_it_back(owner_client):
    hem = OperationFactory(name="Hem", price=2400, minutes=30)
    back = f"{reverse('prices')}?q=hem#operation-{hem.pk}"
    answer = owner_client.post(
        reverse("price-operation", args=[hem.pk]), HEM | {"price": "26", "back": back}
    )
    assert answer["Location"] == back
    page = owner_client.get(answer["Location"]).text
    undo = Fields.of(page[page.index('class="said"') :])
    undone = owner_client.post(reverse("price-undo"), undo)
    assert undone["Location"] == back
    hem.refresh_from_db()
    assert hem.price == 2400
    elsewhere = HEM | {"back": "https://elsewhere.example/"}
    answer = owner_client.post(reverse("price-operation", args=[hem.pk]), elsewhere)
    assert answer["Location"] == f"{reverse('prices')}#operation-{hem.pk}"


def rows_shown(page: str) -> list[str]:
    rows = re.findall(r'<tr id="operation-\d+" data-words="([^"]*)"( hidden)?>', page)
    return [words.strip() for words, hidden in rows if not hidden]


@pytest.mark.parametrize(
    ("typed", "expected"),
    [
        ("jeans hem", ["jeans hem", "jeans hem original edge kept"]),
        ("JE, Hem", ["jeans hem", "jeans hem original edge kept"]),
        ("hem", ["jeans hem", "jeans hem original edge kept", "skirt hem"]),
        ("kept edge", ["jeans hem original edge kept"]),
        ("em", []),
        ("", ["jeans hem", "jeans hem original edge kept", "jeans zip", "skirt hem"]),
    ],
)
def test_work_is_found_by_the_beginnings_of_its_words(owner_client, typed, expected):
    jeans, skirt = GarmentKindFactory(name="Jeans"), GarmentKindFactory(name="Skirt")
    for kind, name in (
        (jeans, "Hem"),
        (jeans, "Hem, original edge kept"),
        (jeans, "Zip"),
        (skirt, "Hem"),
    ):
        OperationFactory(garment_kind=kind, name=name)
    assert rows_shown(owner_client.get(reverse("prices"), {"q": typed}).text) == expected
    only = owner_client.get(reverse("prices"), {"q": typed, "only": skirt.pk}).text
    assert rows_shown(only) == [words for words in expected if words.startswith("skirt")]


def test_all_garments_but_the_first_are_shut_drawers_until_something_is_found(owner_client):
    """Without a script each heading leads to the list of its garment alone, which is open."""
    first, second = GarmentKindFactory(position=1), GarmentKindFactory(position=2)
    for kind in (first, second):
        OperationFactory(garment_kind=kind, name="Hem")
    page = owner_client.get(reverse("prices")).text
    assert f'<tbody id="garmentkind-{first.pk}" data-section' in page
    assert f'<tbody id="garmentkind-{second.pk}" class="shut"' in page
    assert f'href="?only={second.pk}" data-fold' in page
    assert '<table class="table prices">' in page
    for asked in ({"q": "hem"}, {"only": second.pk}):
        page = owner_client.get(reverse("prices"), asked).text
        assert '<table class="table prices found">' in page


def test_an_empty_list_is_filled_from_the_owners_hour(owner_client):
    page = owner_client.get(reverse("prices")).text
    assert "Start with a list of common practice" in page
    assert page.count('class="btn main') == 1
    assert 'value="36.00"' in owner_client.get(reverse("price-start")).text
    for wrong, message in (("0", "An hour costs something."), ("much", "Write an amount in EUR")):
        assert message in owner_client.post(reverse("price-start"), {"hour": wrong}).text
    owner_client.post(reverse("price-start"), {"hour": "60"})
    assert Operation.objects.get(garment_kind__name="Trousers", name="Hem").price == 2000


def test_a_full_list_gets_new_prices_from_the_hour(owner_client):
    hem = OperationFactory(minutes=30, price=1)
    assert "Every price in the list is replaced" in owner_client.get(reverse("price-start")).text
    owner_client.post(reverse("price-start"), {"hour": "60"})
    hem.refresh_from_db()
    assert hem.price == 3000
    assert Operation.objects.count() == 1


def test_what_was_changed_is_told_and_taken_back(owner_client):
    hem = OperationFactory(garment_kind=GarmentKindFactory(name="Kilt"), name="Hem", price=2400)
    page = reverse("price-operation", args=[hem.pk])
    facts = {**HEM, "name": "Hem", "price": "60", "minutes": hem.minutes}
    owner_client.post(page, facts)
    hem.refresh_from_db()
    assert hem.price == 6000
    changes = owner_client.get(reverse("price-changes"))
    assert "Kilt: Hem, changed: price" in changes.text
    entry = changes.context["latest"]
    answer = owner_client.post(reverse("price-undo"), {"entry": entry.pk}, follow=True)
    assert "Undone." in answer.text
    assert answer.context["latest"] is None
    hem.refresh_from_db()
    assert hem.price == 2400


def test_what_was_changed_since_is_not_taken_back(owner_client, owner):
    hem = OperationFactory(price=2400)
    for price in (2600, 2800):
        hem.price = price
        actions.save_entry(entry=hem, by=owner)
    first = owner_client.get(reverse("price-changes")).context["page"][1]
    answer = owner_client.post(reverse("price-undo"), {"entry": first.pk}, follow=True)
    assert "changed since" in answer.text
    hem.refresh_from_db()
    assert hem.price == 2800


@pytest.mark.parametrize("more", [1, 3])
def test_queries_for_the_changes_do_not_grow(more, owner_client, django_assert_num_queries):
    for _ in range(more):
        hem = OperationFactory()
        owner_client.post(reverse("price-operation-remove", args=[hem.pk]))
    with django_assert_num_queries(5):
        owner_client.get(reverse("price-changes"))
