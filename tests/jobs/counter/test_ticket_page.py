"""The ticket's page and the steps taken from it."""

import io
from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from jobs.pricing.models import PriceRules
from jobs.tickets import actions
from jobs.tickets.models import Photo, State
from studio.shop import clock
from studio.shop.history import of, undoable
from tests import factories
from tests.drafts import draft, hem, paid, received, take_in, trousers
from tests.jobs.planning.pages import words


@pytest.fixture
def ticket(studio, owner):
    return received(studio, owner, trousers(take_in(), hem()), trousers(colour="grey"))


def page(client, ticket) -> str:
    return client.get(ticket.get_absolute_url()).content.decode()


def send(client, name, *args, **data):
    return client.post(reverse(name, args=args), data, follow=True)


def test_the_page_shows_garments_in_the_order_of_work_and_what_it_costs(owner_client, ticket):
    shown = words(page(owner_client, ticket))
    assert shown.index("Take in sides 1 h take off") < shown.index("Hem 30 min take off")
    assert "take off 4.5 cm , total" in shown
    assert "Trousers, navy" in shown
    assert "€78.00" in shown


def test_a_helper_sees_the_work_and_no_money(helper_client, ticket):
    shown = page(helper_client, ticket)
    assert "Take in sides" in shown
    assert "€" not in shown
    assert "78.00" not in shown


def test_each_line_says_what_it_costs_and_the_lines_come_to_the_total(owner_client, studio, owner):
    """Four buttons at 2.50 and a quarter more for the lining are 12.50; 36.50 with the hem."""
    lined = {"name": "lined", "percent": "25", "amount": 0, "minutes_percent": "25", "minutes": 0}
    buttons = hem(name="Button", unit_price=250, quantity=4, surcharges=[lined])
    made = received(studio, owner, trousers(buttons), trousers(hem(unit_price=2400)))
    prices = owner_client.get(made.get_absolute_url()).context["prices"]
    assert sorted(prices.values()) == [1250, 2400]
    shown = words(page(owner_client, made))
    assert "A Button \N{MULTIPLICATION SIGN} 4 €12.50" in shown
    assert "B Hem €24.00" in shown
    assert "Total €36.50" in shown


def test_what_the_minimum_charge_adds_stands_with_the_money(owner_client, studio, owner):
    """A hem at 5.00 is lifted to 12.00 by 7.00."""
    PriceRules.objects.update_or_create(pk=1, defaults={"minimum_charge": 1200})
    made = received(studio, owner, trousers(hem(unit_price=500)))
    shown = words(page(owner_client, made))
    assert "A Hem €5.00 Minimum charge €7.00" in shown
    assert "Total €12.00" in shown


def test_a_number_nobody_gave_is_not_found(owner_client, studio):
    assert owner_client.get("/t/26-9999/").status_code == 404


def test_the_number_is_read_in_small_letters_too(owner_client, ticket):
    assert owner_client.get(f"/t/{ticket.number.lower()}/").status_code == 200


def test_from_received_to_ready_by_pressing_the_next_button(owner_client, ticket):
    assert "Start work" in page(owner_client, ticket)
    send(owner_client, "ticket-start", ticket.number)
    send(owner_client, "ticket-tick-all", ticket.number)
    assert "Ready to collect" in page(owner_client, ticket)
    answer = send(owner_client, "ticket-ready", ticket.number)
    ticket.refresh_from_db()
    assert ticket.state == State.READY
    assert "Hand over" in answer.content.decode()


def test_not_ready_with_open_work_says_what_is_open(owner_client, ticket):
    answer = send(owner_client, "ticket-ready", ticket.number)
    assert "Still open: A Take in sides, A Hem, B Hem." in answer.content.decode()


def test_a_line_is_ticked_unticked_and_excused(owner_client, ticket):
    line = actions.open_lines(ticket)[0]
    send(owner_client, "line-tick", line.pk)
    assert line not in actions.open_lines(ticket)
    send(owner_client, "line-untick", line.pk)
    assert line in actions.open_lines(ticket)
    answer = send(owner_client, "line-why-not", line.pk, why="seam too worn")
    assert "Not done: seam too worn" in answer.content.decode()
    assert line not in actions.open_lines(ticket)


def test_an_empty_reason_is_asked_for(owner_client, ticket):
    line = actions.open_lines(ticket)[0]
    answer = send(owner_client, "line-why-not", line.pk, why="  ")
    assert "Say why it was not done." in answer.content.decode()


def test_the_last_step_is_undone_from_the_page(owner_client, ticket):
    send(owner_client, "ticket-tick-all", ticket.number)
    assert "Undo: Done: all 3 open operations." in page(owner_client, ticket)
    entry = undoable(of(ticket))
    send(owner_client, "ticket-undo", ticket.number, entry=entry.pk)
    assert len(actions.open_lines(ticket)) == 3


def test_a_step_of_another_ticket_is_not_undone_here(owner_client, ticket, studio, owner):
    other = received(studio, owner)
    actions.start(ticket=other, by=owner)
    entry = undoable(of(other))
    answer = send(owner_client, "ticket-undo", ticket.number, entry=entry.pk)
    assert answer.status_code == 404
    other.refresh_from_db()
    assert other.state == State.IN_WORK


@pytest.mark.parametrize("entry", ["", "no number", "999999"])
def test_undoing_nothing_that_is_there_is_not_found(owner_client, ticket, entry):
    assert send(owner_client, "ticket-undo", ticket.number, entry=entry).status_code == 404


def test_another_day_is_promised_with_its_reason(owner_client, ticket):
    day = clock.today() + timedelta(days=10)
    answer = send(
        owner_client, "ticket-promise", ticket.number, day=day, time="12:00", reason="zip is late"
    )
    ticket.refresh_from_db()
    assert clock.local(ticket.promise_at).date() == day
    shown = answer.content.decode()
    assert "Version 2" in shown
    assert "(zip is late)" in shown


@pytest.mark.parametrize(
    ("day", "time", "sentence"),
    [
        (lambda: clock.today() - timedelta(days=1), "12:00", "This day is over."),
        (lambda: "soon", "12:00", "Enter a valid date."),
        (clock.today, "noon", "Enter a valid time."),
    ],
)
def test_a_wrong_day_is_refused_with_a_word(owner_client, ticket, day, time, sentence):
    answer = send(owner_client, "ticket-promise", ticket.number, day=day(), time=time)
    assert sentence in answer.content.decode()
    assert ticket.agreements.count() == 1


def test_cancelling_asks_why_and_keeps_the_number(owner_client, ticket):
    answer = send(owner_client, "ticket-cancel", ticket.number, why="")
    assert "Say why the ticket is cancelled." in answer.content.decode()
    answer = send(owner_client, "ticket-cancel", ticket.number, why="moved away")
    assert "Cancelled: moved away." in answer.content.decode()


@pytest.mark.parametrize(
    "name", ["ticket-start", "ticket-tick-all", "ticket-ready", "ticket-cancel", "ticket-undo"]
)
def test_looking_takes_no_step(owner_client, ticket, name):
    before = of(ticket).count()
    assert owner_client.get(reverse(name, args=[ticket.number])).status_code == 405
    assert of(ticket).count() == before


def picture(kind="JPEG") -> SimpleUploadedFile:
    file = io.BytesIO()
    Image.new("RGB", (320, 240), "teal").save(file, kind)
    return SimpleUploadedFile("trousers.jpg", file.getvalue(), content_type="image/jpeg")


def test_a_photograph_is_added_and_shown_privately(owner_client, client, ticket):
    garment = ticket.garments.first()
    answer = send(owner_client, "garment-photo", garment.pk, picture=picture())
    photo = Photo.objects.get()
    assert photo.get_absolute_url() in answer.content.decode()
    seen = owner_client.get(photo.get_absolute_url())
    assert seen.headers["Content-Type"] == "image/jpeg"
    assert seen.headers["Cache-Control"].startswith("private")
    drawn = Image.open(io.BytesIO(b"".join(seen.streaming_content)))
    assert drawn.size == (320, 240)
    assert client.get(photo.get_absolute_url()).status_code == 302


def test_a_text_that_says_it_is_a_picture_is_refused(owner_client, ticket):
    garment = ticket.garments.first()
    fake = SimpleUploadedFile("list.jpg", b"bread, milk", content_type="image/jpeg")
    answer = send(owner_client, "garment-photo", garment.pk, picture=fake)
    assert "no picture that can be read" in answer.content.decode()
    assert not Photo.objects.exists()


def test_what_people_type_is_shown_and_never_run(owner_client, studio, owner):
    nasty = "<script>alert(1)</script> 👗 \u05e9\u05de\u05dc\u05d4"
    garment = trousers(hem(note=nasty), colour=nasty[:60], description=nasty, condition=nasty)
    ticket = received(studio, owner, garment, note=nasty, event=nasty)
    shown = page(owner_client, ticket)
    assert "<script>alert" not in shown
    assert "&lt;script&gt;alert(1)&lt;/script&gt; 👗 \u05e9\u05de\u05dc\u05d4" in shown


@pytest.mark.parametrize("count", [1, 3])
def test_the_page_asks_the_database_the_same_for_any_number_of_garments(
    owner_client, studio, owner, django_assert_num_queries, count
):
    ticket = received(studio, owner, *[trousers(take_in(), hem()) for _ in range(count)])
    with django_assert_num_queries(18):
        page(owner_client, ticket)


@pytest.mark.parametrize("count", [1, 3])
def test_a_clients_page_shows_tickets_what_is_here_and_what_is_owed(
    owner_client, studio, owner, django_assert_num_queries, count
):
    first = received(studio, owner, trousers(), trousers(colour="red"))
    for _ in range(count - 1):
        actions.receive(client=first.client, draft=draft(), studio=studio, by=owner)
    with django_assert_num_queries(14):
        shown = owner_client.get(reverse("client", args=[first.client.pk])).content.decode()
    assert f"{first.number}-A" in shown
    assert "Trousers, red" in shown
    owed = 4800 + 2400 * (count - 1)
    assert f"€{owed // 100}.00" in shown


def test_a_helper_sees_a_clients_tickets_without_money(helper_client, studio, owner):
    ticket = received(studio, owner)
    shown = helper_client.get(reverse("client", args=[ticket.client.pk])).content.decode()
    assert ticket.number in shown
    assert "€" not in shown
    assert 'id="owed"' not in shown


def next_step(client, ticket) -> str:
    step = client.get(ticket.get_absolute_url()).context["page"].step
    return step.kind if step else ""


def test_the_one_next_step_from_the_counter_to_the_money(owner_client, studio, owner, watch):
    ticket = received(studio, owner, trousers())
    line = ticket.garments.get().lines.get()
    assert next_step(owner_client, ticket) == "print"
    owner_client.get(reverse("ticket-papers", args=[ticket.number]))
    assert next_step(owner_client, ticket) == "start"
    send(owner_client, "clock-start", line=line.pk)
    assert next_step(owner_client, ticket) == "finish"
    watch.shift(60 * 60 * 5)
    # Nobody knows how long a forgotten clock was really sewn by: the strip above asks.
    assert next_step(owner_client, ticket) == ""
    send(owner_client, "clock-stop", minutes=30, done="1")
    assert next_step(owner_client, ticket) == "ready"
    send(owner_client, "ticket-ready", ticket.number)
    ticket.client.phone = "085 555 1222"
    ticket.client.save()
    assert next_step(owner_client, ticket) == "tell"
    watch.shift(24 * 60 * 60)
    assert next_step(owner_client, ticket) == "hand-over"
    ticket.refresh_from_db()
    actions.hand_over(ticket=ticket, garments=ticket.garments.all(), tried_on=[], by=owner)
    assert next_step(owner_client, ticket) == "take"
    paid(studio, owner, ticket, amount=2400)
    assert next_step(owner_client, ticket) == ""


def test_yesterdays_ticket_is_not_printed_first(owner_client, ticket, watch):
    watch.shift(24 * 60 * 60)
    assert next_step(owner_client, ticket) == "start"


@pytest.mark.parametrize(
    ("what", "phone", "step"),
    [
        ("client", "085 555 1222", "ask"),
        ("shoes", "085 555 1222", "ask"),
        ("client", "", "resume"),
        ("part", "085 555 1222", "resume"),
    ],
)
def test_what_waits_is_asked_for_or_resumed(owner_client, studio, owner, what, phone, step):
    client = factories.ClientFactory(phone=phone)
    ticket = received(studio, owner, trousers(), client=client)
    actions.start(ticket=ticket, by=owner)
    factories.WaitFactory(line=ticket.garments.get().lines.get(), what=what)
    assert next_step(owner_client, ticket) == step


def test_work_that_comes_after_a_fitting_waits_for_it(owner_client, studio, owner, watch):
    """Of work that can be begun and work behind a fitting, the first is offered."""
    ticket = received(studio, owner, trousers(take_in(), hem(fitting_first=True)))
    actions.start(ticket=ticket, by=owner)
    assert next_step(owner_client, ticket) == "start"
    actions.tick(line=actions.open_lines(ticket)[0], by=owner)
    assert next_step(owner_client, ticket) == "book"
    starts = clock.now() + timedelta(days=1)
    factories.FittingFactory(ticket=ticket, starts_at=starts)
    assert next_step(owner_client, ticket) == "fitting"
    watch.move_to(starts)
    assert next_step(owner_client, ticket) == "fitted"


def test_a_promise_that_is_past_or_cannot_be_kept_is_said(owner_client, studio, owner, watch):
    ticket = received(studio, owner, trousers())
    assert "t be ready" not in page(owner_client, ticket)
    line = ticket.garments.get().lines.get()
    day = clock.local(ticket.promise_at).date()
    factories.WaitFactory(line=line, expected=day)
    assert "t be ready" in page(owner_client, ticket)
    watch.shift(8 * 24 * 60 * 60)
    assert ">Late</span>" in page(owner_client, ticket)


def test_a_helper_is_told_nothing_of_what_is_owed(helper_client, studio, owner):
    ticket = received(studio, owner, trousers())
    actions.tick_all(ticket=ticket, by=owner)
    actions.hand_over(ticket=ticket, garments=ticket.garments.all(), tried_on=[], by=owner)
    assert next_step(helper_client, ticket) == ""
    assert "to pay" not in page(helper_client, ticket)
