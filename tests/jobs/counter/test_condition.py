from hypothesis import given
from hypothesis import strategies as st

from jobs.counter.dropoff.condition import MARKS, put_together, take_apart


def test_chips_and_words_make_one_text():
    assert put_together(["mark", "hole"], "left pocket") == "mark; hole; left pocket"
    assert put_together([], "") == ""


@given(st.lists(st.sampled_from(MARKS), unique=True), st.sampled_from(["", "left pocket", "a; b"]))
def test_the_text_comes_apart_again(marks, words):
    assert take_apart(put_together(marks, words)) == (marks, words)


def test_words_that_only_begin_like_a_chip_stay_words():
    assert take_apart("mark on the left; hole") == ([], "mark on the left; hole")
