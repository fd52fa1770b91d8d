"""A studio of which every room has money in it, and one amount in every place that holds some."""

import json
import re
from collections.abc import Iterator
from typing import Any

from django.apps import apps
from django.contrib.messages import get_messages
from django.db.models import IntegerField, JSONField
from django.http import HttpResponse, StreamingHttpResponse
from django.test import Client
from django.urls import reverse

from clients.models import Client as Customer
from jobs.counter.verbs import PAYS_LATER
from jobs.pricing.models import GarmentKind, Operation
from jobs.tickets import actions
from jobs.tickets.models import Ticket
from studio.shop import clock
from studio.shop.history import note
from studio.shop.models import Profile, User
from tests import factories as f
from tests import own_factories as own
from tests.drafts import issued, paid, received
from tests.jobs.counter.html_form import Counter

AMOUNT = 714395  # minor units: 7,143.95 on a page, 7143.95 in a field or a file
FOUND = re.compile(r"7143[.,]?95|€[\d.]*\d|\d€")
MONEY = {
    "price", "amount", "unit_price", "gross", "net", "tax", "deposit", "discount_amount", "paid",
    "minimum_charge", "fee_amount", "rate", "counted", "taken_out", "expected", "balance", "open",
}  # fmt: skip


def fill_rooms(studio: Profile, by: User) -> None:
    """Tickets on the bench, on the rail, at home unpaid and cancelled with a deposit; a price list,
    papers of bookkeeping, and own sewing with its costs."""
    f.OperationFactory()
    f.SurchargeFactory(amount=500)
    client = f.ClientFactory(name="Mary Larkin", phone="085 555 0101")
    dearer = received(studio, by, client=client)
    agreed = actions.draft_of(dearer)
    agreed.garments[0].lines[0].unit_price = 2600
    actions.change(ticket=dearer, draft=agreed, studio=studio, by=by, reason="silk")
    f.AskedChangeFactory(pk=9, ticket=dearer, by=by, delta=[["price", 2600, 2800]])
    ready, gone, cancelled = (received(studio, by, client=client) for _ in range(3))
    issued(studio, by, gone)
    for ticket in (ready, gone):
        actions.tick_all(ticket=ticket, by=by)
    paid(studio, by, cancelled)
    actions.mark_ready(ticket=ready, by=by)
    actions.hand_over(ticket=gone, garments=gone.garments.all(), tried_on=[], by=by)
    note(PAYS_LATER, about=gone, by=by, open=2400, currency=gone.currency, why="on Friday")
    actions.cancel(ticket=cancelled, why="Changed their mind", by=by)
    release = own.ReleaseFactory()
    own.CostFactory(release=release)
    own.SaleFactory(release=release)
    own.ClothFactory(price=2000)
    own.MakeFactory(paid=900)


def plant_amounts() -> None:
    """In columns and in copied facts alike, past what keeps rows of bookkeeping from changes."""
    for model in apps.get_models():
        fields = [field for field in model._meta.concrete_fields if field.model is model]
        rows = model._base_manager
        money = [
            each.name for each in fields if each.name in MONEY and isinstance(each, IntegerField)
        ]
        if money and model._meta.label != "backup.Backup":
            rows.exclude(**{money[0]: None}).update(**dict.fromkeys(money, AMOUNT))
        for name in (each.name for each in fields if isinstance(each, JSONField)):
            for pk, facts in rows.values_list("pk", name):
                if (planted := _with_amounts(facts)) != facts:
                    rows.filter(pk=pk).update(**{name: planted})


def _with_amounts(facts: Any) -> Any:
    if isinstance(facts, list):
        return [_with_amounts(each) for each in facts]
    if not isinstance(facts, dict):
        return facts
    return {
        name: AMOUNT if name in MONEY and type(value) is int else _with_amounts(value)
        for name, value in facts.items()
    }


HTMX = {"HX-Request": "true"}


def asked_further(browser: Client) -> Iterator[tuple[str, HttpResponse]]:
    """What the filled rooms answer to a search, a choice, a tap or a letter typed."""
    client = Customer.objects.get(name="Mary Larkin")
    other = Customer.objects.exclude(pk=client.pk).first() or f.ClientFactory()
    for name, query in {
        "find": {"q": "Larkin"}, "pick-up": {"q": "Larkin"}, "prices": {"q": "hem"},
        "drop-off-clients": {"q": "Lark"}, "tickets": {"q": "Lark"}, "clients": {"q": "Lark"},
        "rush": {"day": f"{clock.today()}", "hours": "40", "works": Operation.objects.first().pk},
    }.items():  # fmt: skip
        for headers in ({}, HTMX):
            yield f"{name}, asked", browser.get(reverse(name), query, headers=headers)
    merging = reverse("client-merge", args=[client.pk])
    yield "client-merge, chosen", browser.get(merging, {"other": other.pk})
    yield "client, filled", browser.get(reverse("client", args=[client.pk]))
    for ticket in Ticket.objects.filter(client=client):
        for name in ("ticket", "ticket-message", "ticket-pick-up", "ticket-change", "ticket-claim"):
            address = reverse(name, args=[ticket.number])
            yield f"{name}, {ticket.state}", browser.get(address, follow=True)
    counter = Counter(browser, f"{reverse('drop-off')}?client={client.pk}")
    kind, work = GarmentKind.objects.first(), Operation.objects.first()
    for intent in (f"add-garment:{kind.pk}", f"add-line:0:{work.pk}"):
        yield f"drop-off, {intent}", counter.press(intent).response
    sent = {**counter.form.fields, "g0-l0-amount": ["4 cm"]}
    for intent in ("refresh", "add-line:0:other", "rush"):
        counter.send({**sent, "intent": [intent]}, headers=HTMX)
        yield f"drop-off, {intent}", counter.response


def all_of(response: HttpResponse | StreamingHttpResponse) -> str:
    """All that was answered, with headers and notices, without spaces and commas."""
    body = b"".join(response.streaming_content) if response.streaming else response.content
    text = body.decode("utf-8", "replace") + json.dumps(dict(response.headers))
    # What the next page will say.
    text += "".join(map(str, get_messages(response.wsgi_request)))
    return _bare(text)


def _bare(text: str) -> str:
    return re.sub(r"[\s,\u2060]|&nbsp;", "", text)


def amounts_in(response: HttpResponse | StreamingHttpResponse) -> set[str]:
    """The amounts in an answer, planted or not."""
    return set(FOUND.findall(all_of(response)))


def amounts_among(text: str) -> set[str]:
    return set(FOUND.findall(_bare(text)))
