"""The factories make one of every model, and what they make passes the models' own checks."""

import pytest
from django.apps import apps
from factory.django import DjangoModelFactory

from tests import factories

FACTORIES = [
    value
    for value in vars(factories).values()
    if isinstance(value, type)
    and issubclass(value, DjangoModelFactory)
    and value is not DjangoModelFactory
]
OURS = [
    model
    for model in apps.get_models()
    if model.__module__.startswith(("studio", "clients", "jobs"))
]


def test_every_model_has_a_factory():
    assert {maker._meta.model for maker in FACTORIES} == set(OURS)


@pytest.mark.django_db
@pytest.mark.parametrize("maker", FACTORIES, ids=lambda maker: maker.__name__)
def test_a_dull_one_is_valid(maker):
    maker().full_clean(exclude=["data", "terms"])
    made = maker._meta.model.objects.count()
    assert made >= 1
