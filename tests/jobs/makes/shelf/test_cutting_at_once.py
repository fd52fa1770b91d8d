"""Four hands cut a metre each from lengths of a metre and a half: one gets it."""

from collections import Counter
from decimal import Decimal

import pytest
from django.db import connection, transaction

from jobs.makes.models import Cloth, ClothMove
from tests.factories import ClothFactory
from tests.jobs.makes.shelf import cutting
from tests.studio.shop import rush_hour
from tests.studio.shop.rush_hour import EACH, WORKERS, Job


@pytest.fixture
def crowd(transactional_db, studio, owner, tmp_path):
    with transaction.atomic():
        for _ in range(EACH):
            ClothFactory(left_mm=Decimal(1500), moves__by=owner)

    def work(way) -> Counter:
        name = f"{way.__module__}:{way.__name__}"
        database, folder = str(connection.settings_dict["NAME"]), str(tmp_path)
        jobs = [Job(name, "", database, folder, worker) for worker in range(WORKERS)]
        return Counter(rush_hour.by_threads(jobs))

    return work


def lefts() -> set[Decimal]:
    """What the moves of each cloth come to."""
    sums: Counter = Counter()
    for move in ClothMove.objects.all():
        sums[move.cloth_id] += move.mm
    return set(sums.values())


def test_nothing_is_cut_twice(crowd):
    assert crowd(cutting.guarded) == {"cut": EACH, "refused": EACH * (WORKERS - 1)}
    assert lefts() == {Decimal(500)}
    assert set(Cloth.objects.values_list("left_mm", flat=True)) == {Decimal(500)}


def test_without_the_lock_it_would_be(crowd):
    assert crowd(cutting.unguarded) == {"cut": EACH * WORKERS}
    assert lefts() == {Decimal(1500 - 1000 * WORKERS)}
