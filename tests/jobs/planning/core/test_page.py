"""The developers' page says what the program answers."""

import doctest
from pathlib import Path

import jobs.planning.core

PAGE = Path(__file__).resolve().parents[4] / "docs" / "planning-core.md"


def test_the_examples_of_the_page_come_out_as_written():
    result = doctest.testfile(str(PAGE), module_relative=False)
    assert result.failed == 0
    assert result.attempted > 5


def test_the_page_names_every_question():
    page = PAGE.read_text()
    asked = {name for name in jobs.planning.core.__all__ if name.islower()}
    parts = {"credibility", "median_remaining", "likely_date", "least_overtime", "prepare"}
    assert sorted(name for name in asked - parts if f"`{name}`" not in page) == []
