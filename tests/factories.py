"""One dull object of each kind. A test names only what it is about."""

from datetime import date, timedelta
from decimal import Decimal
from secrets import token_urlsafe

import factory
from django.core.files.base import ContentFile
from factory.django import DjangoModelFactory

from clients.models import Client, Contact, Measured, MeasureSet, OwnMeasure, Sheet
from jobs.billing.models import Invoice, Payment
from jobs.planning.models import (
    AfterFitting,
    Appointment,
    BenchTime,
    CalendarFeed,
    Declined,
    Fitting,
    HoursTaken,
    OwnSewingDay,
    OwnWeek,
    PlanRules,
    ReadyToCut,
    SewingDay,
    Todo,
    Wait,
)
from jobs.planning.plan.book import monday_of
from jobs.pricing.models import GarmentKind, Operation, PriceRules, Surcharge, WorkOrder
from jobs.tickets.models import (
    Agreement,
    AskedChange,
    ClientPage,
    FitSum,
    Garment,
    Initials,
    Line,
    Mark,
    MessageKind,
    Photo,
    SentMessage,
    Ticket,
)
from studio.shop import clock
from studio.shop.doors.second import lock
from studio.shop.models import (
    CodeApp,
    DayOff,
    NumberSeries,
    Passkey,
    Profile,
    StoredPaper,
    TaxClass,
    TaxRate,
    User,
    WorkingDay,
)
from tests.own_factories import (  # noqa: F401 -- one door to all factories
    ClothFactory,
    ClothMoveFactory,
    ClothPlanFactory,
    CostFactory,
    ErratumFactory,
    FurtherPatternFactory,
    GapFactory,
    HopeFactory,
    MakeFactory,
    NeedFactory,
    PatternFactory,
    PatternVersionFactory,
    PictureFactory,
    PileFactory,
    PilePlaceFactory,
    ReleaseFactory,
    SaleFactory,
    StageFactory,
    TesterFactory,
)

PASSWORD = "thimble-and-chalk"


class UserFactory(DjangoModelFactory):
    """The owner; ``role=User.Role.HELPER`` for a helper. The password is ``PASSWORD``."""

    class Meta:
        model = User
        skip_postgeneration_save = True

    username = factory.Sequence(lambda n: f"user{n}")
    first_name = factory.LazyAttribute(lambda user: user.username.title())
    password = factory.django.Password(PASSWORD)
    role = User.Role.OWNER


class CodeAppFactory(DjangoModelFactory):
    """Its secret is the one of RFC 6238's examples."""

    class Meta:
        model = CodeApp

    user = factory.SubFactory(UserFactory)
    secret = factory.LazyFunction(lambda: lock("GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ"))
    added_at = factory.LazyFunction(clock.now)


class PasskeyFactory(DjangoModelFactory):
    class Meta:
        model = Passkey

    user = factory.SubFactory(UserFactory)
    name = "Old phone"
    host = "elsewhere.example"
    handle = factory.Sequence(lambda n: f"key{n}")
    added_at = factory.LazyFunction(clock.now)


class TaxClassFactory(DjangoModelFactory):
    class Meta:
        model = TaxClass

    name = factory.Sequence(lambda n: f"Tax {n}")


class TaxRateFactory(DjangoModelFactory):
    class Meta:
        model = TaxRate

    tax_class = factory.SubFactory(TaxClassFactory)
    percent = Decimal("20.000")


def _taxed(name: str, percent: str) -> TaxClass:
    return TaxRateFactory(tax_class=TaxClassFactory(name=name), percent=Decimal(percent)).tax_class


class ProfileFactory(DjangoModelFactory):
    """The one studio. The two rates are there to differ; no law is quoted."""

    class Meta:
        model = Profile

    id = 1
    name = "Larkfield Sewing Room"
    street = "3 Mill Lane"
    postcode = "X00 XX00"
    city = "Larkfield"
    country = "IE"
    phone = "01 555 0100"
    email = "room@larkfield.example"
    time_zone = "Europe/Dublin"
    currency = "EUR"
    tax_mode = Profile.TaxMode.INCLUDED
    tax_number = "IE0000000X"
    legal_name = "Wren Larkfield"
    # So much that no invoice of a test asks for an address, but those that are about it.
    simplified_limit = 10**9
    worn_tax = factory.LazyFunction(lambda: _taxed("Repairs", "13.500"))
    new_tax = factory.LazyFunction(lambda: _taxed("Standard", "23.000"))


class WorkingDayFactory(DjangoModelFactory):
    class Meta:
        model = WorkingDay

    weekday = factory.Sequence(lambda n: n % 7)
    minutes = 480


class DayOffFactory(DjangoModelFactory):
    class Meta:
        model = DayOff

    day = factory.Sequence(lambda n: date(2026, 1, 1) + timedelta(days=n))
    reason = "Closed"


class NumberSeriesFactory(DjangoModelFactory):
    class Meta:
        model = NumberSeries

    key = factory.Sequence(lambda n: f"series{n}")


class StoredPaperFactory(DjangoModelFactory):
    class Meta:
        model = StoredPaper

    name = factory.Sequence(lambda n: f"paper-{n}.pdf")
    file = factory.LazyAttribute(lambda paper: ContentFile(b"%PDF-1.7\n", paper.name))
    sha256 = "0" * 64


class ClientFactory(DjangoModelFactory):
    class Meta:
        model = Client

    name = factory.Sequence(lambda n: f"Client {n}")
    phone = factory.Sequence(lambda n: f"085 555 {n % 10000:04d}")


class ContactFactory(DjangoModelFactory):
    class Meta:
        model = Contact

    client = factory.SubFactory(ClientFactory)
    kind = Contact.Kind.PHONE
    label = "work"
    value = factory.Sequence(lambda n: f"01 555 {n % 10000:04d}")


class SheetFactory(DjangoModelFactory):
    class Meta:
        model = Sheet

    client = factory.SubFactory(ClientFactory)
    taken_on = factory.LazyFunction(clock.today)
    taken_by = factory.SubFactory(UserFactory)
    waist_at = Sheet.WaistAt.NATURAL
    consent_on = factory.SelfAttribute("taken_on")


class OwnMeasureFactory(DjangoModelFactory):
    """A length along the body with no place on the figure."""

    class Meta:
        model = OwnMeasure

    name = factory.Sequence(lambda n: f"Bodice depth {n}")
    how = "From the bust point straight down to the waist cord"


class MeasureSetFactory(DjangoModelFactory):
    class Meta:
        model = MeasureSet

    name = factory.Sequence(lambda n: f"Corset {n}")
    keys = ("waist", "underbust")


class MeasuredFactory(DjangoModelFactory):
    """A waist of 72 cm."""

    class Meta:
        model = Measured

    sheet = factory.SubFactory(SheetFactory)
    key = "waist"
    mm = Decimal(720)
    typed = "72"
    unit = "cm"


class GarmentKindFactory(DjangoModelFactory):
    class Meta:
        model = GarmentKind

    name = factory.Sequence(lambda n: f"Garment {n}")


class OperationFactory(DjangoModelFactory):
    class Meta:
        model = Operation

    garment_kind = factory.SubFactory(GarmentKindFactory)
    name = factory.Sequence(lambda n: f"Operation {n}")
    price = 2400
    minutes = 30
    work_order = WorkOrder.HEM


class SurchargeFactory(DjangoModelFactory):
    class Meta:
        model = Surcharge

    name = factory.Sequence(lambda n: f"Surcharge {n}")
    percent = Decimal(25)
    minutes_percent = Decimal(25)


class PriceRulesFactory(DjangoModelFactory):
    class Meta:
        model = PriceRules

    id = 1


class TicketFactory(DjangoModelFactory):
    """A bare row, without garments or agreement; ``receive`` makes a whole one."""

    class Meta:
        model = Ticket

    number = factory.Sequence(lambda n: f"26-{n + 7001:04d}")
    client = factory.SubFactory(ClientFactory)
    received_at = factory.LazyFunction(clock.now)
    received_by = factory.SubFactory(UserFactory)
    promise_at = factory.LazyAttribute(lambda ticket: ticket.received_at + timedelta(days=7))
    currency = "EUR"
    terms = factory.LazyFunction(
        lambda: {
            "currency": "EUR",
            "tax_mode": "included",
            "rounding_step": 1,
            "minimum_charge": 0,
            "deposit_percent": "0",
        }
    )


class GarmentFactory(DjangoModelFactory):
    class Meta:
        model = Garment

    ticket = factory.SubFactory(TicketFactory)
    letter = factory.LazyAttribute(lambda garment: chr(65 + garment.ticket.garments.count()))
    kind_name = "Trousers"
    colour = "navy"


class LineFactory(DjangoModelFactory):
    class Meta:
        model = Line

    garment = factory.SubFactory(GarmentFactory)
    name = "Hem"
    unit_price = 2400
    minutes_each = 30
    work_order = WorkOrder.HEM


class AgreementFactory(DjangoModelFactory):
    class Meta:
        model = Agreement

    ticket = factory.SubFactory(TicketFactory)
    version = 1
    agreed_at = factory.LazyFunction(clock.now)
    agreed_by = factory.SubFactory(UserFactory)
    data = factory.LazyFunction(dict)


class PhotoFactory(DjangoModelFactory):
    class Meta:
        model = Photo

    garment = factory.SubFactory(GarmentFactory)
    file = factory.django.ImageField(width=80, height=60, format="JPEG")
    width = 80
    height = 60


class MarkFactory(DjangoModelFactory):
    class Meta:
        model = Mark

    photo = factory.SubFactory(PhotoFactory)
    across = 250
    down = 500
    words = "loose bead"
    at = factory.LazyFunction(clock.now)
    by = factory.SubFactory(UserFactory)


class InitialsFactory(DjangoModelFactory):
    """Initials on the glass; ``way="paper", file=""`` are those on paper."""

    class Meta:
        model = Initials

    agreement = factory.SubFactory(AgreementFactory)
    way = Initials.Medium.GLASS
    letters = "MT"
    file = factory.django.ImageField(width=60, height=24, format="PNG")
    at = factory.LazyFunction(clock.now)
    by = factory.SubFactory(UserFactory)


class SentMessageFactory(DjangoModelFactory):
    class Meta:
        model = SentMessage

    ticket = factory.SubFactory(TicketFactory)
    kind = MessageKind.READY
    way = SentMessage.Way.TEXT
    at = factory.LazyFunction(clock.now)
    by = factory.SubFactory(UserFactory)


class AskedChangeFactory(DjangoModelFactory):
    """Five more days are asked for."""

    class Meta:
        model = AskedChange

    ticket = factory.SubFactory(TicketFactory)
    by = factory.SubFactory(UserFactory, role="helper")
    at = factory.LazyFunction(clock.now)
    delta = [["ready", "2026-03-18T17:00:00+00:00", "2026-03-23T17:00:00+00:00"]]


class ClientPageFactory(DjangoModelFactory):
    class Meta:
        model = ClientPage

    ticket = factory.SubFactory(TicketFactory)
    key = factory.LazyFunction(lambda: token_urlsafe(32))
    made_at = factory.LazyFunction(clock.now)


class FitSumFactory(DjangoModelFactory):
    """A hem's sum: an edge of a metre in one layer."""

    class Meta:
        model = FitSum

    garment = factory.SubFactory(GarmentFactory)
    kind = "hem"
    asked = factory.LazyFunction(dict)
    answer = factory.LazyFunction(dict)
    edge_mm = Decimal(1000)
    layers = 1
    made_at = factory.LazyFunction(clock.now)
    made_by = factory.SubFactory(UserFactory)


class InvoiceFactory(DjangoModelFactory):
    class Meta:
        model = Invoice

    number = factory.Sequence(lambda n: f"R26-{n + 7001:04d}")
    ticket = factory.SubFactory(TicketFactory)
    issued_on = factory.LazyFunction(clock.today)
    issued_at = factory.LazyFunction(clock.now)
    issued_by = factory.SubFactory(UserFactory)
    currency = "EUR"
    net = 2115
    tax = 285
    gross = 2400
    data = factory.LazyFunction(dict)


class PaymentFactory(DjangoModelFactory):
    class Meta:
        model = Payment

    number = factory.Sequence(lambda n: f"P26-{n + 7001:04d}")
    ticket = factory.SubFactory(TicketFactory)
    amount = 2400
    currency = "EUR"
    method = Payment.Method.CASH
    kind = Payment.Kind.BALANCE
    day = factory.LazyFunction(clock.today)
    taken_at = factory.LazyFunction(clock.now)
    taken_by = factory.SubFactory(UserFactory)
    data = factory.LazyFunction(dict)


class PlanRulesFactory(DjangoModelFactory):
    class Meta:
        model = PlanRules

    id = 1


class FittingFactory(DjangoModelFactory):
    """Booked for this hour tomorrow, whatever day that is."""

    class Meta:
        model = Fitting

    ticket = factory.SubFactory(TicketFactory)
    starts_at = factory.LazyFunction(lambda: clock.now() + timedelta(days=1))


class AppointmentFactory(DjangoModelFactory):
    class Meta:
        model = Appointment

    name = factory.Sequence(lambda n: f"Visit {n}")
    starts_at = factory.LazyFunction(lambda: clock.now() + timedelta(days=1))


class AfterFittingFactory(DjangoModelFactory):
    class Meta:
        model = AfterFitting

    line = factory.SubFactory(LineFactory)
    fitting = factory.LazyAttribute(lambda gate: FittingFactory(ticket=gate.line.garment.ticket))


class ReadyToCutFactory(DjangoModelFactory):
    class Meta:
        model = ReadyToCut

    line = factory.SubFactory(LineFactory)
    at = factory.LazyFunction(clock.now)
    by = factory.SubFactory(UserFactory)


class SewingDayFactory(DjangoModelFactory):
    class Meta:
        model = SewingDay

    line = factory.SubFactory(LineFactory)
    day = factory.LazyFunction(clock.today)


class OwnSewingDayFactory(DjangoModelFactory):
    class Meta:
        model = OwnSewingDay

    day = factory.LazyFunction(clock.today)
    minutes = 60


class WaitFactory(DjangoModelFactory):
    class Meta:
        model = Wait

    line = factory.SubFactory(LineFactory)
    what = Wait.What.CLIENT
    question = "How short?"
    since = factory.LazyFunction(clock.now)
    by = factory.SubFactory(UserFactory)


class BenchTimeFactory(DjangoModelFactory):
    """Half an hour on a client's work, over by now."""

    class Meta:
        model = BenchTime

    line = factory.SubFactory(LineFactory)
    started_at = factory.LazyFunction(lambda: clock.now() - timedelta(minutes=30))
    minutes = 30
    by = factory.SubFactory(UserFactory)


class OwnWeekFactory(DjangoModelFactory):
    class Meta:
        model = OwnWeek

    monday = factory.Sequence(lambda n: date(2026, 1, 5) + timedelta(weeks=n))
    minutes = 300


class TodoFactory(DjangoModelFactory):
    class Meta:
        model = Todo

    words = factory.Sequence(lambda n: f"Thread {n}")
    place = factory.Sequence(lambda n: n)
    added_at = factory.LazyFunction(clock.now)


class HoursTakenFactory(DjangoModelFactory):
    class Meta:
        model = HoursTaken

    ticket = factory.SubFactory(TicketFactory)
    monday = factory.LazyFunction(lambda: monday_of(clock.today()))
    minutes = 60
    at = factory.LazyFunction(clock.now)
    by = factory.SubFactory(UserFactory)


class DeclinedFactory(DjangoModelFactory):
    class Meta:
        model = Declined

    at = factory.LazyFunction(clock.now)
    by = factory.SubFactory(UserFactory)
    wanted_by = factory.LazyFunction(lambda: clock.today() + timedelta(days=2))
    minutes = 120


class CalendarFeedFactory(DjangoModelFactory):
    class Meta:
        model = CalendarFeed

    key = factory.Sequence(lambda number: f"key-{number}")
    made_at = factory.LazyFunction(clock.now)
    by = factory.SubFactory(UserFactory)


FACTORIES = [
    value
    for value in vars().values()
    if isinstance(value, type) and issubclass(value, DjangoModelFactory)
    and value is not DjangoModelFactory
]  # fmt: skip


def count_anew() -> None:
    """No test sees how many others were made before it."""
    for maker in FACTORIES:
        maker.reset_sequence(force=True)
