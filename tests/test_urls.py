"""Every address by every role, against the table; and the table against the walked URLconf."""

from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from django.db import transaction
from django.http import HttpResponse
from django.test import Client
from django.urls import URLPattern, get_resolver, reverse

from clients.models import Client as Customer
from clients.models import Sheet
from studio.shop.may import Tick, usual_ticks
from studio.shop.models import User
from tests.conftest import logged_in
from tests.factories import SheetFactory
from tests.papers import all_in
from tests.planted import (
    all_of,
    amounts_among,
    amounts_in,
    asked_further,
    fill_rooms,
    plant_amounts,
)
from tests.url_table import FILE, LOGIN, PAGE, PART, PUBLIC, TABLE, Row

# The program itself decides who may what; what a database may answer differently the owner sees.
any_day = pytest.mark.any_day


def patterns(resolver=None) -> Iterator[URLPattern]:
    for entry in (resolver or get_resolver()).url_patterns:
        if isinstance(entry, URLPattern):
            yield entry
        else:
            yield from patterns(entry)


HEALTH, WEEK = "zygomorphous", 37
NAMES = [pattern.name for pattern in patterns()]


def test_every_address_has_a_name_and_no_two_share_one():
    assert [str(pattern.pattern) for pattern in patterns() if not pattern.name] == []
    assert [name for name, times in Counter(NAMES).items() if times > 1] == []


def test_the_table_holds_every_address_and_no_other():
    assert sorted(TABLE) == sorted(NAMES)


def test_all_but_the_named_addresses_are_private():
    assert {name for name, row in TABLE.items() if row.nobody != LOGIN} == PUBLIC


@pytest.fixture
def browser_of(studio, owner, helper):
    """A test client by role."""

    def make(role: str) -> Client:
        people = {"owner": owner, "helper": helper}
        return logged_in(people[role]) if role in people else Client()

    return make


def outcome(response: HttpResponse) -> int | str:
    if response.status_code == 302 and response["Location"].startswith(reverse("login")):
        return LOGIN
    return response.status_code


def shown(response: HttpResponse) -> str:
    if not response["Content-Type"].startswith("text/html"):
        return FILE
    return PAGE if "<!doctype html>" in response.text else PART


def answered(browser: Client, role: str, row: Row, address: str) -> HttpResponse:
    """As the table says. Where reading is refused, writing is refused in the same way."""
    expected = getattr(row, role)
    if role == "helper" and not row.ticks.issubset(usual_ticks()):
        expected = 403
    response = getattr(browser, row.method)(address, row.data)
    assert outcome(response) == expected
    policy = response["Content-Security-Policy"]
    allowed = "'none'" if "/c/" in address else "'self'"
    assert f"default-src {allowed}" in policy
    assert "unsafe" not in policy
    if row.nobody == LOGIN:
        # RFC 9111, 5.2.2.5: nothing stored. Only a picture, which never changes, says otherwise.
        picture = response.get("Content-Type", "").startswith("image/")
        says = set(response["Cache-Control"].split(", "))
        assert {"private", "immutable" if picture else "no-store"} <= says
    if expected in {LOGIN, 403}:
        assert outcome(browser.post(address)) == expected
    return response


# What asks the database for something in a way of its own; see ``make statements``.
ON_POSTGRES = set(
    """
    agreement-initials caution-read client-erase client-undo cost-off doctor-sweep
    erratum-mended everything fitting-book fitting-kept fitting-move garment-fit invoice-paper
    line-cut line-untick logins-out look-back-pairs make-picture-says mark-remove pad pads
    pattern pattern-again pattern-carry pattern-hours pattern-take-out photo-marks pick-up
    price-kind-move price-surcharge-move receipt release-photo-off release-sample-off sheet
    stage-move studio-calendar-new studio-changes studio-people studio-settings studio-taxes
    studio-undo studio-words-checked tester-off ticket-handed-over ticket-saved today todo
    todo-bought todo-first todo-undo wait-end waiting
    """.split()  # noqa: SIM905 -- fifty lines of a list say no more
)


def test_what_is_put_to_postgres_is_in_the_table():
    assert ON_POSTGRES - set(TABLE) == set()


@pytest.mark.parametrize(
    "name",
    [
        pytest.param(name, marks=pytest.mark.postgres if name in ON_POSTGRES else ())
        for name in sorted(TABLE)
    ],
)
def test_what_the_owner_and_nobody_get(name, browser_of):
    """Nobody asks first: what is refused changes nothing for the owner."""
    row, owner = TABLE[name], browser_of("owner")
    address = reverse(name, kwargs=row.make())
    before = transaction.savepoint()
    answered(browser_of("nobody"), "nobody", row, address)
    if row.nobody != LOGIN:
        transaction.savepoint_rollback(before)
    if row.method == "post":
        # What changes something does not answer to a GET, which a browser may send unasked.
        assert owner.get(address).status_code == 405
    response = answered(owner, "owner", row, address)
    if response.status_code == 200:
        assert shown(response) == row.shows


@contextmanager
def filled(name: str) -> Iterator[str]:
    """What an address speaks of beside the filled rooms, with health notes and amounts planted;
    all of it is as if it had not been, afterwards."""
    before = transaction.savepoint()
    made = TABLE[name].make()
    if made and TABLE[name].helper != 403:
        plant_health_notes()
        plant_amounts()
    yield reverse(name, kwargs=made)
    transaction.savepoint_rollback(before)


@any_day
def test_what_a_helper_gets(studio, owner, helper):
    """In rooms that are full: what the table says, without amounts and what tells of health."""
    fill_rooms(studio, owner)
    plant_health_notes()
    plant_amounts()
    wrong = {}
    for name, row in TABLE.items():
        with filled(name) as address:
            response = answered(logged_in(helper), "helper", row, address)
            health = {
                word for word in (HEALTH, f"week {WEEK}", "regnant") if word in all_of(response)
            }
            seen = amounts_in(response) | health
            if seen:
                wrong[name] = seen
    for asked, answer in asked_further(logged_in(helper)):
        if seen := amounts_in(answer):
            wrong[asked] = seen
    assert wrong == {}


# Those that may hold an amount or a word of a sheet; claim ticket, work sheet and tags are the
# papers of a ticket.
HER_PAPERS = (
    "ticket-papers", "ticket-large", "ticket-roll", "ticket-notice", "paper-today",
    "paper-rack", "sheet-card",
)  # fmt: skip


@any_day
@pytest.mark.paper
def test_what_a_helper_reads_in_a_pdf(studio, owner, helper):
    """The walk above reads what goes to the press; this what comes out, title and all."""
    fill_rooms(studio, owner)
    browser, ticks = logged_in(helper), list(usual_ticks())
    seen = {}
    for name, held in (*((name, ticks) for name in HER_PAPERS), ("ticket-roll", ["prices"])):
        User.objects.filter(pk=helper.pk).update(ticks=held)
        with filled(name) as address:
            paper = all_in(browser.get(address).content)
            if HEALTH in paper or amounts_among(paper):
                seen[name] = held
    # With the tick there is something to be seen.
    assert seen == {"ticket-roll": ["prices"]}


# What shows prices to whoever has the tick, besides what is open by it alone.
PRICED = set(
    """
    client paper-today pick-up prices rail ready ticket ticket-change ticket-claim
    ticket-handed-over ticket-large ticket-message ticket-notice ticket-papers ticket-pick-up
    ticket-press ticket-roll ticket-saved today uncollected
    """.split()  # noqa: SIM905
)


@any_day
def test_what_a_helper_gets_who_sees_prices(studio, owner, helper):
    """The same rooms with the tick: else the walk above would find nothing whatever it passed."""
    fill_rooms(studio, owner)
    plant_amounts()
    User.objects.filter(pk=helper.pk).update(ticks=["prices", *usual_ticks()])
    opened = {name for name, row in TABLE.items() if Tick.PRICES in row.ticks}
    blind = set()
    for name in PRICED | opened:
        with filled(name) as address:
            if not amounts_in(logged_in(helper).get(address)):
                blind.add(name)
    assert blind == {"drawn-initials"}  # a picture
    User.objects.filter(pk=helper.pk).update(ticks=["drawer"])
    sees = set()
    for name in (
        "ticket-pick-up",
        "receipt",
        "pick-up",
        "ticket",
        "client",
        "rail",
        "ticket-claim",
    ):
        with filled(name) as address:
            if amounts_in(logged_in(helper).get(address)):
                sees.add(name)
    assert sees == {"ticket-pick-up", "receipt"}  # what is to pay, and what was
    User.objects.filter(pk=helper.pk).update(ticks=["prices", "merge"])
    further = [(asked, amounts_in(answer)) for asked, answer in asked_further(logged_in(helper))]
    blind = {asked.partition(",")[0] for asked, seen in further if not seen}
    assert blind == {"find", "drop-off-clients", "tickets", "clients", "ticket-message"}


def plant_health_notes() -> None:
    """Whatever the address speaks of: every client has a sheet that tells of health."""
    told = {"note": HEALTH, "sensitive": True, "pregnant": True, "week": WEEK}
    Sheet.objects.update(**told)
    for client in Customer.objects.filter(sheets=None):
        SheetFactory(client=client, **told)


def asked_by(callback: object) -> frozenset[str]:
    return getattr(callback, "asks", frozenset())


def test_every_address_by_every_profile():
    """The owner, nothing ticked, each tick alone, and all: what the guard on the address says."""
    asks = {pattern.name: asked_by(pattern.callback) for pattern in patterns()}
    wrong = [
        name
        for name, row in TABLE.items()
        if name not in PUBLIC
        and asks[name] != row.ticks | ({"owner"} if row.helper == 403 else frozenset())
    ]
    assert wrong == []
    profiles = [set(), *({tick.value} for tick in Tick), set(Tick.values), set(usual_ticks())]
    open_to = {
        frozenset(profile): {name for name, row in TABLE.items() if not asks[name] - profile}
        for profile in profiles
    }
    nothing = open_to[frozenset()]
    assert open_to[frozenset({"merge"})] - nothing == {"client-merge", "client-unmerge"}
    assert open_to[frozenset({"files"})] - nothing == {"clients-csv", "clients-vcf"}
    assert open_to[frozenset({"measures"})] - nothing == {
        "sheets", "sheet-new", "sheets-import", "sheet", "sheet-correct", "sheet-card",
    }  # fmt: skip
    assert open_to[frozenset({"agreed"})] - nothing == {"too-much-agree"}
    assert open_to[frozenset({"prices"})] - nothing == {
        "agreement-paper", "agreement-claim", "agreement-initials", "drawn-initials",
        "paper-prices", "paper-prices-folded",
    }  # fmt: skip
    assert open_to[frozenset({"drawer"})] - nothing == {"receipt", "day-end"}
    # What it opens stands inside of pages.
    assert open_to[frozenset({"health"})] == nothing


@any_day
@pytest.mark.parametrize("name", sorted(name for name, row in TABLE.items() if row.ticks))
def test_what_a_tick_opens(name, studio, helper):
    row = TABLE[name]
    browser = logged_in(helper)
    address = reverse(name, kwargs=row.make())
    for missing in row.ticks:
        User.objects.filter(pk=helper.pk).update(
            ticks=[tick for tick in Tick.values if tick != missing]
        )
        refused = browser.post(address) if row.method == "post" else browser.get(address)
        assert refused.status_code == 403
        assert Tick(missing).label in refused.text
    User.objects.filter(pk=helper.pk).update(ticks=list(row.ticks))
    answer = browser.post(address) if row.method == "post" else browser.get(address)
    assert answer.status_code == row.helper
