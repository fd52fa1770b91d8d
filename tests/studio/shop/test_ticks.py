"""What the owner ticks for a helper, and what each tick opens inside of pages."""

from decimal import Decimal

import pytest
from django.urls import reverse

from clients.fit.measures import MEASURES
from clients.models import Sheet
from jobs.makes.models import MadeFor
from jobs.tickets.fit.sums import SUMS
from studio.shop import history
from studio.shop.may import EVERYTHING, Tick, held, usual_ticks
from studio.shop.models import Profile, User
from tests.conftest import logged_in
from tests.drafts import hem, received, take_in, trousers
from tests.factories import (
    ClientFactory,
    MakeFactory,
    MeasuredFactory,
    PatternFactory,
    SheetFactory,
)

pytestmark = pytest.mark.django_db


def test_the_owner_holds_all_and_a_helper_what_is_ticked():
    assert held([], owner=True) == EVERYTHING
    assert held(["files", "gone"], owner=False) == {"files"}
    assert set(usual_ticks()) == EVERYTHING - {"prices", "health", "agreed", "drawer"}


def test_ticks_are_set_on_the_page_of_people_and_undone(owner_client, helper, studio):
    address = reverse("studio-person-ticks", args=[helper.pk])
    page = owner_client.post(address, {"tick": ["health", "drawer"]}, follow=True)
    assert f"{helper.shown_name}: saved." in page.text
    helper.refresh_from_db()
    assert helper.ticks_held == {"health", "drawer"}
    entry = history.of(Profile(pk=1)).first()
    owner_client.post(reverse("studio-undo"), {"entry": entry.pk})
    helper.refresh_from_db()
    assert helper.ticks == usual_ticks()


def test_only_a_helper_has_ticks(owner_client, owner, studio):
    address = reverse("studio-person-ticks", args=[owner.pk])
    assert owner_client.post(address, {"tick": ["files"]}).status_code == 404


def test_what_tells_of_health_is_the_owner_s_until_it_is_ticked(
    owner_client, helper_client, owner, helper, studio
):
    sheet = MeasuredFactory().sheet
    told = {"note": "zygomorphous", "sensitive": True, "pregnant": True, "week": 37}
    Sheet.objects.filter(pk=sheet.pk).update(taken_by=owner, **told)
    pages = [reverse(name, args=[sheet.pk]) for name in ("sheet", "sheet-correct")]
    pages.append(reverse("sheets-csv", args=[sheet.client_id]))
    pages += [f"{reverse('sheets', args=[sheet.client_id])}?day=2099-01-01"]
    pages += [reverse("sheet-new", args=[sheet.client_id]), make_for(sheet.client)]

    def read(client):
        texts = [client.get(page).text.lower() for page in pages]
        health = ("zygomorphous", "pregnan", "week 37")
        return [any(word in text for word in health) for text in texts]

    assert all(read(owner_client))
    assert not any(read(helper_client))
    User.objects.filter(pk=helper.pk).update(ticks=["measures", "health", "files"])
    assert all(read(helper_client))


def make_for(client):
    """The address of a make for the client, of a pattern with sizes."""
    pattern = PatternFactory(body_sizes=[{"size": "40", "waist": "74 cm"}])
    make = MakeFactory(pattern=pattern)
    MadeFor.objects.create(make=make, client=client)
    return make.get_absolute_url()


def test_what_cannot_be_read_is_not_lost_by_correcting(helper_client, studio):
    sheet = MeasuredFactory().sheet
    told = {"note": "zygomorphous", "sensitive": True, "pregnant": True, "week": 37}
    Sheet.objects.filter(pk=sheet.pk).update(**told)
    address = reverse("sheet-correct", args=[sheet.pk])
    form = helper_client.get(address).context["form"]
    fields = {field.html_name: field.value() or "" for field in form if field.value() is not None}
    sent = {name: value for name, value in fields.items() if value not in (False, None)}
    sent |= {"worn": "a corset", "agreed": "on", "note": "gone", "heel": "", "week": "3"}
    answer = helper_client.post(address, sent)
    assert answer.status_code == 302, answer.context["form"].errors
    sheet.refresh_from_db()
    assert {name: getattr(sheet, name) for name in told} == told
    assert sheet.worn == "a corset"


def test_a_helper_without_measures_sees_none_on_the_client_s_page(helper_client, helper, studio):
    sheet = MeasuredFactory().sheet
    address = reverse("client", args=[sheet.client_id])
    assert "All measures" in helper_client.get(address).text
    User.objects.filter(pk=helper.pk).update(ticks=[])
    page = helper_client.get(address).text
    assert "All measures" not in page
    assert reverse("client-merge", args=[sheet.client_id]) not in page


def test_without_the_tick_no_measure_of_a_body_is_told_or_reckoned_with(studio, owner, helper):
    later = hem(amount_mm=None, amount_typed="", basis="", measure="", measure_later=True)
    ticket = received(studio, owner, trousers(take_in(), later))
    sheet = SheetFactory(client=ticket.client)
    for key in MEASURES:
        MeasuredFactory(sheet=sheet, key=key, mm=Decimal(737), typed="73.7")
    User.objects.filter(pk=helper.pk).update(ticks=[tick for tick in Tick if tick != "measures"])
    garment = ticket.garments.get()
    names = [
        *(("fit-sum", (garment.pk, kind)) for kind in SUMS),
        *(("line-measure", (line.pk,)) for line in garment.lines.all()),
        *((name, (garment.pk,)) for name in ("garment-fit", "garment-sheet")),
        *((name, (ticket.number,)) for name in ("ticket", "ticket-change", "ticket-work-sheet")),
        ("client", (ticket.client_id,)), ("client-merge", (ticket.client_id,)),
    ]  # fmt: skip
    other = {"client-merge": {"other": ClientFactory().pk}}

    def tells(user):
        browser = logged_in(user)
        pages = {(n, *args): browser.get(reverse(n, args=args), other.get(n)) for n, args in names}
        return {page for page, answer in pages.items() if "73.7" in answer.text}

    assert tells(helper) == set()
    told = tells(owner)
    assert {name for name, *_ in told} == {
        "fit-sum", "line-measure", "ticket-change", "client", "client-merge"
    }  # fmt: skip


def test_every_tick_is_a_row_on_the_page(owner_client, helper, studio):
    page = owner_client.get(reverse("studio-people")).text
    assert page.count('name="tick"') == len(Tick)
