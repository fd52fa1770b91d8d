"""A CSV file becomes part of the price list, whole or not at all."""

from django.db import transaction

from jobs.pricing.actions import save_entry
from jobs.pricing.imports import Change, Plan
from jobs.pricing.models import GarmentKind, Operation, Surcharge


def bring_in(*, plan: Plan) -> None:
    """Carry out a plan without problems. Entries are found anew by name, so twice is as once."""
    if plan.problems:
        raise ValueError("A plan with problems is not carried out.")
    with transaction.atomic():
        kinds = {kind.name: kind for kind in GarmentKind.objects.all()}
        for change in [*plan.new, *plan.changed]:
            if plan.table is Operation:
                _operation(change, kinds)
            else:
                _surcharge(change)


def _operation(change: Change, kinds: dict[str, GarmentKind]) -> None:
    facts = {**change.facts}
    name = facts.pop("kind")
    if name not in kinds:
        kinds[name] = GarmentKind(name=name)
        save_entry(entry=kinds[name])
    found = Operation.objects.filter(garment_kind=kinds[name], name=facts["name"]).first()
    _fill(found or Operation(garment_kind=kinds[name], minutes=0), facts)


def _surcharge(change: Change) -> None:
    found = Surcharge.objects.filter(name=change.facts["name"]).first()
    _fill(found or Surcharge(), change.facts)


def _fill(entry: Operation | Surcharge, facts: dict) -> None:
    for field, value in facts.items():
        setattr(entry, field, value)
    save_entry(entry=entry)
