"""What is done to clients and their sheets, and the way back."""

from decimal import Decimal
from uuid import uuid4

from clients import actions, verbs
from clients.desk import actions as desk
from clients.fit.lengths import parse_length
from clients.fit.measures import Range
from clients.models import Contact, MeasureSet, OwnMeasure
from clients.sheets import actions as sheets
from clients.sheets.actions import correct_sheet, set_ranges, take_sheet
from studio.shop import clock
from tests.clients.desk import on, taken
from tests.factories import (
    ClientFactory,
    MeasuredFactory,
    MeasureSetFactory,
    OwnMeasureFactory,
    SheetFactory,
    TicketFactory,
)
from tests.history_cases import case

FACTS = {"name": "Nora Penhale", "phone": "085 555 0199", "way": "call"}
WAIST = {("waist", ""): parse_length("72", "cm")}


@case(verbs.ADD, leaves=("shop.numberseries",))
def _(house):
    yield
    actions.add_client(facts=FACTS, by=house.owner)


@case(verbs.CHANGE)
def _(house):
    client = ClientFactory()
    yield
    actions.change_client(client=client, facts=FACTS, by=house.owner)


@case(verbs.PREFER)
def _(house):
    client = ClientFactory()
    work = Contact.objects.create(client=client, kind="phone", label="work", value="01 555 0177")
    yield
    actions.prefer(contact=work, by=house.owner)


@case(verbs.HOUSEHOLD)
def _(house):
    child, mother = ClientFactory(), ClientFactory()
    yield
    actions.join_household(client=child, other=mother, by=house.owner)


@case(verbs.MERGE)
def _(house):
    kept, gone = ClientFactory(), ClientFactory(email="nora@larkfield.example")
    Contact.objects.create(client=gone, kind="phone", value="01 555 0177")
    ClientFactory(household=gone)
    TicketFactory(client=gone)
    SheetFactory(client=gone)
    ClientFactory(merged_into=gone)
    yield
    actions.merge(keep=kept, other=gone, by=house.owner, facts={"email": gone.email})


FILE = "name,phone\nNora Penhale,085 555 0199\n"


@case(verbs.IMPORT, leaves=("shop.numberseries", "clients.clientfile", "clients.filerow"))
def _(house):
    yield
    taken(FILE, house.owner)


@case(verbs.COMPLETE, leaves=("shop.numberseries", "clients.clientfile", "clients.filerow"))
def _(house):
    ClientFactory(name=FACTS["name"], phone=FACTS["phone"])
    yield
    taken("name,phone,notes\nNora Penhale,085 555 0199,tall\n", house.owner)


@case(verbs.TAKE_FILE)
def _(house):
    yield
    taken(FILE, house.owner)


@case(verbs.UNDO_FILE)
def _(house):
    file = taken(FILE, house.owner)
    yield
    desk.start_undo(file=file)
    on(file, house.owner)


def sheet_facts() -> dict:
    return {"taken_on": clock.today(), "consent_on": clock.today(), "waist_at": "natural"}


@case(verbs.TAKE)
def _(house):
    client = ClientFactory()
    yield
    take_sheet(client=client, by=house.owner, facts=sheet_facts(), lengths=WAIST, form_key=uuid4())


@case(verbs.CORRECT)
def _(house):
    sheet = SheetFactory()
    for key, mm in (("waist", 700), ("hip", 980)):
        MeasuredFactory(sheet=sheet, key=key, mm=mm, typed=str(mm // 10))
    lengths = WAIST | {("thigh", "left"): parse_length("57", "cm")}
    yield
    facts, emptied = sheet_facts() | {"worn": "corset"}, [("hip", "")]
    correct_sheet(sheet=sheet, by=house.owner, facts=facts, lengths=lengths, emptied=emptied)


@case(verbs.MEASURE, leaves=("shop.numberseries",))
def _(house):
    OwnMeasureFactory(place=1)
    yield
    new = OwnMeasure(name="Heel to ball", how="Along the sole")
    sheets.save_own_measure(measure=new, place=1, by=house.owner)


@case(verbs.MEASURE_AWAY)
def _(house):
    taken = OwnMeasureFactory()
    MeasuredFactory(key=taken.key, own=taken)
    yield
    sheets.remove_own_measure(measure=taken, by=house.owner)


@case(verbs.MEASURE_BACK)
def _(house):
    retired = OwnMeasureFactory(retired_at=clock.now())
    yield
    sheets.return_own_measure(measure=retired, by=house.owner)


@case(verbs.SET)
def _(house):
    yield
    sheets.save_set(chosen=MeasureSet(name="Boots", keys=["calf", "ankle"]), by=house.owner)


@case(verbs.SET_AWAY)
def _(house):
    boots = MeasureSetFactory()
    yield
    sheets.remove_set(chosen=boots, by=house.owner)


@case(verbs.RANGES)
def _(house):
    waist, hip = Range(Decimal(500), Decimal(900)), Range(Decimal(700), Decimal(1600))
    set_ranges(ranges={"waist": waist, "hip": hip}, by=house.owner)
    yield
    set_ranges(ranges={"waist": hip, "knee": waist}, by=house.owner)
