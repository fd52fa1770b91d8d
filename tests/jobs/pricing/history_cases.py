"""What is done to the price list, for ``tests/test_history.py``."""

from jobs.pricing import actions, verbs
from jobs.pricing.files import read_list
from jobs.pricing.models import GarmentKind, Operation, PriceRules, Surcharge
from tests.factories import GarmentKindFactory, OperationFactory, SurchargeFactory
from tests.history_cases import case


@case(verbs.ADDED)
def _an_operation(house):
    kind, _ = GarmentKindFactory(), GarmentKindFactory()
    yield
    entry = Operation(garment_kind=kind, name="Taper", price=2000, minutes=25)
    actions.save_entry(entry=entry, by=house.owner)


@case(verbs.ADDED)
def _a_kind_of_garment(house):
    yield
    actions.save_entry(entry=GarmentKind(name="Kilt"), by=house.owner)


@case(verbs.CHANGED)
def _an_operation_changed(house):
    entry = OperationFactory(price=2400, minutes=30, stitch="")
    yield
    entry.price, entry.minutes, entry.stitch = 2600, 35, "103"
    actions.save_entry(entry=entry, by=house.owner)


@case(verbs.CHANGED)
def _a_surcharge_changed(house):
    entry = SurchargeFactory()
    yield
    entry.percent += 5
    entry.active = False
    actions.save_entry(entry=entry, by=house.owner)


@case(verbs.PLACED)
def _placed(house):
    bustle, hem = OperationFactory(name="Bustle", work_order=30), OperationFactory(name="Hem")
    yield
    assert actions.place_work(places={bustle.pk: 60, hem.pk: hem.work_order}, by=house.owner) == 1


@case(verbs.MOVED)
def _moved(house):
    kind = GarmentKindFactory()
    for place, name in enumerate("ABC", 1):
        OperationFactory(garment_kind=kind, name=name, position=place)
    yield
    entry = Operation.objects.get(garment_kind=kind, name="C")
    actions.move_entry(entry=entry, step=-1, by=house.owner)


@case(verbs.REMOVED)
def _a_kind_with_its_operations(house):
    kind = GarmentKindFactory()
    OperationFactory(garment_kind=kind, name="Hem")
    OperationFactory(garment_kind=kind, name="Taper")
    yield
    assert actions.remove_entry(entry=kind, by=house.owner).verb == verbs.REMOVED.key


@case(verbs.REMOVED)
def _a_surcharge_removed(house):
    entry = SurchargeFactory()
    yield
    assert actions.remove_entry(entry=entry, by=house.owner).verb == verbs.REMOVED.key


@case(verbs.WITHDRAWN)
def _what_a_ticket_names(house):
    entry = OperationFactory()
    line = house.line()
    line.operation = entry
    line.save(update_fields=["operation"])
    yield
    assert actions.remove_entry(entry=entry, by=house.owner).verb == verbs.WITHDRAWN.key


@case(verbs.RULES)
def _rules(house):
    PriceRules.objects.update_or_create(pk=1, defaults={"minimum_charge": 500})
    yield
    rules = PriceRules.load()
    rules.minimum_charge, rules.rounding_step = 800, 50
    actions.save_rules(rules=rules, by=house.owner)


@case(verbs.STARTED)
def _started(house):
    yield
    assert actions.load_starting_list(by=house.owner)


@case(verbs.RECALCULATED)
def _recalculated(house):
    OperationFactory(price=1, minutes=30)
    OperationFactory(price=2, minutes=45)
    yield
    actions.recalculate_prices(hour=4800, currency="EUR", by=house.owner)


@case(verbs.IMPORTED)
def _imported(house):
    kind = GarmentKindFactory(name="Trousers")
    OperationFactory(garment_kind=kind, name="Hem", price=2400, minutes=30)
    text = "garment,operation,price,minutes\nTrousers,Hem,26,35\nKilt,Pleat,80,90\n"
    rows = read_list(text, house.studio).right
    yield
    actions.import_list(rows=rows, studio=house.studio, by=house.owner)
    assert not Surcharge.objects.exists()
