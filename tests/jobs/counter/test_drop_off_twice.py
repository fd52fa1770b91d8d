"""Both halves of a double click at the very same time: one client, one ticket, one payment."""

import threading

import pytest
from django.db import connection
from django.test import Client as Browser

from clients.models import Client
from jobs.billing.models import Payment
from jobs.tickets.models import Ticket
from tests import factories
from tests.jobs.counter.html_form import Counter

HANDS = 4


@pytest.mark.django_db(transaction=True)
def test_pressed_at_once_it_is_one(owner_client, owner):
    hem = factories.OperationFactory()
    counter = Counter(owner_client, "/drop-off/?new=Ann 0865550143")
    counter.put(hem)
    sent = {**counter.type(paid="5", method="cash").form.fields, "intent": ["save"]}
    browsers = [Browser() for _ in range(HANDS)]
    for browser in browsers:
        browser.force_login(owner)
    start, answers = threading.Barrier(HANDS), []

    def press(browser: Browser) -> None:
        try:
            start.wait()
            answers.append(browser.post("/drop-off/", sent).url)
        finally:
            connection.close()

    hands = [threading.Thread(target=press, args=[browser]) for browser in browsers]
    for hand in hands:
        hand.start()
    for hand in hands:
        hand.join()

    assert answers == [f"{Ticket.objects.get().get_absolute_url()}saved/"] * HANDS
    assert Client.objects.get().name == "Ann"
    assert Payment.objects.get().amount == 500
