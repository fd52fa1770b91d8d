"""Every address by its name, and what each role gets there. Whoever adds an address adds its row.

A row says what one request comes to: a status code, or LOGIN for the way to the login page. The
request is a GET unless the row says ``method="post"``. ``make`` builds what the address speaks of
and gives the arguments of the address. ``shows`` is what the owner gets: a whole page, which the
browser then walks through, a PART of one for htmx, or a FILE.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any
from uuid import uuid4

from jobs.billing.actions import issue_invoice
from jobs.planning.plan.book import monday_of
from studio.shop import clock
from studio.shop.may import Tick
from studio.shop.models import Profile, User
from tests import factories as f
from tests.drafts import issued, paid, received
from tests.url_makers import (
    Arguments,
    a_cancelled_ticket,
    a_change,
    a_change_to_carry,
    a_child_garment,
    a_client_file,
    a_client_page,
    a_collected_ticket,
    a_copy,
    a_finished_make_to_judge,
    a_garment,
    a_journal,
    a_line,
    a_merge,
    a_pad,
    a_phrase,
    a_release_with,
    a_ticket,
    an_asked_change,
    pk_of,
)

LOGIN = "login"
PAGE, PART, FILE = "page", "part", "file"

Outcome = int | str


@dataclass(frozen=True)
class Row:
    owner: Outcome = 200
    helper: Outcome = 200
    nobody: Outcome = LOGIN
    method: str = "get"
    make: Callable[[], Arguments] = dict
    shows: str = PAGE
    # The ticks that a helper needs, all of them; the helper of the column has what was usual.
    ticks: frozenset[str] = frozenset()
    data: Arguments = field(default_factory=dict)


def money(**rest: Any) -> Row:
    """Something about money or settings, which the helper may not see."""
    return Row(helper=403, **rest)


def ticked(*ticks: Tick, **rest: Any) -> Row:
    return Row(ticks=frozenset(tick.value for tick in ticks), **rest)


def verb(make: Callable[[], Arguments] = dict, **rest: Any) -> Row:
    """A step that both may take, sent as a form; it leads on to a page."""
    return Row(**{"method": "post", "owner": 302, "helper": 302, "make": make} | rest)


def money_verb(make: Callable[[], Arguments] = dict, **rest: Any) -> Row:
    return verb(make, **{"helper": 403} | rest)


PUBLIC = {
    "health", "login", "setup", "setup-tax", "setup-hours", "calendar-feed", "manifest",
    "client-page",
}  # fmt: skip

COUNTER = {
    "today": Row(),
    "first-steps-away": money_verb(),
    "find": Row(),
    "more": Row(),
    "own-more": Row(),
    "drop-off": Row(),
    "drop-off-clients": Row(shows=PART),
    "drop-off-hem": Row(shows=PART),
    "pick-up": Row(),
    "ticket": Row(make=a_ticket),
    "ticket-change": Row(make=a_ticket),
    "ticket-saved": Row(make=a_ticket),
    "ticket-pick-up": Row(make=a_ticket),
    "ticket-handed-over": Row(make=a_collected_ticket),
    "ticket-answer": money_verb(an_asked_change, data={"asked": "1", "answer": "no"}),
    "ticket-message": Row(make=a_ticket),
    "ticket-told": verb(a_ticket, data={"kind": "received", "text": "Ready soon."}),
    "ticket-mail": verb(a_ticket, data={"kind": "received", "text": "Ready soon."}),
    "ticket-notice": Row(make=a_ticket, shows=FILE),
    "client-page-open": verb(a_ticket),
    "client-page-renew": verb(a_ticket),
    "client-page-close": verb(a_ticket),
    # Whoever works here is led to the ticket.
    "client-page": Row(make=a_client_page, owner=302, helper=302, nobody=200),
    "what-to-say": Row(),
    "uncollected": Row(),
    "studio-messages": money(),
    "studio-mail": money(),
    "studio-mail-test": money_verb(),
    "client": Row(make=pk_of(f.ClientFactory)),
    "client-note": verb(pk_of(f.ClientFactory), data={"note": "left leg shorter"}),
    "client-privacy": money(make=pk_of(f.ClientFactory)),
    "client-export": money(make=pk_of(f.ClientFactory), shows=FILE),
    "client-erase": money(make=pk_of(f.ClientFactory)),
    # Set up once, the page is gone.
    "setup": Row(owner=404, helper=404, nobody=404),
    "setup-tax": Row(owner=404, helper=404, nobody=404),
    "setup-hours": Row(owner=404, helper=404, nobody=404),
}

SHOP = {
    "health": Row(nobody=200, shows=FILE),
    # Whoever is in already is led on.
    "login": Row(owner=302, helper=302, nobody=200),
    "logout": verb(owner=LOGIN, helper=LOGIN),
    "password": Row(),
    # Whoever is in already is led on; who is not gives the password first.
    "login-second": Row(owner=302, helper=302),
    "logins": Row(),
    "logins-out": verb(),
    "second": Row(),
    "second-app": Row(),
    "second-app-remove": verb(),
    # Shown once, when they are made.
    "second-codes": Row(owner=302, helper=302),
    "second-paper": Row(owner=302, helper=302),
    "second-passkey": Row(),
    # It is somebody else's.
    "second-passkey-remove": verb(pk_of(f.PasskeyFactory), owner=404, helper=404),
    "looks": money(),
    "studio-settings": money(),
    "doctor": money(),
    "doctor-sweep": money_verb(),
    "studio-changes": money(),
    "studio-undo": money_verb(data={"entry": "0"}, owner=404),
    **dict.fromkeys(("studio-profile", "studio-papers", "studio-places"), money()),
    "studio-words": money(),
    "studio-words-in": money(make=lambda: {"code": "de"}),
    "studio-words-checked": money_verb(lambda: {"code": "de"}),
    "studio-words-phrase": money(make=a_phrase),
    "studio-taxes": money(),
    "studio-tax-new": money(),
    "studio-tax": money(make=pk_of(f.TaxClassFactory)),
    "studio-rate-new": money_verb(
        pk_of(f.TaxClassFactory), data={"percent": "13.5", "valid_from": "2026-01-01"}
    ),
    "studio-tax-remove": money_verb(pk_of(f.TaxClassFactory)),
    "studio-rate-remove": money_verb(pk_of(f.TaxRateFactory)),
    "studio-week": money(),
    "studio-days-off": money(),
    "studio-holidays": money_verb(data={"year": "2026"}),
    "studio-day-off-remove": money_verb(pk_of(f.DayOffFactory)),
    "studio-people": money(),
    "backups": money(),
    "backup-now": money_verb(),
    "backup-place": money(),
    "backup-passphrase": money(),
    "backup-file": money(make=a_copy, shows=FILE),
    "backup-copy": money(make=a_copy),
    "backup-look": money_verb(a_copy),
    "backup-put-back": money_verb(a_copy),
    "backup-take-back": money_verb(),
    "everything": money(shows=FILE),
    "studio-person-new": money(),
    "studio-person-password": money(make=pk_of(f.UserFactory)),
    "studio-person-ticks": money_verb(
        lambda: {"pk": f.UserFactory(role="helper").pk}, data={"tick": ["health"]}
    ),
    "studio-person-second": money_verb(pk_of(f.UserFactory)),
    "studio-person-out": money_verb(pk_of(f.UserFactory)),
    "studio-person-back": money_verb(pk_of(f.UserFactory)),
}

PRICES = {
    "prices": Row(),
    "price-rules": money(),
    "price-order": money(),
    "price-names": money(make=lambda: {"code": "pl"}),
    "price-start": money(),
    "price-changes": money(),
    "price-undo": money_verb(data={"entry": "0"}, owner=404),
    "prices-csv": money(shows=FILE),
    "surcharges-csv": money(shows=FILE),
    "prices-import": money(),
    "price-kind-new": money(),
    "price-kind": money(make=pk_of(f.GarmentKindFactory)),
    "price-kind-move": money_verb(pk_of(f.GarmentKindFactory), data={"way": "up"}),
    "price-kind-remove": money_verb(pk_of(f.GarmentKindFactory)),
    "price-operation-new": money(make=pk_of(f.GarmentKindFactory)),
    "price-operation": money(make=pk_of(f.OperationFactory)),
    "price-operation-move": money_verb(pk_of(f.OperationFactory), data={"way": "up"}),
    "price-operation-remove": money_verb(pk_of(f.OperationFactory)),
    "price-surcharge-new": money(),
    "price-surcharge": money(make=pk_of(f.SurchargeFactory)),
    "price-surcharge-move": money_verb(pk_of(f.SurchargeFactory), data={"way": "up"}),
    "price-surcharge-remove": money_verb(pk_of(f.SurchargeFactory)),
}

CLIENTS = {
    "clients": Row(),
    "client-new": Row(),
    "client-edit": Row(make=pk_of(f.ClientFactory)),
    "contact-first": verb(pk_of(f.ContactFactory)),
    "client-household": Row(make=pk_of(f.ClientFactory)),
    "client-merge": ticked(Tick.MERGE, make=pk_of(f.ClientFactory)),
    "client-unmerge": verb(a_merge, ticks=frozenset({Tick.MERGE.value})),
    "client-undo": verb(a_change),
    "clients-csv": ticked(Tick.FILES, shows=FILE),
    "clients-vcf": ticked(Tick.FILES, shows=FILE),
    "clients-import": Row(),
    "clients-file": Row(make=a_client_file),
    "clients-file-refused": Row(make=a_client_file, shows=FILE),
    "sheets": ticked(Tick.MEASURES, make=pk_of(f.ClientFactory)),
    "sheet-new": ticked(Tick.MEASURES, make=pk_of(f.ClientFactory)),
    "sheets-csv": ticked(Tick.MEASURES, Tick.FILES, make=pk_of(f.ClientFactory), shows=FILE),
    "sheets-import": ticked(Tick.MEASURES, make=pk_of(f.ClientFactory)),
    "sheet": ticked(Tick.MEASURES, make=lambda: {"pk": f.MeasuredFactory().sheet_id}),
    "sheet-correct": ticked(Tick.MEASURES, make=lambda: {"pk": f.MeasuredFactory().sheet_id}),
    "measure-ranges": money(),
    **dict.fromkeys(("own-measures", "own-measure-new", "measure-set-new"), money()),
    "own-measure": money(make=pk_of(f.OwnMeasureFactory)),
    "measure-set": money(make=pk_of(f.MeasureSetFactory)),
    "sheet-card": ticked(
        Tick.MEASURES, make=lambda: {"pk": f.MeasuredFactory().sheet_id, "size": "a6"}, shows=FILE
    ),
    "how-to-measure": Row(),
}

TICKETS = {
    "tickets": Row(),
    "ticket-start": verb(a_ticket),
    "ticket-tick-all": verb(a_ticket),
    "ticket-ready": verb(a_ticket),
    "ticket-cancel": verb(a_ticket, data={"why": "Changed their mind"}),
    "ticket-hand-back": verb(a_cancelled_ticket),
    "garment-hangs": Row(make=pk_of(f.GarmentFactory)),
    "rail": Row(),
    "rail-went-back": verb(),
    "ticket-undo": verb(a_ticket, data={"entry": "0"}, owner=404, helper=404),
    "ticket-promise": verb(a_ticket, data={"day": "2027-01-04", "time": "17:00"}),
    "line-tick": verb(a_line),
    "line-untick": verb(a_line),
    "line-why-not": verb(a_line, data={"why": "The cloth tore"}),
    "line-measure": Row(make=a_line),
    "garment-photo": verb(pk_of(f.GarmentFactory)),
    "garment-worn": verb(a_garment, data={"shoes": "black pumps", "heel": "7 cm"}),
    "garment-care": verb(pk_of(f.GarmentFactory), data={"fibre": "wool", "iron": "2"}),
    "cautions": Row(),
    "caution-read": verb(a_child_garment, data={"caution": "cords"}),
    "garment-fit": Row(make=pk_of(f.GarmentFactory)),
    "garment-sheet": Row(make=pk_of(f.GarmentFactory)),
    "garment-cloth": verb(pk_of(f.GarmentFactory), data={"cloth": "knit"}),
    "fit-sum": Row(make=lambda: {"pk": f.GarmentFactory().pk, "kind": "alter"}),
    "photo": Row(make=pk_of(f.PhotoFactory), shows=FILE),
    # A helper's claim tickets have no prices, see tests/jobs/tickets/test_paper_views.py.
    "notices": Row(),
    "paper-prices": ticked(Tick.PRICES, shows=FILE),
    "paper-prices-folded": ticked(Tick.PRICES, shows=FILE),
    "paper-day-end": money(shows=FILE),
    "paper-in-case": money(shows=FILE),
    "paper-rack": Row(shows=FILE),
    "paper-today": Row(shows=FILE),
    "paper-week": Row(make=lambda: {"monday": f"{monday_of(clock.today())}"}, shows=FILE),
    "paper-year": Row(make=lambda: {"year": clock.today().year}, shows=FILE),
    "pads": money(),
    "pad": money(make=a_pad),
    "pad-void": money_verb(a_pad, data={"number": ["26-0001"], "why": "spoilt"}),
    "pad-paper": money(make=a_pad, shows=FILE),
    "paper-measures": Row(shows=FILE),
    "paper-cautions": Row(shows=FILE),
    "ticket-papers": Row(make=a_ticket, shows=FILE),
    "ticket-press": Row(make=lambda: {**a_ticket(), "printer": 1}, shows=FILE),
    "ticket-claim": Row(make=a_ticket, shows=FILE),
    "ticket-large": Row(make=a_ticket, shows=FILE),
    "ticket-roll": Row(make=a_ticket, shows=FILE),
    "ticket-tags": Row(make=a_ticket, shows=FILE),
    "ticket-work-sheet": Row(make=a_ticket, shows=FILE),
    "agreement-paper": ticked(Tick.PRICES, make=lambda: a_ticket() | {"version": 1}, shows=FILE),
    "agreement-claim": ticked(Tick.PRICES, make=lambda: a_ticket() | {"version": 1}, shows=FILE),
    "agreement-initials": ticked(Tick.PRICES, make=lambda: a_ticket() | {"version": 1}),
    "drawn-initials": ticked(Tick.PRICES, make=pk_of(f.InitialsFactory), shows=FILE),
    "photo-marks": Row(make=pk_of(f.PhotoFactory)),
    "mark-remove": verb(pk_of(f.MarkFactory)),
}


def an_invoice() -> Arguments:
    studio, by = Profile.objects.get(), f.UserFactory()
    ticket = received(studio, by)
    return {"number": issue_invoice(ticket=ticket, by=by, studio=studio, form_key=uuid4()).number}


def a_payment() -> Arguments:
    payment = paid(Profile.objects.get(), f.UserFactory())
    return {"number": payment.ticket.number, "receipt": payment.number}


def an_issued_invoice() -> Arguments:
    return {"number": issued(Profile.objects.get(), f.UserFactory()).number}


def an_electronic_invoice() -> Arguments:
    studio = Profile.objects.get()
    studio.electronic = True
    return {"number": issued(studio, f.UserFactory()).number}


def a_taken_payment() -> Arguments:
    by = User.objects.filter(role=User.Role.HELPER).first() or f.UserFactory()
    return {"number": paid(Profile.objects.get(), by).number}


BILLING = {
    "invoice-paper": money(make=an_issued_invoice, shows=FILE),
    "receipt": ticked(Tick.DRAWER, make=a_taken_payment, shows=FILE),
    "invoice-xml": money(make=an_electronic_invoice, shows=FILE),
    "money": money(),
    "day-end": ticked(Tick.DRAWER),
    "ledger-csv": money(shows=FILE, data={"from": "2026-01-01", "to": "2026-12-31"}),
    "owing": money(),
    "payments": money(),
    "invoices": money(),
    "studio-invoices": money(),
    "ready": Row(),
    "invoice": money(make=an_invoice),
    "invoice-credit": money(make=an_invoice),
    "invoice-credit-lines": money(make=an_issued_invoice),
    "invoice-issue": money(make=a_ticket),
    "reverse-charge": money(make=a_ticket),
    "payment-take": money(make=a_ticket),
    "payment-refund": money(make=a_ticket),
    "payment-reverse": money(make=a_payment),
}


def a_fitting() -> Arguments:
    ticket = received(Profile.objects.get(), f.UserFactory())
    return {"pk": f.FittingFactory(ticket=ticket).pk}


def a_wait() -> Arguments:
    ticket = received(Profile.objects.get(), f.UserFactory())
    return {"pk": f.WaitFactory(line=ticket.garments.get().lines.get()).pk}


PLANNING: dict[str, Row] = {
    "week": Row(),
    "week-of": Row(make=lambda: {"monday": monday_of(clock.today())}),
    "week-put": verb(),
    "week-loose": verb(),
    "week-undo": verb(),
    "clock-start": verb(data={"purpose": "own"}),
    "clock-stop": verb(),
    "make-clock": Row(owner=302, helper=302, make=pk_of(f.MakeFactory)),
    "pattern-carry": verb(a_change_to_carry),
    "pattern-take-out": verb(pk_of(f.PatternVersionFactory)),
    "todo-gap": money_verb(pk_of(f.GapFactory)),
    "pattern-hours": Row(make=pk_of(f.PatternFactory)),
    "what-fits": Row(),
    "clock-catch-up": verb(),
    "ticket-event": Row(make=a_ticket),
    "event-habits": money_verb(),
    "fitting-book": Row(make=a_ticket),
    "fitting-work": verb(a_ticket),
    "fitting-move": Row(make=a_fitting),
    "fitting-kept": verb(a_fitting),
    "fitting-missed": verb(a_fitting),
    "fitting-cancel": verb(a_fitting),
    "line-cut": Row(make=a_line),
    "line-wait": Row(make=a_line),
    "wait-end": verb(a_wait),
    "own-hours": money(),
    "waiting": Row(),
    "todo": Row(),
    "todo-tick": verb(pk_of(f.TodoFactory), data={"done": "1"}),
    "todo-first": verb(pk_of(f.TodoFactory)),
    "todo-remove": verb(pk_of(f.TodoFactory)),
    "todo-move": money_verb(pk_of(f.TodoFactory), data={"side": "buy"}),
    "todo-no-cloth": money_verb(pk_of(f.MakeFactory)),
    "todo-bought": money_verb(pk_of(f.MakeFactory)),
    "todo-undo": verb(owner=404, helper=404),
    "appointments": Row(),
    "appointment": Row(make=pk_of(f.AppointmentFactory)),
    "appointment-remove": verb(pk_of(f.AppointmentFactory)),
    "hem-minutes": Row(),
    "rush": Row(),
    "too-much": Row(),
    "too-much-agree": verb(ticks=frozenset({Tick.AGREED.value})),
    "new-days": Row(),
    "new-days-undo": verb(),
    "new-day-told": verb(a_ticket),
    "calendar-feed": Row(make=lambda: {"key": f.CalendarFeedFactory().key}, nobody=200, shows=FILE),
    "studio-calendar": money(),
    "studio-calendar-new": money_verb(),
    "studio-calendar-off": money_verb(),
    "too-much-move": verb(a_ticket, data={"day": "2027-01-04"}),
}


def a_plan() -> Arguments:
    plan = f.ClothPlanFactory()
    return {"pk": plan.cloth.pk, "make": plan.make.pk}


SHELF: dict[str, Row] = {
    "cloth-list": Row(),
    "cloth-new": Row(),
    "cloth": Row(make=pk_of(f.ClothFactory)),
    "cloth-changes": Row(make=pk_of(f.ClothFactory)),
    "cloth-edit": Row(make=pk_of(f.ClothFactory)),
    "cloth-for": verb(pk_of(f.ClothFactory), owner=200, helper=200),
    "cloth-for-off": verb(a_plan),
    "cloth-cut": Row(make=pk_of(f.ClothFactory)),
    "cloth-more": Row(make=pk_of(f.ClothFactory)),
    "cloth-back": Row(make=pk_of(f.ClothFactory)),
    "cloth-wash": Row(make=pk_of(f.ClothFactory)),
    "cloth-measure": Row(make=pk_of(f.ClothFactory)),
    "cloth-give": Row(make=pk_of(f.ClothFactory)),
    "cloth-card": Row(make=pk_of(f.ClothFactory), shows=FILE),
    "cloth-undo": verb(pk_of(f.ClothMoveFactory)),
    "cloth-year": Row(make=lambda: {"year": clock.today().year}),
}


def a_make_with(name: str) -> Callable[[], Arguments]:
    """A make and the picture, cloth or pattern it has with it."""

    def made() -> Arguments:
        if name == "pattern":
            row = f.FurtherPatternFactory()
            return {"pk": row.make.pk, "pattern": row.pattern.pk}
        make = f.MakeFactory()
        if name == "cloth":
            return {"pk": make.pk, "cloth": f.ClothPlanFactory(make=make).cloth.pk}
        make.pictures.add(picture := f.PictureFactory())
        return {"pk": make.pk, "picture": picture.pk}

    return made


def finished_make() -> Arguments:
    return {"pk": f.MakeFactory(state="finished", finished_on=clock.today()).pk}


# The helper may see and add: nothing here is about money.
IDEAS: dict[str, Row] = {
    "own": Row(),
    "own-arrange": verb(owner=409, helper=409),
    "own-give": verb(owner=409, helper=409),
    "own-tidy": verb(),
    "pile-new": verb(data={"name": "Choir"}),
    "pile": verb(pk_of(f.PileFactory), data={"name": "Choir"}),
    "idea-new": Row(),
    "idea-draw": Row(),
    "idea-kept": verb(pk_of(f.MakeFactory)),
    "idea-share": Row(owner=302, helper=302),
    "manifest": Row(nobody=200, shows=FILE),
    "make-draw": Row(make=a_make_with("picture")),
    "whim": verb(data={"words": "Tote bag"}),
    "own-undo": verb(),
    "own-picture": Row(make=pk_of(f.PictureFactory), shows=FILE),
    "own-picture-small": Row(make=pk_of(f.PictureFactory), shows=FILE),
    "makes": Row(),
    "make": Row(make=pk_of(f.MakeFactory)),
    "make-changes": Row(make=pk_of(f.MakeFactory)),
    "make-edit": Row(make=pk_of(f.MakeFactory)),
    "make-finish": Row(make=pk_of(f.MakeFactory)),
    "make-picture": verb(pk_of(f.MakeFactory)),
    "make-picture-off": verb(a_make_with("picture")),
    "make-picture-says": verb(a_make_with("picture"), data={"shows": "worn"}),
    "make-sketch": Row(make=pk_of(f.MakeFactory)),
    "make-say": verb(pk_of(f.MakeFactory)),
    "make-cut": Row(make=pk_of(f.MakeFactory)),
    "make-whom": Row(make=pk_of(f.MakeFactory)),
    "make-cloth": Row(make=pk_of(f.MakeFactory)),
    "make-pattern": Row(make=pk_of(f.MakeFactory)),
    "make-pattern-edit": Row(make=a_make_with("pattern")),
    "make-pattern-off": verb(a_make_with("pattern")),
    "make-again": verb(pk_of(f.MakeFactory)),
    "make-pile": verb(pk_of(f.MakeFactory), data={"name": "Choir"}),
    "make-season": verb(pk_of(f.MakeFactory)),
    "make-todo": verb(pk_of(f.MakeFactory), data={"words": "Wash it"}),
    "make-cloth-off": verb(a_make_with("cloth")),
    "make-start": verb(pk_of(f.MakeFactory)),
    "make-made": verb(pk_of(f.MakeFactory)),
    "make-let-go": verb(pk_of(f.MakeFactory)),
    "make-take-up": verb(finished_make),
    "make-move": verb(pk_of(f.MakeFactory), data={"to": "lined_up"}),
    "make-heat": verb(pk_of(f.MakeFactory), data={"heat": "3"}),
    "make-fate": verb(finished_make, data={"fate": "often"}),
}

DRAWER: dict[str, Row] = {
    "pattern-list": Row(),
    "pattern": Row(make=pk_of(f.PatternFactory)),
    "pattern-changes": Row(make=pk_of(f.PatternFactory)),
    "pattern-new": Row(),
    "pattern-edit": Row(make=pk_of(f.PatternFactory)),
    "pattern-away": verb(pk_of(f.PatternFactory)),
    "pattern-back": verb(pk_of(f.PatternFactory)),
    "pattern-again": verb(pk_of(f.PatternFactory)),
}

RELEASES: dict[str, Row] = {
    "releases": Row(),
    "release": Row(make=pk_of(f.ReleaseFactory)),
    "release-changes": Row(make=pk_of(f.ReleaseFactory)),
    "release-new": Row(),
    "release-edit": Row(make=pk_of(f.ReleaseFactory)),
    "release-money": money(make=pk_of(f.ReleaseFactory)),
    "release-published": verb(pk_of(f.ReleaseFactory)),
    "release-put-away": verb(pk_of(f.ReleaseFactory)),
    "stage": Row(make=pk_of(f.StageFactory)),
    "stage-new": Row(make=pk_of(f.ReleaseFactory)),
    "stage-move": verb(pk_of(f.StageFactory), data={"way": "1", "place": "0"}),
    "release-guesses": verb(pk_of(f.ReleaseFactory)),
    "release-belongs": verb(pk_of(f.ReleaseFactory)),
    "release-sample-off": verb(a_release_with("sample")),
    "release-photo-off": verb(a_release_with("photo")),
    "stage-done": verb(pk_of(f.StageFactory)),
    "stage-off": verb(pk_of(f.StageFactory)),
    "stage-minutes": Row(make=pk_of(f.StageFactory)),
    "stage-minutes-off": verb(lambda: {"pk": f.BenchTimeFactory(stage=f.StageFactory()).pk}),
    "tester": Row(make=pk_of(f.TesterFactory)),
    "tester-new": Row(make=pk_of(f.ReleaseFactory)),
    "tester-off": verb(pk_of(f.TesterFactory)),
    "erratum": Row(make=pk_of(f.ErratumFactory)),
    "erratum-new": Row(make=pk_of(f.ReleaseFactory)),
    "erratum-mended": verb(pk_of(f.ErratumFactory)),
    "erratum-off": verb(pk_of(f.ErratumFactory)),
    "cost": money(make=pk_of(f.CostFactory)),
    "cost-new": money(make=pk_of(f.ReleaseFactory)),
    "cost-off": money_verb(pk_of(f.CostFactory)),
    "sales": money(make=pk_of(f.ReleaseFactory)),
    "sales-import": money(make=pk_of(f.ReleaseFactory)),
    "sale-off": money_verb(pk_of(f.SaleFactory)),
}

LOOKING_BACK: dict[str, Row] = {
    "look-back": Row(owner=302, helper=302),
    "look-answer": Row(owner=302, helper=302, make=pk_of(f.MakeFactory)),
    "look-undo": Row(owner=302, helper=302),
    "look-back-pairs": Row(),
    "board": Row(),
    "board-of": Row(make=lambda: {"year": clock.today().year + 1}),
    "board-move": verb(
        lambda: {"year": clock.today().year + 1},
        data={"to": "winter"},
    ),
    "board-budgets": Row(owner=302, helper=302, make=lambda: {"year": clock.today().year}),
    "board-seasons": money_verb(data={"month": "12"}),
    "sitting": Row(owner=302, helper=302),
    "gaps": Row(),
    "sitting-gaps": Row(owner=302, helper=302),
    "sitting-of": Row(owner=302, helper=302, make=lambda: {"year": clock.today().year}),
    "sitting-act": Row(make=a_finished_make_to_judge),
    "sitting-end": Row(make=lambda: {"year": clock.today().year}),
    "year": Row(),
    "year-of": Row(make=lambda: {"year": clock.today().year}),
    "year-hours": Row(make=lambda: {"year": clock.today().year}),
    "year-income": money(make=lambda: {"year": clock.today().year}),
    "journal": Row(make=lambda: {"year": clock.today().year}),
    "journal-build": verb(make=lambda: {"year": clock.today().year}, data={"paper": "A5"}),
    "journal-file": Row(make=a_journal, shows=FILE),
}

ROOMS: dict[str, dict[str, Row]] = {
    "counter": COUNTER,
    "shop": SHOP,
    "clients": CLIENTS,
    "prices": PRICES,
    "tickets": TICKETS,
    "billing": BILLING,
    "planning": PLANNING,
    "shelf": SHELF,
    "ideas": IDEAS,
    "drawer": DRAWER,
    "releases": RELEASES,
    "looking back": LOOKING_BACK,
}
TABLE = {name: row for room in ROOMS.values() for name, row in room.items()}
