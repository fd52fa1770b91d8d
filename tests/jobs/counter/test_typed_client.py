"""One box, two fields: what is a name and what is a number. Names and numbers are invented."""

import pytest

from jobs.counter.dropoff.typed_client import split_typed


@pytest.mark.parametrize(
    ("typed", "name", "phone"),
    [
        ("Mary Larkin 086 555 0143", "Mary Larkin", "086 555 0143"),
        ("086 555 0143 Mary Larkin", "Mary Larkin", "086 555 0143"),
        ("Mary Larkin, +353 (0)86 555-0143", "Mary Larkin", "+353 (0)86 555-0143"),
        ("0865550143", "", "0865550143"),
        ("(01) 555 0143", "", "(01) 555 0143"),
        ("  Mary   Larkin ", "Mary Larkin", ""),
        ("مريم 0143 555", "مريم", "0143 555"),
        ("Ann 2nd floor", "Ann 2nd floor", ""),
        ("🧵 Zoë", "🧵 Zoë", ""),
        ("", "", ""),
    ],
)
def test_letters_are_the_name_and_digits_the_phone(typed, name, phone):
    assert split_typed(typed) == (name, phone)


def test_of_two_runs_of_digits_the_longer_is_the_phone():
    assert split_typed("Mary 123 Mill Lane 086 555 0143") == ("Mary 123 Mill Lane", "086 555 0143")
