"""What can stand for a ticket's number."""

import pytest

from jobs.counter.find import numbers


@pytest.mark.parametrize(
    ("typed", "number"),
    [
        ("26-0143", "26-0143"),
        (" 26-143 ", "26-0143"),
        ("26-0143-B", "26-0143"),
        ("26-0143-b", "26-0143"),
        ("http://studio.local:8000/t/26-0143/", "26-0143"),
        ("https://studio.example/t/26-0143-B", "26-0143"),
        ("HTTP://STUDIO.EXAMPLE/T/26-0143", "26-0143"),
        ("http://studio.local/t/26-12345/?x=1", "26-12345"),
    ],
)
def test_a_whole_number_is_that_ticket(typed, number):
    assert numbers(typed, 2026) == [number]


@pytest.mark.parametrize("typed", ["0143", "143", "/0143", "143-B", "143B"])
def test_a_short_number_is_that_ticket_of_any_year(typed):
    assert numbers(typed, 2026)[:3] == ["26-0143", "25-0143", "24-0143"]


@pytest.mark.parametrize(
    "typed", ["", "Mary", "086 555 0143", "Mary 143", "https://example.org/x/26-0143", "9" * 40]
)
def test_words_and_phone_numbers_are_no_ticket(typed):
    assert numbers(typed, 2026) == []


def test_years_go_back_over_the_turn_of_the_century():
    assert numbers("7", 2001)[:3] == ["01-0007", "00-0007", "99-0007"]
