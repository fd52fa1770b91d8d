"""The drop-off page without scripts: one form, every button a submit, nothing typed lost."""

import re
from datetime import date, time
from decimal import Decimal

import pytest
import time_machine

from clients.models import Client
from jobs.billing.models import Payment
from jobs.pricing.models import Operation, WorkOrder
from jobs.tickets.models import Garment, Line, Ticket
from studio.shop import clock
from tests import factories
from tests.jobs.counter.html_form import Counter


@pytest.fixture(autouse=True)
def _friday():
    with time_machine.travel("2026-11-27 10:00Z", tick=False):
        yield


@pytest.fixture
def trousers(studio):
    return factories.GarmentKindFactory(name="Trousers")


@pytest.fixture
def hem(trousers):
    return factories.OperationFactory(
        garment_kind=trousers, name="Hem", price=2400, minutes=30,
        takes_amount=True, usual_basis="total", usual_measure="take_off",
    )  # fmt: skip


@pytest.fixture
def mary(studio):
    return factories.ClientFactory(name="Mary Larkin", phone="086 555 0143")


@pytest.fixture
def counter(owner_client, hem, mary):
    """Mary is chosen, her trousers are to be hemmed."""
    page = Counter(owner_client, f"/drop-off/?client={mary.pk}")
    page.press(f"add-garment:{hem.garment_kind_id}")
    return page.press(f"add-line:0:{hem.pk}")


def the_ticket() -> Ticket:
    return Ticket.objects.get()


def test_a_mere_question_may_be_left_and_nothing_is_offered_before_there_is_work(
    owner_client, hem, mary
):
    page = Counter(owner_client, "/drop-off/")
    page.press(f"add-garment:{hem.garment_kind_id}")
    text = page.response.text
    assert re.search(r'id="bar"[^>]*><b>What is to be done', text)
    page.press(f"add-line:0:{hem.pk}")
    text = page.response.text
    assert re.search(r'id="bar"[^>]*><b class="figure">€24.00.*href="#promise"', text)
    assert 'data-unsaved="asks"' in text
    assert '<a class="btn quiet" href="/">Close</a>' in text
    amount = re.search(r'<input[^>]*name="g0-l0-amount"[^>]*>', text)[0]
    assert 'inputmode="decimal"' in amount
    page.type(g0_l0_amount="4.5").press("enter")
    assert 'data-unsaved="typed"' in page.response.text
    page.type(g0_l0_amount="").press("enter")
    assert 'data-unsaved="asks"' in page.response.text
    page = Counter(owner_client, f"/drop-off/?client={mary.pk}")
    page.press(f"add-garment:{hem.garment_kind_id}")
    assert 'data-unsaved="typed"' in page.response.text


def test_a_hem_for_a_known_client_is_one_ticket(counter, mary, owner):
    counter.type(g0_l0_amount="4,5", g0_colour="navy").press("save")

    ticket = the_ticket()
    assert counter.response.url == f"{ticket.get_absolute_url()}saved/"
    assert (ticket.client, ticket.received_by, ticket.gross) == (mary, owner, 2400)
    garment, line = Garment.objects.get(), Line.objects.get()
    assert (garment.kind_name, garment.colour, garment.letter) == ("Trousers", "navy", "A")
    assert (line.name, line.unit_price, line.minutes_each) == ("Hem", 2400, 30)
    assert (line.amount_mm, line.amount_typed) == (Decimal("45.0000"), "4,5 cm")
    assert (line.basis, line.measure) == ("total", "take_off")
    assert line.tax == {"name": "Repairs", "percent": "13.5", "exempt": False, "sentence": ""}


def test_the_promise_is_the_first_working_day_after_the_usual_time(counter, studio):
    # Seven days from Friday is Friday 4 December, which is closed; so is the weekend after it.
    factories.DayOffFactory(day=date(2026, 12, 4))
    counter = Counter(counter.client)

    assert counter.form.fields["promise_day"] == ["2026-12-07"]
    assert counter.form.fields["promise_time"] == ["17:00"]


def test_what_is_promised_is_kept_in_the_studios_own_time(counter):
    counter.type(promise_day="2026-12-10", promise_time="16:30").press("save")

    assert the_ticket().promise_at == clock.at(date(2026, 12, 10), time(16, 30))


def test_the_box_finds_a_client_and_enter_takes_the_only_one(owner_client, hem, mary):
    factories.ClientFactory(name="Tom Field", phone="087 555 0199")
    counter = Counter(owner_client)
    assert counter.form.focus == ["q"]

    counter.type(q="0143").press("enter")

    assert counter.form.fields["client"] == [str(mary.pk)]
    assert counter.form.focus == [f"add-garment:{hem.garment_kind_id}"]


def test_of_several_clients_one_is_tapped(owner_client, hem, mary):
    other = factories.ClientFactory(name="Tom Larkin", phone="087 555 0199")
    counter = Counter(owner_client).type(q="larkin").press("find")
    assert {f"client:{mary.pk}", f"client:{other.pk}"} < set(counter.form.intents)

    counter.press(f"client:{other.pk}")

    assert counter.form.fields["client"] == [str(other.pk)]


@pytest.mark.postgres
def test_a_new_client_is_made_with_the_ticket(owner_client, hem):
    counter = Counter(owner_client, "/drop-off/?new=0865550143")
    assert counter.form.fields["new_phone"] == ["0865550143"]
    assert counter.form.focus == ["new_name"]
    counter.type(new_name="Ann Reed").press(f"add-garment:{hem.garment_kind_id}")
    counter.press(f"add-line:0:{hem.pk}").press("save")

    client = Client.objects.get()
    assert (client.name, client.phone) == ("Ann Reed", "0865550143")
    assert the_ticket().client == client


def test_a_new_client_with_a_known_phone_is_asked_after_but_not_refused(owner_client, hem, mary):
    counter = Counter(owner_client).type(q="Mary 0865550143").press("new-client")
    assert "Is it one of these?" in counter.text
    assert f"client:{mary.pk}" in counter.form.intents

    counter.press(f"add-garment:{hem.garment_kind_id}").press(f"add-line:0:{hem.pk}").press("save")

    assert the_ticket().client.name == "Mary"


def test_a_likeness_nobody_has_seen_yet_is_asked_about_once(owner_client, hem, mary):
    counter = Counter(owner_client, "/drop-off/?new=Ann 1234")
    counter.press(f"add-garment:{hem.garment_kind_id}").press(f"add-line:0:{hem.pk}")
    counter.type(new_phone="086 555 0143").press("save")
    assert Ticket.objects.count() == 0
    assert "Choose them above, or save again." in counter.text
    assert f"client:{mary.pk}" in counter.form.intents

    counter.press("save")

    assert the_ticket().client.name == "Ann"


def test_the_same_form_twice_is_one_ticket_one_client_and_one_payment(owner_client, hem):
    counter = Counter(owner_client, "/drop-off/?new=Ann 0865550143")
    counter.press(f"add-garment:{hem.garment_kind_id}").press(f"add-line:0:{hem.pk}")
    counter.type(paid="10", method="card")
    twice = {**counter.form.fields, "intent": ["save"]}

    first, second = counter.send(twice).response.url, counter.send(twice).response.url

    assert first == second == f"{the_ticket().get_absolute_url()}saved/"
    assert Client.objects.count() == 1
    payment = Payment.objects.get()
    assert (payment.amount, payment.method, payment.kind) == (1000, "card", "deposit")


def test_several_garments_and_lines_add_up(counter, hem):
    zipper = factories.OperationFactory(
        garment_kind=hem.garment_kind, name="Zip", price=1800, minutes=45,
        work_order=WorkOrder.CLOSURES,
    )  # fmt: skip
    dress = factories.GarmentKindFactory(name="Dress")
    sides = factories.OperationFactory(garment_kind=dress, name="Sides", price=3000, minutes=60)
    counter.press("enter").press(f"add-line:0:{zipper.pk}").press(f"add-garment:{dress.pk}")
    counter.press(f"add-line:1:{sides.pk}").press("more:1:0")
    assert "€102.00 · " in counter.text
    assert "2 garments, 3 h 15" in counter.text
    counter.press("save")

    ticket = the_ticket()
    assert (ticket.gross, ticket.minutes) == (10200, 195)
    assert [(g.letter, g.kind_name) for g in ticket.garments.all()] == [
        ("A", "Trousers"),
        ("B", "Dress"),
    ]
    assert [line.name for line in ticket.garments.first().lines.all()] == ["Zip", "Hem"]


def test_what_is_taken_off_can_be_put_back_with_all_that_was_typed(counter):
    counter.type(g0_l0_amount="4.5", g0_colour="navy", g0_marks=["hole"]).press("remove-garment:0")
    assert "1 garment" not in counter.text
    counter.press("put-back-garment:0").press("remove-line:0:0").press("put-back-line:0:0")

    assert counter.form.fields["g0-l0-amount"] == ["4.5"]
    assert counter.form.fields["g0-colour"] == ["navy"]
    assert counter.form.fields["g0-marks"] == ["hole"]


def test_what_is_taken_off_is_not_on_the_ticket(counter, hem):
    counter.press(f"add-line:0:{hem.pk}").press("remove-line:0:0")
    counter.press(f"add-garment:{hem.garment_kind_id}").press("remove-garment:1").press("save")

    assert the_ticket().garments.count() == 1
    assert Line.objects.count() == 1


def test_condition_washed_and_what_is_left_come_with_the_garment(counter):
    counter.type(
        g0_marks=["mark", "missing button"], g0_condition="left cuff", g0_washed="no",
        g0_things_left="belt, shoes", g0_heel="7", g0_description="wide leg",
    ).press("save")  # fmt: skip

    garment = Garment.objects.get()
    assert garment.condition == "mark; missing button; left cuff"
    assert (garment.washed, garment.things_left) == ("no", "belt, shoes")
    assert (garment.heel_mm, garment.heel_typed) == (Decimal("70.0000"), "7 cm")
    assert garment.description == "wide leg"


def test_a_new_garment_carries_the_other_tax(counter):
    counter.type(g0_worn="new").press("save")

    assert Line.objects.get().tax["name"] == "Standard"


def test_surcharges_and_rush_change_price_and_minutes(counter):
    factories.SurchargeFactory(name="Lined", percent=25, minutes_percent=50)
    # All hours are the owner's, so that today is an earlier day than the honest one.
    factories.PlanRulesFactory(own_percent=100)
    today = clock.today().isoformat()
    counter.press("enter").type(g0_l0_surcharges=["Lined"], rush="on", promise_day=today)
    counter.press("enter")
    assert "Rush, +25 %" in counter.text
    # 24.00 and a quarter of it are 30.00; rush adds a quarter of that.
    assert "Hem €24.00, Lined +25 % €6.00, rush +25 % €7.50" in counter.text
    counter.press("save")

    assert (the_ticket().gross, the_ticket().minutes) == (3750, 45)


def test_a_surcharge_that_the_operation_names_is_said_before_it_is_charged_twice(counter):
    factories.SurchargeFactory(name="Lined", percent=25, minutes_percent=25)
    said = "says lined already"
    assert said not in counter.press("enter").type(g0_l0_surcharges=["Lined"]).press("enter").text
    Operation.objects.filter(name="Hem").update(name="Hem, lined")
    assert "“Hem, lined” says lined already" in counter.press("enter").text


def test_the_usual_price_and_minutes_stand_in_the_empty_fields(counter):
    usual = dict(
        re.findall(r'name="g0-l0-(price|minutes)"[^>]*placeholder="([^"]*)"', counter.text)
    )
    assert usual == {"price": "24.00", "minutes": "30"}


def test_the_owner_can_ask_another_price_and_other_minutes(counter):
    counter.type(g0_l0_price="30.50", g0_l0_minutes="50", g0_l0_note="by hand").press("save")

    line = Line.objects.get()
    assert (line.unit_price, line.minutes_each, line.note) == (3050, 50, "by hand")


def test_work_that_is_not_on_the_list_is_named_and_priced_by_hand(counter):
    counter.press("add-garment:other").type(g1_kind_name="Tent").press("add-line:1:other")
    counter.type(g1_l0_name="Patch the roof", g1_l0_price="12").press("save")

    tent = Garment.objects.get(kind=None)
    line = tent.lines.get()
    assert (tent.kind_name, line.name, line.unit_price) == ("Tent", "Patch the roof", 1200)


def test_discount_and_deposit_are_agreed(counter):
    counter.type(discount_percent="10", deposit="5").press("save")

    ticket = the_ticket()
    assert (ticket.gross, ticket.deposit) == (2160, 500)


def test_same_as_last_time_takes_todays_prices(counter, owner_client, mary, hem):
    counter.type(g0_l0_amount="4.5", g0_colour="navy").press("save")
    hem.price = 2800
    hem.save()

    again = Counter(owner_client, f"/drop-off/?client={mary.pk}").press("again")
    assert again.form.focus == ["save"]
    assert again.form.fields["g0-l0-amount"] == ["4.5 cm"]
    again.press("save")

    newest = Ticket.objects.first()
    assert newest.gross == 2800
    assert newest.garments.get().lines.get().amount_typed == "4.5 cm"
    assert newest.garments.get().colour == ""


def test_same_as_last_time_leaves_out_what_the_list_no_longer_offers(
    counter, owner_client, mary, hem
):
    counter.press("save")
    hem.active = False
    hem.save()

    again = Counter(owner_client, f"/drop-off/?client={mary.pk}").press("again")

    assert not any(name.startswith("g0") for name in again.form.fields)


def test_enter_in_a_complete_form_goes_to_the_save_button(counter):
    counter.type(g0_l0_amount="4.5").press("enter")

    assert counter.form.focus == ["save"]
    assert Ticket.objects.count() == 0


def test_a_changed_field_brings_only_what_it_changes(counter):
    counter.type(g0_l0_quantity="2", g0_l0_amount="four")
    fields = dict(counter.form.fields)
    counter.send(fields, headers={"HX-Request": "true"})

    assert "<form" not in counter.text
    assert 'hx-swap-oob="innerHTML:#bar"' in counter.text
    assert "€48.00 · " in counter.text
    assert "1 garment, 1 h<" in counter.text
    message = '<div hx-swap-oob="innerHTML:#id_g0-l0-amount_said"><ul class="errorlist"'
    assert message in counter.text


def test_a_button_with_scripts_brings_the_form_alone(counter, hem):
    fields = {**counter.form.fields, "intent": [f"add-line:0:{hem.pk}"]}
    counter.send(fields, headers={"HX-Request": "true"})

    assert counter.text.strip().startswith("<form")
    assert "g0-l1-amount" in counter.form.fields


def test_saving_with_scripts_leads_to_the_ticket(counter):
    counter.send({**counter.form.fields, "intent": ["save"]}, headers={"HX-Request": "true"})

    assert counter.response.headers["HX-Redirect"] == f"{the_ticket().get_absolute_url()}saved/"


@pytest.mark.postgres
def test_live_results_are_buttons_of_the_form(owner_client, mary):
    response = owner_client.get("/drop-off/clients/", {"q": "lark"})

    assert f'name="intent" value="client:{mary.pk}"' in response.content.decode()


def test_a_helper_takes_in_at_list_prices_and_sees_none(helper_client, hem, mary):
    factories.SurchargeFactory(name="Lined")
    counter = Counter(helper_client, f"/drop-off/?client={mary.pk}")
    counter.press(f"add-garment:{hem.garment_kind_id}").press(f"add-line:0:{hem.pk}")
    assert "24.00" not in counter.text
    assert "€" not in counter.text
    assert "30 min" in counter.text
    sent = {**counter.form.fields, "g0-l0-price": ["1"], "discount_amount": ["5"], "paid": ["9"]}
    counter.send({**sent, "intent": ["save"]})

    assert the_ticket().gross == 2400
    assert Payment.objects.count() == 0


def test_a_helper_adds_no_work_without_a_price(helper_client, hem, mary):
    counter = Counter(helper_client, f"/drop-off/?client={mary.pk}")
    counter.press(f"add-garment:{hem.garment_kind_id}").press(f"add-line:0:{hem.pk}")
    assert "add-line:0:other" not in counter.form.intents
    counter.send({
        **counter.form.fields, "g0-l0-operation": [""], "g0-l0-name": ["x"], "intent": ["save"],
    })  # fmt: skip

    assert Ticket.objects.count() == 0
    assert "Only the owner can add work that is not on the list." in counter.text


@pytest.mark.parametrize("garments", [1, 3])
def test_the_page_asks_the_database_as_often_for_one_garment_as_for_three(
    counter, hem, garments, django_assert_num_queries
):
    factories.SurchargeFactory.create_batch(garments)
    counter.press("enter")
    for index in range(1, garments):
        counter.press(f"add-garment:{hem.garment_kind_id}")
        counter.press(f"add-line:{index}:{hem.pk}").press(f"add-line:{index}:{hem.pk}")

    # The profile, the session, the user; kinds and operations, two taxes, surcharges, the house
    # rules, the client and their sheets. Then the week in ten, and how long work really took.
    with django_assert_num_queries(23):
        counter.type(g0_l0_amount="4.5").press("enter")
