"""Finding a client by what is typed."""

import pytest
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st

from clients.queries import (
    alike,
    begins_nearly,
    find_clients,
    has_a_third,
    list_clients,
    live_client,
    take_apart,
)
from tests.factories import ClientFactory

pytestmark = [pytest.mark.django_db, pytest.mark.postgres]


@pytest.fixture
def people():
    return {
        name: ClientFactory(name=name, phone=phone)
        for name, phone in [
            ("José Órla", "086 555 0143"),
            ("Mary Larkin", "+353 85 555 7001"),
            ("Ann Larkspur", "01 555 0199"),
            ("Clark Ames", "085 555 0143"),
            ("مريم العلي", "085 555 2222"),
            ("🧵 Thread 🧵", ""),
            ("Class of 2026", "085 143 2223"),
        ]
    }


@pytest.mark.parametrize(
    ("typed", "names"),
    [
        ("jose", ["José Órla"]),
        ("JOSÉ", ["José Órla"]),
        ("orla jo", ["José Órla"]),
        ("lark mary", ["Mary Larkin"]),
        ("lark", ["Ann Larkspur", "Mary Larkin", "Clark Ames"]),
        ("7001", ["Mary Larkin"]),
        ("5557001", ["Mary Larkin"]),
        ("085 555 7001", ["Mary Larkin"]),
        ("+353855557001", ["Mary Larkin"]),
        ("(01) 555-0199", ["Ann Larkspur"]),
        ("+353 86 555 0143", ["José Órla"]),
        ("0143 ames", ["Clark Ames"]),
        ("0143", ["Clark Ames", "José Órla"]),
        ("1432", ["Class of 2026"]),
        ("2026", ["Class of 2026"]),
        ("العلي", ["مريم العلي"]),
        ("🧵", ["🧵 Thread 🧵"]),
        ("larikn", ["Mary Larkin"]),
        ("larkan", ["Mary Larkin"]),
        ("lakrin mary", ["Mary Larkin"]),
        ("jsoe", ["José Órla"]),
        ("lrakni", []),
        ("jase", ["José Órla"]),
        ("maty larkon", []),
        ("xyz", []),
        ("9999", []),
        ("", []),
        ("  ", []),
        ("%", []),
        ("_", []),
        ("' OR 1=1 --", []),
        ("<script>alert(1)</script>", []),
        ("\x00", []),
        ("x" * 100_000, []),
        ("1" * 100_000, []),
        ("q " * 5000, []),
    ],
)
def test_who_is_found_and_in_which_order(people, typed, names):
    assert [client.name for client in find_clients(typed)] == names


def test_four_last_digits_come_before_the_same_digits_elsewhere():
    ClientFactory(name="Ada", phone="0143 555 9876")
    last = ClientFactory(name="Zoe", phone="086 555 0143")
    assert [client.name for client in find_clients("0143")] == [last.name, "Ada"]


def test_at_most_as_many_as_are_asked_for():
    ClientFactory.create_batch(10, name="Mary Larkin")
    assert len(find_clients("mary")) == 8
    assert len(find_clients("mary", limit=3)) == 3
    assert list_clients("mary").count() == 10


@pytest.mark.parametrize("typed", ["larkin", "lrakin", "7001", ""])
def test_merged_and_erased_entries_are_not_found(people, typed):
    mary = people["Mary Larkin"]
    mary.erased_at = timezone.now()
    mary.save()
    ClientFactory(name="Mary Larkin", phone=mary.phone, merged_into=people["José Órla"])
    assert mary.name not in [client.name for client in [*find_clients(typed), *list_clients(typed)]]


def test_one_query_in_the_normal_case_and_three_for_a_typing_error(
    people, django_assert_num_queries
):
    with django_assert_num_queries(1):
        find_clients("lark mary 7001")
    with django_assert_num_queries(3):
        assert find_clients("larkim")


def test_numbers_and_words_are_told_apart():
    assert take_apart("Mary 086 555-0143") == (["mary"], "0865550143")
    assert take_apart("Room 7") == (["room", "7"], "")
    assert take_apart("+353 (0)1 555 0100") == ([], "353015550100")
    assert take_apart("\u0660\u0668\u0666 \u0665\u0665\u0665") == ([], "086555")


LETTERS = "abcë"


def errors(word: str) -> set[str]:
    """Every word that is one typing error away: left out, put in, changed, swapped."""
    halves = [(word[:at], word[at:]) for at in range(len(word) + 1)]
    return (
        {a + b[1:] for a, b in halves if b}
        | {a + letter + b for a, b in halves for letter in LETTERS}
        | {a + letter + b[1:] for a, b in halves if b for letter in LETTERS}
        | {a + b[1] + b[0] + b[2:] for a, b in halves if len(b) > 1}
    )


@given(st.text(LETTERS, min_size=4, max_size=8), st.text(LETTERS, max_size=10))
def test_an_error_is_forgiven_exactly_where_trying_all_errors_finds_it(word, name):
    """The other way is slow but plain: make every error, then compare."""
    expected = any(name.startswith(wrong) for wrong in errors(word))
    assert begins_nearly(word, name) == (expected or name.startswith(word))


@given(st.text(LETTERS, min_size=4, max_size=8), st.data())
def test_one_error_spares_a_third_of_the_word(word, data):
    wrong = data.draw(st.sampled_from(sorted(errors(word))))
    third = [value for _, value in has_a_third(word).children]
    assert "".join(third) == word
    assert any(part in wrong for part in third)


def test_alike_is_the_same_name_or_number(people):
    assert [client.name for client in alike("maria", "00353 85 555 7001")] == ["Mary Larkin"]
    assert [client.name for client in alike("JOSE  orla", "1")] == ["José Órla"]
    assert list(alike("mary", "")) == list(alike("", "")) == []


def test_a_merged_entry_leads_to_the_kept_one(people):
    kept = people["Mary Larkin"]
    gone = ClientFactory(merged_into=kept)
    assert live_client(gone.pk) == live_client(kept.pk) == kept
