"""Minutes by size from what was measured and timed, and the page that tells them."""

from decimal import Decimal

import pytest
from django.urls import reverse

from jobs.planning.hems import timed_hems, what_hems_teach
from jobs.pricing.models import WorkOrder
from studio.shop import clock
from tests import factories as f

ASK = {"edge": "4200", "layers": "3"}


@pytest.fixture
def sewn(studio, owner):
    """A finished hem of so many metres that took 10 minutes and 20 a metre, or as said."""

    def sewing(metres, layers=1, minutes=None, *, done=True, **line_facts):
        line = f.LineFactory(done_at=clock.now() if done else None, **line_facts)
        f.FitSumFactory(
            garment=line.garment, line=line, edge_mm=Decimal(metres) * 1000, layers=layers
        )
        took = 10 + 20 * metres * layers if minutes is None else minutes
        if took:
            f.BenchTimeFactory(line=line, minutes=took)
        return line

    return sewing


@pytest.fixture
def eight(sewn):
    for metres in range(1, 9):
        sewn(metres)


def ask(client, part=False, **query):
    headers = {"HX-Request": "true"} if part else {}
    return client.get(reverse("hem-minutes"), query or ASK, headers=headers).text


def test_a_hem_of_three_layers_takes_as_long_as_its_edge_is_long(helper_client, eight):
    # Exactly on the line: 10 + 20 * 4.2 * 3 = 262 minutes, and no doubt at all.
    shown = ask(helper_client)
    assert "About 4 h 22" in shown
    assert "between 4 h 22 and 4 h 22 (from 8 hems that you timed)" in shown
    assert "smaller or larger than any of them" in shown


def test_the_part_for_another_page_is_the_answer_alone(owner_client, eight):
    shown = ask(owner_client, part=True, edge="2000", layers="1")
    assert shown.strip().startswith('<p class="notice"><strong>About 50 min')
    assert "smaller or larger" not in shown


def test_before_eight_hems_the_page_says_what_is_missing_and_the_part_nothing(owner_client, sewn):
    for metres in range(1, 8):
        sewn(metres)
    assert "before 8 hems have been measured" in ask(owner_client)
    assert "there are 7" in ask(owner_client)
    assert ask(owner_client, part=True).strip() == ""


def test_where_the_median_does_better_nothing_is_told(owner_client, sewn):
    for metres, minutes in enumerate([30, 31, 29, 30, 31, 29, 30, 30], 1):
        sewn(metres, minutes=minutes)
    assert "does not tell how long one takes better" in " ".join(ask(owner_client).split())
    assert ask(owner_client, part=True).strip() == ""


@pytest.mark.parametrize(
    ("query", "message"),
    [
        ({"edge": "long", "layers": "1"}, "Write one number and one unit"),
        ({"edge": "NaN", "layers": "1"}, "Write one number and one unit"),
        ({"edge": "-4", "layers": "1"}, "Write a length such as"),
        ({"edge": "1e9", "layers": "1"}, "Write one number and one unit"),
        ({"length": "", "layers": "1"}, "Write how long the edge is"),
        ({"length": "240", "layers": "0"}, "greater than or equal to 1"),
    ],
)
def test_what_cannot_be_a_hem_is_said_beside_the_field(owner_client, eight, query, message):
    assert message in ask(owner_client, **query)
    assert ask(owner_client, part=True, **query).strip() == ""


@pytest.mark.parametrize(("unit", "shown"), [("cm", "420 cm"), ("in", "165 3/8 in")])
def test_an_edge_in_millimetres_is_shown_in_the_studios_unit(owner_client, studio, unit, shown):
    studio.unit = unit
    studio.save()
    assert f'value="{shown}"' in ask(owner_client)


def test_only_finished_timed_and_measured_hems_teach_and_each_once(sewn, owner):
    line = sewn(2, quantity=2, minutes=100)
    f.BenchTimeFactory(line=line, minutes=20)
    f.FitSumFactory(garment=line.garment, line=line, edge_mm=Decimal(3000), layers=2)
    sewn(3, done=False)
    sewn(4, minutes=0)
    sewn(5, removed_at=clock.now())
    f.BenchTimeFactory(line=f.LineFactory(done_at=clock.now()), minutes=60)
    (hem,) = timed_hems()
    # The later sum of 3 m in two layers; 120 minutes for two pieces.
    assert (hem.size, hem.minutes) == (6, 60)


def test_a_sum_kept_with_its_garment_speaks_of_its_only_hem(owner):
    hem = f.LineFactory(done_at=clock.now())
    f.LineFactory(garment=hem.garment, work_order=WorkOrder.BODY, done_at=clock.now())
    f.FitSumFactory(garment=hem.garment, edge_mm=Decimal(2000), layers=2)
    f.BenchTimeFactory(line=hem, minutes=45)
    (timed,) = timed_hems()
    assert (timed.size, timed.minutes) == (4, 45)
    f.LineFactory(garment=hem.garment, name="Hem, further layer", done_at=clock.now())
    assert timed_hems() == []


@pytest.mark.postgres
@pytest.mark.parametrize("count", [1, 3])
def test_three_queries_for_any_number_of_hems(sewn, django_assert_num_queries, count):
    for metres in range(1, count + 1):
        sewn(metres)
    with django_assert_num_queries(3):
        assert what_hems_teach().hems == count


@pytest.mark.parametrize("count", [1, 3])
def test_the_page_asks_the_database_six_times(owner_client, sewn, django_assert_num_queries, count):
    for metres in range(1, count + 1):
        sewn(metres)
    # The profile, the session, the user; the sums, their work and its times.
    with django_assert_num_queries(6):
        ask(owner_client)
