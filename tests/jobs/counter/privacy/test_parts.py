"""No table and no field that leads to a client is forgotten: the models are walked."""

from collections import Counter

import pytest
from django.apps import apps

from clients.models import Client
from jobs.counter.privacy.archive import fields
from jobs.counter.privacy.belongings import CLIENT_BLANK, LEFT_OUT, PARTS


def leads_to_client() -> set[type]:
    """Every model with a relation to Client, or to a model that has one; there and back again."""
    models = {Client}
    while True:
        more = {
            model
            for model in apps.get_models(include_auto_created=True)
            for field in model._meta.get_fields(include_hidden=True)
            if field.is_relation and field.concrete and field.related_model in models
        }
        if more <= models:
            return models
        models |= more


def test_every_model_that_leads_to_a_client_is_a_part():
    assert {part.model for part in PARTS} | {Client} == leads_to_client()


def test_every_part_stands_once_and_after_its_parent():
    seen = [Client]
    for part in PARTS:
        assert part.parent in seen
        seen.append(part.model)
    assert Counter(seen).most_common(1)[0][1] == 1


def test_keys_of_one_parent_differ_and_hide_no_field():
    for model in {part.parent for part in PARTS}:
        keys = [part.key for part in PARTS if part.parent is model]
        names = [field.name for field in model._meta.concrete_fields]
        assert [key for key, times in Counter(keys + names).items() if times > 1] == []


def test_what_is_left_out_is_there_and_has_a_reason():
    known = {str(field) for model in leads_to_client() for field in model._meta.concrete_fields}
    assert set(LEFT_OUT) <= known
    assert all(LEFT_OUT.values())


@pytest.mark.parametrize("model", sorted(leads_to_client(), key=str), ids=lambda cls: cls.__name__)
def test_every_field_is_told_or_left_out(model):
    owners = {part.owner for part in PARTS if part.model is model}
    exported = {str(field) for field in fields(model)}
    rest = {
        str(field)
        for field in model._meta.concrete_fields
        if not field.primary_key and field.name not in owners
    }
    assert rest - exported == {name for name in LEFT_OUT if name in rest}


@pytest.mark.parametrize("part", PARTS, ids=lambda part: part.model.__name__)
def test_erasing_decides_on_every_field(part):
    """A field that is new has to be named: it goes, stays, or its table does."""
    named = {*part.blank, *part.stays}
    if part.goes or part.books:
        assert not named
        return
    columns = {
        field.name
        for field in part.model._meta.concrete_fields
        if not field.primary_key and (not field.is_relation or field.name in part.papers)
    }
    assert named == columns
    assert not {*part.blank} & {*part.stays}


def test_erasing_decides_on_every_fact_of_the_client():
    derived = {"name_key", "phone_digits", "phone_last4", "reach_key"}
    stays = {"id", "name", "created_at", "merged_into", "erased_at", "erasure_key"}
    columns = {field.name for field in Client._meta.concrete_fields}
    assert {*CLIENT_BLANK} | derived | stays == columns
