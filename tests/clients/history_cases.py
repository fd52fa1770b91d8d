"""What is done to clients and their sheets, and the way back."""

from decimal import Decimal
from uuid import uuid4

from clients import actions, verbs
from clients.desk import actions as desk
from clients.fit.lengths import parse_length
from clients.fit.measures import Range
from clients.models import Contact
from clients.sheets.actions import correct_sheet, set_ranges, take_sheet
from studio.shop import clock
from tests.clients.desk import on, taken
from tests.factories import ClientFactory, MeasuredFactory, SheetFactory, TicketFactory
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


@case(verbs.RANGES)
def _(house):
    waist, hip = Range(Decimal(500), Decimal(900)), Range(Decimal(700), Decimal(1600))
    set_ranges(ranges={"waist": waist, "hip": hip}, by=house.owner)
    yield
    set_ranges(ranges={"waist": hip, "knee": waist}, by=house.owner)
