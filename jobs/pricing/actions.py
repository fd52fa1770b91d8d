"""What the owner does to the price list: one function, one transaction each. No ticket changes."""

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from django.conf import settings
from django.db import transaction
from django.db.models import ProtectedError, QuerySet

from jobs.pricing import verbs
from jobs.pricing.files import ListPlan, OperationRow, SurchargeRow, plan_import
from jobs.pricing.models import Concern, GarmentKind, Operation, PriceRules, Surcharge
from studio.shop import history
from studio.shop.files import Row, parse_csv
from studio.shop.history import Step, note, record
from studio.shop.history.recording import differing
from studio.shop.imports import ImportRefusedError, RowForm, one_of
from studio.shop.models import Entry, Profile, User
from studio.shop.money import round_half_up

# What an hour costs until the owner says otherwise: 3600 minor units, that is 36.00 in a currency
# with cents, 3600 in one without decimals and 3.600 in one with three. It is a number to start
# from and no rate of exchange.
STARTING_HOUR = 3600

PriceEntry = GarmentKind | Operation | Surcharge


def peers(entry: PriceEntry) -> QuerySet[Any]:
    """The entries that ``entry`` stands among."""
    if isinstance(entry, Operation):
        return Operation.objects.filter(garment_kind=entry.garment_kind_id)
    return type(entry).objects.all()


def list_itself() -> PriceRules:
    """What every step of the list is about: its one row of house rules, made or not."""
    return PriceRules(pk=1)


def save_entry(*, entry: PriceEntry, by: User) -> Entry | None:
    """Save an entry, a new one last among its peers; what stands of it in the history."""
    verb = verbs.CHANGED if entry.pk else verbs.ADDED
    about = [list_itself(), entry]
    facts = {"name": str(entry), "kind": type(entry).__name__}
    with record(verb, about=about, by=by, **facts) as step:
        if entry.pk:
            step.parameters["fields"] = differing(entry)
        _save(entry, step)
    return step.entry


def _save(entry: PriceEntry, step: Step) -> None:
    if entry.pk is None:
        places = peers(entry).values_list("position", flat=True)
        entry.position = max(places, default=0) + 1
        entry.save()
        step.add(entry)
    else:
        step.keep(entry)
        entry.save()


class MovedError(Exception):
    """Somebody else has moved the entry meanwhile."""


def move_entry(*, entry: PriceEntry, step: int, by: User, since: int | None = None) -> Entry | None:
    """So many places up (``step`` below 0) or down; past the end of the row nothing changes.

    ``since`` is where the history was when the order was looked at: raises MovedError where this
    entry was moved later. What happened to others meanwhile stands too.
    """
    about, way = [list_itself(), entry], "up" if step < 0 else "down"
    with record(verbs.MOVED, about=about, by=by, name=str(entry), way=way) as moving:
        row = list(peers(entry).select_for_update())
        if since is not None and history.of(entry).filter(
            verb=verbs.MOVED.key, undone_at=None, pk__gt=since
        ):
            raise MovedError(f"“{entry.name}” was moved meanwhile. Look where it stands now.")
        moving.keep(*row)
        place = row.index(entry)
        if 0 <= place + step < len(row):
            row.insert(place + step, row.pop(place))
        for position, peer in enumerate(row, 1):
            peer.position = position
        type(entry).objects.bulk_update(row, ["position"])
    return moving.entry


def remove_entry(*, entry: PriceEntry, by: User) -> Entry | None:
    """Take an entry off the list (REMOVED); one that a ticket still names is only no longer
    offered (WITHDRAWN). A kind of garment takes its operations with it, all or none.
    """
    about, name = [list_itself(), entry], str(entry)
    try:
        with record(verbs.REMOVED, about=about, by=by, name=name) as step:
            step.keep(entry)
            if isinstance(entry, GarmentKind):
                step.keep(entry.operations.all())
                entry.operations.all().delete()
            type(entry).objects.get(pk=entry.pk).delete()
    except ProtectedError:
        with record(verbs.WITHDRAWN, about=about, by=by, name=name) as step:
            step.keep(entry)
            type(entry).objects.filter(pk=entry.pk).update(active=False)
    return step.entry


def save_rules(*, rules: PriceRules, by: User) -> Entry | None:
    with record(verbs.RULES, about=rules, by=by) as step:
        stored, _ = PriceRules.objects.get_or_create(pk=rules.pk)
        step.keep(stored)
        step.parameters["fields"] = differing(rules)
        rules.save()
    return step.entry


def rounding_step_for(hour: int) -> int:
    """The rounding step: the largest of 1, 2, 5, 10, 20 ... not above the price of a minute."""
    steps: list[int] = [digit * 10**power for power in range(len(str(hour))) for digit in (1, 2, 5)]
    return max(step for step in steps if step == 1 or step * 60 <= hour)


def price_for(minutes: int, hour: int) -> int:
    """The price of ``minutes`` at ``hour`` minor units an hour, to the handy step; never none."""
    step = rounding_step_for(hour)
    return max(round_half_up(Fraction(hour * minutes, 60), step), step)


def load_starting_list(*, by: User, hour: int = STARTING_HOUR) -> int:
    """Fill an empty price list; how many operations it has then.

    A list with a kind of garment in it is left alone, so sending it twice loads it once. House
    rules start with a minimum of a quarter of an hour and the handy rounding step.
    """
    with transaction.atomic():
        if GarmentKind.objects.exists():
            return 0
        concern = one_of(Concern)
        concerns = {row["garment"]: concern(row["caution"]) for row in _rows("kinds.csv")}
        kinds: dict[str, GarmentKind] = {}
        operations = []
        for place, row in enumerate(_rows("prices.csv"), 1):
            facts = _facts(OperationRow(row))
            kind = _kind(facts.pop("kind"), kinds, concerns)
            price = price_for(facts["minutes"], hour)
            operations.append(Operation(garment_kind=kind, position=place, price=price, **facts))
        Operation.objects.bulk_create(operations)
        Surcharge.objects.bulk_create(
            Surcharge(position=place, **_facts(SurchargeRow(row)))
            for place, row in enumerate(_rows("surcharges.csv"), 1)
        )
        PriceRules.objects.update_or_create(
            pk=1,
            defaults={
                "minimum_charge": price_for(15, hour),
                "rounding_step": rounding_step_for(hour),
            },
        )
        note(verbs.STARTED, about=list_itself(), by=by, count=len(operations))
    return len(operations)


def _rows(name: str) -> list[dict[str, str]]:
    text = (settings.BASE_DIR / "fixtures" / name).read_text("utf-8")
    return [row.cells for row in parse_csv(text)]


def _kind(name: str, kinds: dict[str, GarmentKind], concerns: dict[str, str]) -> GarmentKind:
    if name not in kinds:
        kinds[name] = GarmentKind.objects.create(
            name=name, concern=concerns.get(name, ""), position=len(kinds) + 1
        )
    return kinds[name]


def recalculate_prices(*, hour: int, currency: str, by: User) -> int:
    """Set every operation's price anew from its minutes; how many there are."""
    facts = {"hour": hour, "currency": currency}
    with record(verbs.RECALCULATED, about=list_itself(), by=by, **facts) as step:
        operations = list(Operation.objects.all())
        step.parameters["count"] = len(operations)
        step.keep(*operations)
        for operation in operations:
            operation.price = price_for(operation.minutes, hour)
        Operation.objects.bulk_update(operations, ["price"])
    return len(operations)


def place_work(*, places: Mapping[int, int], by: User) -> int:
    """Give operations, by their key, another place in the order of work; how many moved.

    What moves is what was placed elsewhere; no ticket changes.
    """
    with record(verbs.PLACED, about=list_itself(), by=by) as step:
        operations = [
            operation
            for operation in Operation.objects.filter(pk__in=places)
            if operation.work_order != places[operation.pk]
        ]
        step.parameters["count"] = len(operations)
        step.keep(*operations)
        for operation in operations:
            operation.work_order = places[operation.pk]
        Operation.objects.bulk_update(operations, ["work_order"])
    return len(operations)


def _facts(row: RowForm) -> dict[str, Any]:
    if not row.is_valid():
        raise ValueError(row.errors)
    return row.cleaned_data


def import_list(*, rows: list[Row], studio: Profile, by: User) -> ListPlan:
    """Compare the rows with the list as it is now and take them. Twice is as once.

    Raises ImportRefusedError where a row cannot be taken any more.
    """
    with record(verbs.IMPORTED, about=list_itself(), by=by) as step:
        plan = plan_import(rows, studio)
        if any(row.problems for row in rows):
            raise ImportRefusedError("The list has changed since. Choose the file again.")
        step.parameters |= {"new": len(plan.new), "changed": len(plan.changed)}
        step.keep(*(change.entry for change in plan.changed if change.entry))
        kinds = {kind.name: kind for kind in GarmentKind.objects.all()}
        for change in [*plan.new, *plan.changed]:
            facts = {**change.facts}
            if plan.form.model is Surcharge:
                _fill(change.entry or Surcharge(), facts, step)
                continue
            name = facts.pop("kind")
            if name not in kinds:
                kinds[name] = GarmentKind(name=name)
                _save(kinds[name], step)
            entry = change.entry or Operation(garment_kind=kinds[name], minutes=0)
            _fill(entry, facts, step)
    return plan


def _fill(entry: Operation | Surcharge, facts: Mapping[str, Any], step: Step) -> None:
    for name, value in facts.items():
        setattr(entry, name, value)
    _save(entry, step)
