"""Garments that nobody collects: the studio's own periods, day by day, and the notice."""

import re
from datetime import timedelta

import pytest

from jobs.counter.messages.ladder import rung_due
from jobs.tickets.models import SentMessage
from studio.shop import clock
from tests.factories import ClientFactory
from tests.pages import page_of, read

LADDER = [
    {"days": 7, "how": "message"},
    {"days": 30, "how": "message"},
    {"days": 60, "how": "notice"},
]


@pytest.fixture
def ladder(studio):
    studio.collect_steps = LADDER
    studio.save()
    return studio


def due(ticket, studio):
    rung = rung_due(ticket, studio, SentMessage.objects.all())
    return rung.days if rung else None


# By hand: a step is due on its day, and until it is taken; of several the last.
@pytest.mark.parametrize(
    ("days", "step"),
    [(0, None), (6, None), (7, 7), (29, 7), (30, 30), (59, 30), (60, 60), (400, 60)],
)
def test_each_step_is_due_on_its_day(ladder, ready, days, step):
    assert due(ready(days), ladder) == step


@pytest.mark.postgres
def test_a_step_that_was_taken_is_due_no_more_and_the_next_on_its_day(
    ladder, ready, owner_client, owner
):
    ticket = ready(30)
    page = page_of(owner_client, "/uncollected/")
    row = page.one(f"#ticket-{ticket}")
    assert "30 days" in row.text
    form = row.one("form.told")
    fields = {it["name"]: it["value"] for it in form.all("input[name]")}
    assert "1 not collected" in owner_client.get("/").text
    owner_client.post(form["action"], fields | {"way": "text"})
    assert due(ticket, ladder) is None
    assert "1 not collected" not in owner_client.get("/").text
    page = page_of(owner_client, "/uncollected/")
    assert "write a notice in 30 days" in page.one(f"#ticket-{ticket}").text
    assert due(ready(60), ladder) == 60


def test_nothing_is_due_until_the_owner_sets_periods(studio, ready, owner_client):
    ready(200)
    assert "To say" not in owner_client.get("/").text
    page = owner_client.get("/uncollected/").text
    assert "No periods are set" in page
    assert "local law" in page
    owner_client.post("/studio/messages/", {"example": "1"})
    studio.refresh_from_db()
    assert [step["days"] for step in studio.collect_steps] == [7, 30, 60]
    assert "1 not collected" in owner_client.get("/").text


def test_the_owner_s_own_periods(studio, owner_client):
    facts = {"page_days": 14, "days_1": 45, "how_1": "notice", "days_2": 10, "how_2": "message"}
    owner_client.post("/studio/messages/", facts)
    studio.refresh_from_db()
    assert studio.collect_steps == [
        {"days": 10, "how": "message"}, {"days": 45, "how": "notice"},
    ]  # fmt: skip
    page = owner_client.post("/studio/messages/", facts | {"days_2": 45})
    assert "Two steps are due on the same day" in page.text


@pytest.mark.parametrize("page", ["/messages/", "/uncollected/"])
def test_a_notice_is_printed_where_it_is_due_and_remembered_once_it_is_sent(
    ladder, ready, owner_client, page
):
    ticket = ready(60)
    paper = page_of(owner_client, page).one(f"a[href=/t/{ticket}/not-collected.pdf]")
    owner_client.get(paper["href"])
    assert not SentMessage.objects.exists()
    sent = page_of(owner_client, page).one(f"button#{paper['data-then']}")
    assert sent["value"] == "paper"
    assert sent.text.startswith("Mark as sent")
    form = page_of(owner_client, page).one(f"form#told-{paper['data-then'].removeprefix('sent-')}")
    fields = {it["name"]: it["value"] for it in form.all("input[name]")}
    answer = read(owner_client.post(form["action"], fields | {"way": "paper"}, follow=True).text)
    assert answer.all(".notice-said form button")[0].text == "Undo"
    row = page_of(owner_client, "/uncollected/").one(f"#ticket-{ticket}").text
    assert "not told yet" not in row
    assert "not collected" in row
    assert due(ticket, ladder) is None


@pytest.mark.paper
def test_the_notice_holds_whose_what_where_since_when_and_to_pay(
    ladder, ready, owner_client, helper_client
):
    from tests import papers, proofreading

    german = ClientFactory(name="Greta Falk", street="Am Wall 3", city="Ulm", language="de")
    ticket = ready(60, german)
    for size in ("A4", "Letter", "A5"):
        ladder.paper = size
        ladder.printers = []
        ladder.save()
        pdf = b"".join(owner_client.get(f"/t/{ticket}/not-collected.pdf"))
        assert proofreading.faults(pdf, size) == []
        words = " ".join(papers.text(pdf).split())
        for wanted in (
            "Nicht abgeholt", ticket.number, "Greta Falk", "Am Wall 3", "Ulm", "Fertig seit",
            "A · Hose", "24,00", "Larkfield Sewing Room", "holen Sie sie hier ab",
        ):  # fmt: skip
            assert wanted in words, wanted
        assert "Recht" not in words
    # With a step after it the notice says by when: 90 days after the day it was ready.
    ladder.collect_steps = [*LADDER, {"days": 90, "how": "notice"}]
    ladder.save()
    words = " ".join(
        papers.text(b"".join(owner_client.get(f"/t/{ticket}/not-collected.pdf"))).split()
    )
    by = clock.local(ticket.ready_at).date() + timedelta(days=90)
    assert re.search(rf"hier bis [^:]*\b{by.day}\. \w+\.? {by.year} ab", words)
    assert "24,00" not in papers.text(b"".join(helper_client.get(f"/t/{ticket}/not-collected.pdf")))
