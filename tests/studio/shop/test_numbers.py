"""Numbers without gap or twin, whatever happens at once."""

from collections import Counter

import pytest
from django.db import connection, transaction

from studio.shop.models import NumberSeries
from studio.shop.numbers import take_number, year_number
from tests.studio.shop import number_takers, rush_hour
from tests.studio.shop.rush_hour import EACH, WORKERS, Job

pytestmark = pytest.mark.postgres


def assert_whole(numbers: list[str], first: int = 1) -> None:
    """``numbers`` are the whole numbers from ``first`` on, each once."""
    assert sorted(int(number) for number in numbers) == list(range(first, first + len(numbers)))


def jobs_for(way, folder) -> list[Job]:
    NumberSeries.objects.create(key="rush")
    return [
        Job(
            way=f"{way.__module__}:{way.__name__}",
            key="rush",
            database=str(connection.settings_dict["NAME"]),
            folder=str(folder),
            worker=worker,
        )
        for worker in range(WORKERS)
    ]


@pytest.mark.django_db(transaction=True)
def test_many_numbers_at_once(tmp_path):
    """By threads; by processes invoices take theirs (``test_numbers_invoices``)."""
    numbers = rush_hour.by_threads(jobs_for(number_takers.guarded, tmp_path))
    assert len(numbers) == WORKERS * EACH
    assert_whole(numbers)


@pytest.mark.django_db(transaction=True)
def test_without_the_guard_the_same_crowd_gets_twins(tmp_path):
    numbers = rush_hour.by_threads(jobs_for(number_takers.unguarded, tmp_path))
    assert Counter(numbers) == {str(number): WORKERS for number in range(1, EACH + 1)}
    with pytest.raises(AssertionError):
        assert_whole(numbers)


@pytest.mark.django_db(transaction=True)
def test_a_transaction_that_fails_gives_its_number_back():
    with transaction.atomic():
        assert take_number("tickets") == 1

    @transaction.atomic
    def fail_after(taken: int):
        assert take_number("tickets") == taken
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        fail_after(2)
    with transaction.atomic():
        assert take_number("tickets") == 2


@pytest.mark.django_db(transaction=True)
def test_no_number_is_given_outside_a_transaction():
    with pytest.raises(RuntimeError, match="inside the transaction"):
        take_number("tickets")
    assert not NumberSeries.objects.exists()


@pytest.mark.django_db
def test_each_year_counts_anew_and_each_series_on_its_own():
    given = [year_number("", 2026), year_number("", 2026), year_number("", 2027)]
    assert given == ["26-0001", "26-0002", "27-0001"]
    assert year_number("R", 2026) == "R26-0001"
    assert year_number("", 2026) == "26-0003"


@pytest.mark.django_db
def test_the_ten_thousandth_ticket_of_a_year_has_its_number():
    NumberSeries.objects.create(key="2026", last=9998)
    assert [year_number("", 2026), year_number("", 2026)] == ["26-9999", "26-10000"]
