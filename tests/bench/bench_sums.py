"""More books made by chance than the suite has time for: what the pages say adds up in each."""

import pytest

from tests.jobs.counter.test_sums import BOOKS, live, wrong_sums


@pytest.mark.parametrize("number", range(BOOKS, 200))
def test_more_books_by_chance(studio, owner, number):
    live(studio, owner, number)
    assert [str(each) for each in wrong_sums(studio)] == []
