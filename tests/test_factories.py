"""What the factories make passes the models' own checks, so that tests stand on real objects."""

import pytest

from tests.factories import FACTORIES


@pytest.mark.django_db
@pytest.mark.parametrize("maker", FACTORIES, ids=lambda maker: maker.__name__)
def test_a_dull_one_is_valid(maker):
    made = maker()
    names = [field.name for field in made._meta.fields]
    empty = [name for name in names if getattr(made, name) in (None, "", {}, [])]
    made.full_clean(exclude=empty)
    assert maker._meta.model.objects.filter(pk=made.pk).exists()
