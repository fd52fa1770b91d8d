"""Numbered marks on photographs: where they go, who may put them, and what paper shows of them."""

from datetime import timedelta

import pytest
import time_machine
from django.urls import reverse

from jobs.tickets import actions
from jobs.tickets.actions.lock import TicketError
from jobs.tickets.actions.photographs import MOST_MARKS, place_mark, remove_mark
from jobs.tickets.models import Mark
from jobs.tickets.queries import marked_photo, marked_photos
from studio.shop import clock
from tests.drafts import received, trousers
from tests.factories import MarkFactory, PhotoFactory
from tests.histories import sentences


@pytest.fixture
def ticket(studio, owner):
    return received(studio, owner, trousers())


@pytest.fixture
def photo(ticket):
    """As wide as 80 and as high as 60."""
    return PhotoFactory(garment=ticket.garments.get())


@pytest.fixture
def put(photo, owner):
    def mark(words="loose bead", across=250, down=500) -> Mark:
        return place_mark(photo=photo, across=across, down=down, words=words, by=owner)

    return mark


def send(client, photo, **typed):
    names = {"x": "spot.x", "y": "spot.y"}
    data = {names.get(name, name): value for name, value in typed.items()}
    return client.post(reverse("photo-marks", args=[photo.pk]), data)


def test_a_mark_is_put_once_and_told_in_the_history(put, photo, ticket):
    assert put() == put()
    assert sentences(ticket)[0] == "Mark 1 on a photograph of A: loose bead."
    (spot,) = marked_photo(photo).spots
    # A drawing of 1000 by 750 units over 80 by 60 pixels.
    assert (spot.number, spot.x, spot.y, spot.words) == (1, 250, 375, "loose bead")


@pytest.mark.parametrize(
    ("place", "says"),
    [
        ({"across": 1001}, "outside the picture"),
        ({"across": -1}, "outside the picture"),
        ({"down": 1001}, "outside the picture"),
        ({"down": -1}, "outside the picture"),
        ({"words": "  "}, "Say in a few words"),
    ],
)
def test_a_mark_outside_the_picture_or_without_words_is_refused(put, place, says):
    with pytest.raises(TicketError, match=says):
        put(**place)
    assert not Mark.objects.exists()


def test_the_corners_are_on_the_picture(put):
    assert put(across=0, down=0) != put(across=1000, down=1000)


def test_a_number_is_never_given_twice(put, photo, owner):
    first, _ = put("stain"), put("hole")
    for _ in range(2):
        remove_mark(mark=first, by=owner)
    put("pin")
    assert [(spot.number, spot.words) for spot in marked_photo(photo).spots] == [
        (2, "hole"),
        (3, "pin"),
    ]


def test_what_stood_then_is_still_known(put, photo, ticket, owner):
    first = put("stain")
    then = clock.now()
    with time_machine.travel(then + timedelta(minutes=1)):
        remove_mark(mark=first, by=owner)
        put("hole")
    (old,) = marked_photos(ticket, then)
    (new,) = marked_photos(ticket)
    assert [spot.words for spot in old.spots] == ["stain"]
    assert [spot.words for spot in new.spots] == ["hole"]


def test_nobody_can_tell_a_hundred_marks_apart(put):
    for number in range(MOST_MARKS):
        put(across=number)
    with pytest.raises(TicketError, match=f"{MOST_MARKS} marks are on this picture"):
        put("one more")


def test_a_closed_ticket_keeps_its_marks(put, photo, ticket, owner, owner_client):
    mark = put()
    actions.cancel(ticket=ticket, why="moved away", by=owner)
    with pytest.raises(TicketError, match="no longer in work"):
        put("late")
    with pytest.raises(TicketError, match="no longer in work"):
        remove_mark(mark=mark, by=owner)
    page = owner_client.get(reverse("photo-marks", args=[photo.pk])).text
    assert "loose bead" in page
    assert 'type="image"' not in page


def test_a_photograph_of_no_ticket_has_no_marks(owner, owner_client, studio):
    loose = PhotoFactory(garment=None)
    with pytest.raises(TicketError, match="belongs to no ticket"):
        place_mark(photo=loose, across=1, down=1, words="hole", by=owner)
    assert owner_client.get(reverse("photo-marks", args=[loose.pk])).status_code == 404


@pytest.mark.parametrize(
    ("typed", "place"),
    [
        # The picture is shown 280 by 210 where the browser does not say otherwise.
        ({"x": "70", "y": "105"}, (250, 500)),
        ({"x": "279", "y": "209"}, (996, 995)),
        ({"x": "150", "y": "60", "shown_width": "600", "shown_height": "450"}, (250, 133)),
        ({"across": "12.5", "down": "80"}, (125, 800)),
        # Pressed by a key, the picture tells no place; what was typed holds.
        ({"x": "0", "y": "0", "across": "100", "down": "0"}, (1000, 0)),
    ],
)
def test_a_place_is_tapped_or_typed(helper_client, photo, typed, place):
    assert send(helper_client, photo, words="loose bead", **typed).status_code == 302
    mark = Mark.objects.get()
    assert (mark.across, mark.down) == place
    assert mark.by.username == "helper"


@pytest.mark.parametrize(
    "typed",
    [
        {"x": "281", "y": "20"},
        {"x": "20", "y": "300"},
        {"x": "-3", "y": "20"},
        {"x": "9999999999", "y": "1"},
        {"x": "20", "y": "20", "shown_width": "1", "shown_height": "-4"},
        {"across": "100.1", "down": "5"},
        {"across": "5", "down": "-0.1"},
        {"across": "NaN", "down": "5"},
        {"x": "left", "y": "top"},
        {},
    ],
)
def test_a_place_that_is_none_is_refused_on_the_page(helper_client, photo, typed):
    answer = send(helper_client, photo, words="loose bead", **typed)
    assert answer.status_code == 200
    assert 'aria-invalid="true"' in answer.text
    assert 'value="loose bead"' in answer.text
    assert not Mark.objects.exists()


def test_a_tap_before_the_words_keeps_its_place(helper_client, photo):
    page = send(helper_client, photo, x="70", y="105", words="").text
    assert "Say in a few words what is there." in page
    assert 'name="across" value="25' in page
    assert "stroke-dasharray" in page
    assert page.index("autofocus") < page.index('name="across"')


def test_too_much_at_once_is_said_on_the_page(helper_client, photo, put):
    for number in range(MOST_MARKS):
        put(across=number)
    typed = {"words": "one more", "across": "50", "down": "50"}
    page = helper_client.post(reverse("photo-marks", args=[photo.pk]), typed, follow=True).text
    assert "Take another photograph." in page


def test_a_mark_is_taken_off_from_the_page(helper_client, photo, put):
    mark = put()
    address = reverse("mark-remove", args=[mark.pk])
    page = helper_client.post(address, follow=True).text
    assert "No marks yet." in page


@pytest.mark.parametrize("count", [1, 3])
def test_the_page_asks_the_same_for_any_number_of_marks(
    owner_client, photo, count, django_assert_num_queries
):
    MarkFactory.create_batch(count, photo=photo)
    with django_assert_num_queries(5):
        page = owner_client.get(reverse("photo-marks", args=[photo.pk])).text
    assert page.count("<circle") == count


def test_the_ticket_tells_how_many_marks_a_photograph_has(owner_client, ticket, photo, put, owner):
    put("stain")
    remove_mark(mark=put("slip"), by=owner)
    page = owner_client.get(f"/t/{ticket.number}/").text
    assert reverse("photo-marks", args=[photo.pk]) in page
    assert ">1 mark</span>" in page
