"""Doors with their state in a line, the first steps, and a number that was mistyped."""

import re

import pytest
from django.template import Context, Template
from django.test import Client
from django.urls import reverse

from jobs.counter.doors import slips
from jobs.counter.first_steps import FirstStep, first_steps
from jobs.pricing import actions
from studio.backup.models import Backup, Kind
from studio.backup.queries import read_state
from studio.shop import clock
from studio.shop.models import User
from tests.drafts import received
from tests.factories import (
    ClothFactory,
    DayOffFactory,
    GarmentKindFactory,
    MakeFactory,
    OperationFactory,
    SurchargeFactory,
    TaxClassFactory,
    TaxRateFactory,
    TicketFactory,
    UserFactory,
)

pytestmark = pytest.mark.django_db


def test_the_studios_doors_say_how_it_stands(owner_client, studio, helper):
    repairs, standard = TaxClassFactory(name="Worn"), TaxClassFactory(name="New", exempt=True)
    TaxRateFactory(tax_class=repairs, percent="13.5")
    studio.worn_tax, studio.new_tax, studio.tax_mode = repairs, standard, "included"
    studio.save()
    # The middle one of 30.00, 36.00 and 60.00 an hour.
    for price, minutes in ((1000, 20), (1200, 20), (2000, 20)):
        OperationFactory(price=price, minutes=minutes)
    today = clock.today()
    DayOffFactory(day=today)
    page = owner_client.get(reverse("studio-settings")).text
    for state in (
        "Mon to Fri, 40 h", "30 % of the bench, 12 h a week", "3 operations, €36.00 an hour",
        "in the prices: worn 13.5 %, new exempt", f"{today:%a} {today.day} {today:%b %Y}",
        f"{helper.shown_name} (no money)",
        "Larkfield, EUR, cm, Europe/Dublin", "none yet",
    ):  # fmt: skip
        assert state in page, state


def test_each_page_names_as_many_operations(owner_client):
    """Two are offered; one is not, one is of a kind that is not, a surcharge is no operation."""
    OperationFactory.create_batch(2)
    OperationFactory(active=False)
    OperationFactory(garment_kind=GarmentKindFactory(active=False))
    SurchargeFactory()
    assert "2 operations, " in owner_client.get(reverse("studio-settings")).text
    assert "2 operations<" in owner_client.get(reverse("more")).text
    assert ">2 operations, 1 surcharge<" in owner_client.get(reverse("prices")).text


@pytest.mark.parametrize("rows", [1, 3])
def test_the_studios_doors_ask_the_database_thirteen_times(
    owner_client, rows, django_assert_num_queries
):
    UserFactory.create_batch(rows)
    OperationFactory.create_batch(rows)
    with django_assert_num_queries(13):
        owner_client.get(reverse("studio-settings"))


@pytest.mark.parametrize("rows", [1, 3])
def test_more_asks_the_database_seven_times(owner_client, rows, django_assert_num_queries):
    TicketFactory.create_batch(rows)
    OperationFactory.create_batch(rows)
    with django_assert_num_queries(7):
        owner_client.get(reverse("more"))


def test_more_says_how_many_and_a_helper_finds_no_money(owner_client, helper_client, studio, owner):
    for state in ("received", "in_work", "ready", "collected", "cancelled"):
        TicketFactory(state=state)
    page = owner_client.get(reverse("more")).text
    assert "2 to sew" in page
    assert "1 on the rail" in page
    theirs = helper_client.get(reverse("more")).text
    assert f'href="{reverse("money")}"' not in theirs
    assert f'href="{reverse("studio-settings")}"' not in theirs


def test_every_page_of_own_sewing_keeps_its_bar_and_all_its_doors(owner_client, helper_client):
    make = MakeFactory(words="Coat").pk
    cloth = ClothFactory().pk
    pages = [
        reverse("own-more"), reverse("own"), reverse("year"), reverse("what-fits"),
        *(reverse(name, args=[make]) for name in ("make-edit", "make-finish", "make-changes")),
        *(reverse(name, args=[cloth]) for name in ("cloth-edit", "cloth-cut", "cloth-measure")),
    ]  # fmt: skip
    for address in pages:
        page = owner_client.get(address)
        assert page.status_code == 200, address
        bar = page.text.partition('aria-label="Daily"')[2].partition("</nav>")[0]
        assert re.findall(r'<a[^>]*? href="([^"]+)"', bar) == [
            reverse(name) for name in ("own", "cloth-list", "idea-new", "board", "own-more")
        ], address
    rooms = ["what-fits", "pattern-list", "releases", "todo", "gaps", "sitting", "makes", "today"]
    for client, names in ((owner_client, rooms), (helper_client, rooms[:2] + rooms[3:])):
        page = client.get(reverse("own-more")).text
        assert re.findall(r'class="strip" href="([^"]+)"', page) == [reverse(n) for n in names]


def test_slips_of_a_number_are_one_digit_or_two_exchanged():
    """By hand: four places with nine other digits, and three pairs; 12 and 21 are one number."""
    near = slips("26", "0123")
    assert len(near) == 4 * 9 + 3
    assert {"26-0124", "26-1023", "26-9123"} <= near
    assert "26-0123" not in near
    assert "26-1032" not in near


def test_a_mistyped_number_shows_those_like_it(owner_client, studio, owner):
    number = received(studio, owner).number
    tail = number[3:]
    wrong = f"{number[:3]}{tail[:-1]}{(int(tail[-1]) + 5) % 10}"
    page = owner_client.get(f"/t/{wrong}/")
    assert page.status_code == 404
    assert f"There is no ticket {wrong}." in page.text
    assert f'value="{wrong}"' in page.text
    assert f'href="/t/{number}/"' in page.text
    stranger = Client().get(f"/t/{wrong}/nowhere/")
    assert number not in stranger.text


def test_the_first_steps_tick_themselves(studio, owner):
    actions.load_starting_list(by=owner)

    def steps() -> list[FirstStep]:
        return first_steps(studio, read_state(studio))

    def open_steps() -> list[str]:
        return [step.door for step in steps() if not step.done]

    studio.street = ""
    assert open_steps() == ["prices", "studio-profile", "studio-days-off", "backups"]
    assert "Bench hours: 40 h a week, 12 h yours" in [step.words for step in steps()]
    copy = Backup.objects.create(kind=Kind.HAND, started_at=clock.now(), finished_at=clock.now())
    actions.recalculate_prices(hour=4000, currency="EUR", by=owner)
    studio.street = "3 Mill Lane"
    DayOffFactory()
    assert open_steps() == []
    # Outside the Union nothing refuses an invoice (Directive 2006/112/EC binds member states).
    studio.legal_name = ""
    assert open_steps() == ["studio-invoices"]
    assert "Invoices need your legal name" in [step.words for step in steps()]
    studio.country = "NZ"
    assert open_steps() == []
    # One that failed is warned of in a line of its own.
    copy.wrong = ["The disk is full."]
    copy.save()
    assert open_steps() == []
    copy.delete()
    assert open_steps() == ["backups"]


def test_the_list_of_first_steps_is_the_owners_and_goes_when_all_are_done(
    studio, owner, helper, django_assert_num_queries
):
    def shown(by: User) -> str:
        facts = {"studio": studio, "user": by, "backup": read_state(studio)}
        context = Context(facts)
        return Template("{% load first_steps %}{% first_steps %}").render(context)

    # Four, and one for the copies.
    with django_assert_num_queries(5):
        page = shown(owner)
    assert "5 of 8" in page
    assert f'href="{reverse("studio-days-off")}"' in page
    assert shown(helper).strip() == ""
    DayOffFactory()
    Backup.objects.create(kind=Kind.HAND, started_at=clock.now(), finished_at=clock.now())
    actions.load_starting_list(by=owner)
    actions.recalculate_prices(hour=4000, currency="EUR", by=owner)
    assert shown(owner).strip() == ""
