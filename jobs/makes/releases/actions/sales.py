"""Copies sold: written by hand, or out of a file."""

from datetime import date
from uuid import UUID, uuid4

from django.db import transaction

from jobs.makes.models import Release, Sale
from jobs.makes.releases.actions.releases import locked
from jobs.makes.releases.sales_file import SalesPlan


@transaction.atomic
def sell(*, release: Release, day: date, copies: int, net: int, form_key: UUID) -> Sale:
    """Copies of a day and what was left of them; less than none where they came back.

    The same form sent twice is one sale.
    """
    release, told = locked(release), {"day": day, "copies": copies, "net": net}
    sale, new = Sale.objects.get_or_create(release=release, row_key=str(form_key), defaults=told)
    if not new and (sale.day, sale.copies, sale.net) != (day, copies, net):
        # The browser went back to a page that had been sent, and another sale was typed there.
        return Sale.objects.create(release=release, row_key=str(uuid4()), **told)
    return sale


@transaction.atomic
def bring_sales_in(*, release: Release, plan: SalesPlan) -> int:
    """Add the rows of a plan without problems; how many were new when it came to it."""
    if plan.problems:
        raise ValueError("A plan with problems is not carried out.")
    release = locked(release)
    there = set(release.sales.values_list("row_key", flat=True))
    rows = [
        Sale(release=release, day=sold.day, copies=sold.copies, net=sold.net, row_key=sold.key)
        for sold in plan.new
        if sold.key not in there
    ]
    return len(Sale.objects.bulk_create(rows))
