"""Wrong, absurd and hostile input: a message beside the field, nothing typed lost, nothing run."""

from datetime import date
from html import unescape

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile

from jobs.tickets.models import Photo, Ticket
from studio.shop.models import Profile
from tests import factories
from tests.jobs.counter.html_form import Counter
from tests.studio.shop.test_pictures import drawn, png_header, upload
from tests.thorough import thinned

SCRIPT = '<script>alert("x")</script>'
RTL = "مريم البحر"
EMOJI = "🧵👗"


@pytest.fixture(autouse=True)
def _friday():
    with time_machine.travel("2026-11-27 10:00Z", tick=False):
        yield


@pytest.fixture
def hem(studio):
    kind = factories.GarmentKindFactory(name="Trousers")
    return factories.OperationFactory(garment_kind=kind, name="Hem", takes_amount=True)


@pytest.fixture
def counter(owner_client, hem):
    """A client is chosen and a hem added, to be measured later."""
    mary = factories.ClientFactory(name="Mary Larkin")
    page = Counter(owner_client, f"/drop-off/?client={mary.pk}")
    page.put(hem)
    return page.type(g0_l0_amount="", g0_l0_measure_later="on")


def refused(counter: Counter, field: str, message: str) -> None:
    """The message stands beside the field and in the summary, which leads to it."""
    assert Ticket.objects.count() == 0, field
    page = unescape(counter.text)
    beside = page.split(f'id="id_{field}_said">')[1].split("</div>")[0]
    assert message in beside
    summary = page.split('role="alert"')[1].split("</section>")[0]
    assert message in summary
    assert f'href="#id_{field}' in summary


WRONG = [
    ("g0_l0_amount", "four", "Write one number and one unit"),
    ("g0_l0_amount", "-4", "Write a length such as"),
    ("g0_l0_amount", "0", "A length is more than nothing"),
    ("g0_l0_amount", "99999999 cm", "A length is at most 10 metres"),
    ("g0_l0_amount", "12.0000001", "finest"),
    ("g0_l0_quantity", "two", "Write a whole number"),
    ("g0_l0_quantity", "0", "greater than or equal to 1"),
    ("g0_l0_quantity", "-3", "greater than or equal to 1"),
    ("g0_l0_quantity", "9" * 300, "less than or equal to 99"),
    ("g0_l0_price", "cheap", "Write"),
    ("g0_l0_price", "9" * 30, "This amount is too large"),
    ("g0_l0_minutes", "soon", "Write whole minutes"),
    ("g0_l0_minutes", "100000", "less than or equal to 6000"),
    ("g0_heel", "high", "Write one number and one unit"),
    ("promise_day", "2026-11-26", "This day is over."),
    ("promise_day", "2099-01-01", "more than two years away"),
    ("promise_day", "soon", "Enter a valid date."),
    ("promise_day", "", "Say on which day it will be ready."),
    ("promise_time", "25:99", "Enter a valid time."),
    ("promise_time", "", "Say at what time it will be ready."),
    ("wanted_by", "2020-01-01", "This day is over."),
    ("discount_percent", "101", "less than or equal to 100"),
    ("discount_percent", "NaN", "Enter a number."),
    ("deposit", "-5", "This amount cannot be negative."),
    ("paid", "500", "This is more than the work costs."),
    ("g0_colour", "x" * 61, "at most 60 characters"),
    ("event", "x" * 121, "at most 120 characters"),
    ("g0_description", "a\0b", "Null characters are not allowed."),
]


def test_a_wrong_entry_gets_a_message_and_is_kept(counter):
    counter.type(g0_l0_measure="take_off", g0_l0_basis="total", g0_colour="navy")
    right = counter.type(method="cash").form.fields
    for field, typed, message in WRONG:
        counter.form.fields = dict(right)
        counter.type(**{field: typed}).press("save")

        name = field.replace("g0_l0_", "g0-l0-").replace("g0_", "g0-")
        refused(counter, name, message)
        assert counter.form.fields[name] == [typed]
        assert counter.form.focus == [f"{name}_other" if name == "g0-colour" else name]
        if name != "g0-colour":
            assert counter.form.fields["g0-colour"] == ["navy"]


def test_a_time_that_is_over_today_is_refused(counter):
    counter.type(promise_day="2026-11-27", promise_time="09:00").press("save")

    refused(counter, "promise_time", "This time is over.")


def test_an_amount_that_can_be_read_two_ways_is_refused_beside_the_field(counter):
    counter.type(g0_l0_amount="2").press("save")
    refused(counter, "g0-l0-measure", "Say whether this is finished, take off or let out.")

    counter.type(g0_l0_measure="take_off").press("save")
    refused(counter, "g0-l0-basis", "Say whether this is in total or on each side.")

    counter.type(g0_l0_basis="each").press("save")
    assert Ticket.objects.count() == 1


def test_a_percentage_and_an_amount_off_are_not_both_taken(counter):
    counter.type(discount_percent="10", discount_amount="5").press("save")

    refused(counter, "discount_amount", "Give a percentage or an amount off, not both.")


def test_more_off_than_the_work_costs_is_refused(counter):
    counter.type(discount_amount="500").press("save")

    assert Ticket.objects.count() == 0
    assert "The discount is more than the work costs." in counter.text


def test_saving_nothing_says_all_that_is_missing(owner_client, hem):
    counter = Counter(owner_client)
    counter.send({**counter.form.fields, "intent": ["save"]})

    assert "2 things need a look" in counter.text
    assert "Choose a client, or make a new one." in counter.text
    assert "Add what was brought." in counter.text
    assert counter.form.focus == ["q"]


def test_a_garment_without_work_is_asked_about(counter, hem):
    counter.press(f"add-garment:{hem.garment_kind_id}").press("save")

    assert Ticket.objects.count() == 0
    assert "Say what is to be done." in counter.text
    assert counter.form.focus == [f"add-line:1:{hem.pk}"]


def test_work_to_order_needs_a_name_and_a_price(counter):
    counter.press("add-line:0:other").press("save")

    refused(counter, "g0-l1-name", "Say what is to be done.")
    refused(counter, "g0-l1-price", "Say what it costs.")


def test_a_new_client_needs_a_name(owner_client, hem):
    counter = Counter(owner_client, "/drop-off/?new=0865550143")
    counter.put(hem).press("save")

    refused(counter, "new_name", "Write the client's name.")
    assert counter.form.fields["new_phone"] == ["0865550143"]


@pytest.mark.parametrize("words", [SCRIPT, f'{RTL} {EMOJI} O\'Hara & "Söhne" <b>'])
def test_whatever_is_typed_is_words_and_nothing_else(owner_client, hem, words):
    counter = Counter(owner_client).type(q=words).press("new-client")
    counter.type(new_phone="1").press(f"add-garment:{hem.garment_kind_id}")
    counter.press("add-garment:other").type(g1_kind_name=words).press("add-line:1:other")
    counter.press(f"add-line:0:{hem.pk}").type(
        g0_colour=words, g0_description=words, g0_condition=words, g0_things_left=words,
        g0_l0_note=words, event=words, note=words, g1_l0_name=words, g1_l0_price="1",
        g0_l0_amount=words,
    )  # fmt: skip
    counter.press("save")
    assert SCRIPT not in counter.text
    assert counter.form.fields["g0-colour"] == counter.form.fields["note"] == [words]
    counter.type(g0_l0_amount="", g0_l0_measure_later="on").press("save")

    ticket = Ticket.objects.get()
    assert (ticket.event, ticket.note, ticket.client.name) == (words, words, words)
    assert [garment.kind_name for garment in ticket.garments.all()] == ["Trousers", words]


NO_BUTTONS = [
    "", "nonsense", "add-line", "add-line:9:9", "add-line:x:y", "add-garment:", "more:0:7",
    "remove-garment:-1", "remove-photo:0:x", "client:", "client:999999999999999999999999",
    "client:1", "again", "put-back-line:0:0", SCRIPT, "add-garment:²",
]  # fmt: skip


def test_a_button_that_is_not_there_changes_nothing(owner_client, hem):
    counter = Counter(owner_client).press("add-garment:other").type(g0_kind_name="Tent")
    typed = counter.form.fields
    for intent in NO_BUTTONS:
        counter.send({**typed, "intent": [intent]})

        assert counter.response.status_code == 200, intent
        assert counter.form.fields["g0-kind_name"] == ["Tent"], intent
        assert not any(name.startswith("g1") for name in counter.form.fields), intent


@pytest.mark.parametrize(
    "key",
    thinned(["", "x", "0" * 400, "00000000-0000-0000-0000-00000000000g"], {"", "x"}.__contains__),
)
def test_a_spoilt_key_is_given_anew(counter, key):
    counter.type(form_key=key).press("enter")
    (fresh,) = counter.form.fields["form_key"]
    assert fresh != key
    counter.press("save")

    assert str(Ticket.objects.get().form_key) == fresh


def test_a_closed_day_is_pointed_out_and_allowed(counter):
    factories.DayOffFactory(day=date(2026, 12, 8))
    counter.type(promise_day="2026-12-08", wanted_by="2026-12-07").press("enter")
    assert "The studio is closed on the day of the promise." in counter.text
    assert "Ready by is later than it is wanted." in counter.text

    counter.press("save")

    assert Ticket.objects.count() == 1


def test_tax_that_is_not_set_up_is_said_before_saving(counter):
    Profile.objects.update(worn_tax=None)
    counter.press("save")

    assert Ticket.objects.count() == 0
    assert "Choose the tax on worn garments under Studio, Taxes." in counter.text


def test_an_operation_taken_off_the_list_meanwhile_is_still_done(counter, hem):
    hem.active = False
    hem.save()
    counter.press("save")

    assert Ticket.objects.get().gross == hem.price


def test_a_photograph_is_kept_at_once_whatever_else_is_wrong(counter):
    counter.type(g0_l0_amount="four").press("save", g0_camera=upload(drawn("JPEG")))
    photo = Photo.objects.get()
    assert counter.form.fields["g0-photos"] == [str(photo.pk)]
    assert f'src="/photos/{photo.pk}/"' in counter.text

    counter.type(g0_l0_amount="").press("save")

    photo.refresh_from_db()
    assert photo.garment.ticket == Ticket.objects.get()


def test_several_photographs_at_once_and_one_removed(counter):
    counter.press("enter", g0_camera=[upload(drawn("JPEG")), upload(drawn("PNG"), "b.png")])
    first, second = Photo.objects.all()
    counter.press(f"remove-photo:0:{first.pk}").press("save")

    assert [photo.pk for photo in Ticket.objects.get().garments.get().photos.all()] == [second.pk]


def test_a_photograph_of_another_form_is_not_taken_along(counter):
    other = factories.PhotoFactory(garment=None)
    counter.press("enter")
    counter.form.fields["g0-photos"] = [str(other.pk), "x", "9" * 30]
    counter.press("save")

    assert Ticket.objects.get().garments.get().photos.count() == 0


def test_a_file_that_is_no_picture_gets_a_clear_answer(counter):
    counter.type(g0_colour="navy")
    counter.press("save", g0_camera=SimpleUploadedFile("dress.jpg", b"not a picture at all"))

    assert Ticket.objects.count() == 0
    assert "dress.jpg: This is no picture that can be read." in counter.text
    assert counter.form.fields["g0-colour"] == ["navy"]


def test_a_picture_of_sixty_megapixels_gets_a_clear_answer(counter):
    counter.press("save", g0_camera=upload(png_header(10_000, 6_000), "huge.png"))

    assert Ticket.objects.count() == 0
    assert "huge.png: This picture has over 50 million pixels." in counter.text


def test_while_a_field_changes_a_photograph_comes_back_as_a_thumbnail(counter):
    live = {"HX-Request": "true"}
    counter.send(counter.form.fields, headers=live, g0_camera=upload(drawn("JPEG")))

    pictures = counter.text.split('innerHTML:#g0-pictures">')[1]
    assert f'name="g0-photos" value="{Photo.objects.get().pk}"' in pictures
