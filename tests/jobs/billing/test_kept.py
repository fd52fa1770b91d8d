"""Nothing that was invoiced or paid is rewritten or deleted."""

import pytest
from django.db import IntegrityError, transaction
from django.db.models import ProtectedError

from jobs.billing.models import KeptError
from tests.factories import InvoiceFactory, PaymentFactory, StoredPaperFactory

pytestmark = [pytest.mark.django_db, pytest.mark.postgres]


@pytest.fixture(params=[(InvoiceFactory, "gross"), (PaymentFactory, "amount")])
def kept(request):
    """A stored invoice or payment of 24.00, and the field that holds the 24.00."""
    factory, field = request.param
    row = factory()
    yield row, field
    assert getattr(type(row).objects.get(pk=row.pk), field) == 2400


def test_a_row_is_not_saved_again(kept):
    row, field = kept
    setattr(row, field, 1)
    for how in ({}, {"update_fields": [field]}, {"update_fields": ["paper", field]}):
        with pytest.raises(KeptError):
            row.save(**how)


def test_a_new_row_does_not_take_the_place_of_an_old_one(kept):
    row, field = kept
    setattr(row, field, 1)
    row.number, row.form_key = "X26-0001", "0" * 32
    row._state.adding = True
    with pytest.raises(IntegrityError), transaction.atomic():
        row.save()


def test_rows_are_not_updated_in_bulk(kept):
    row, field = kept
    setattr(row, field, 1)
    rows = type(row).objects
    with pytest.raises(KeptError):
        rows.update(**{field: 1})
    with pytest.raises(KeptError), transaction.atomic():
        rows.bulk_update([row], [field])
    with pytest.raises(KeptError):
        rows.update_or_create(pk=row.pk, defaults={field: 1})
    with pytest.raises(KeptError):
        rows.bulk_create([row], update_conflicts=True, update_fields=[field], unique_fields=["pk"])


def test_rows_are_not_deleted(kept):
    row, _ = kept
    with pytest.raises(KeptError):
        row.delete()
    with pytest.raises(KeptError):
        type(row).objects.all().delete()
    with pytest.raises(ProtectedError):
        row.ticket.delete()


def test_its_paper_alone_is_added_later(kept):
    row, _ = kept
    row.paper = StoredPaperFactory()
    row.save(update_fields=["paper"])
    assert type(row).objects.get().paper == row.paper
    type(row).objects.update(paper=None)
    assert type(row).objects.get().paper is None
