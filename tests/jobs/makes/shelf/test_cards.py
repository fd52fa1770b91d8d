"""Swatch cards as they come out of the printer."""

from datetime import date

import pytest
from django.urls import reverse

from jobs.makes.models import Cloth
from jobs.makes.shelf.documents import swatch_cards
from tests import factories as f
from tests import papers, proofreading
from tests.thorough import thinned


@pytest.fixture
def full(studio) -> Cloth:
    """Every fact as long as its field."""
    return f.ClothFactory(
        name="Linen " * 20, fibre="linen " * 20, colour="w" * 60, care="cool " * 24,
        place="box " * 20, repeat_typed="12 cm", shrink_along=5, shrink_across=2,
        one_way=True, bought_on=date(2026, 3, 1),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("page", "sheets"),
    thinned([("A6", 5), ("A5", 5), ("A4", 2), ("Letter", 2)], {("A6", 5), ("A4", 2)}.__contains__),
)
def test_however_much_is_known_it_stays_on_its_card(full, studio, page, sheets):
    pdf = swatch_cards([full] * 5, studio, page=page)
    assert len(papers.texts(pdf)) == sheets
    assert papers.margins_broken(pdf, page) == []
    assert papers.printed_over(pdf) == []
    assert proofreading.structure_faults(pdf, usual=True) == []
    assert papers.broken_figures(pdf) == []
    assert papers.text(pdf).count("Sun 1 Mar 2026") == 5


@pytest.mark.postgres
def test_a_page_of_four_is_filled_with_the_newest(owner_client):
    cloths = [f.ClothFactory(name=f"Wool {n}") for n in range(5)]
    address = reverse("cloth-card", args=[cloths[0].pk])
    shown = papers.text(owner_client.get(address, {"paper": "A4"}).getvalue())
    assert [n for n in range(5) if f"Wool {n}" in shown] == [0, 2, 3, 4]
    shown = papers.text(owner_client.get(address, {"paper": "A3"}).getvalue())
    assert "Wool 0" in shown
    assert "Wool 4" not in shown
