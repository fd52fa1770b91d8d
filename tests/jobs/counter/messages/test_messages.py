"""Word to a client: what can be said, in two taps, remembered, and sent as mail."""

from datetime import timedelta
from urllib.parse import parse_qs, urlsplit
from uuid import uuid4

import pytest

from jobs.counter.messages.drafts import moment_key
from jobs.tickets import actions
from jobs.tickets.models import SentMessage
from studio.shop import clock
from studio.shop.messages import mail
from tests.drafts import received
from tests.factories import ClientFactory, ContactFactory, FittingFactory, SentMessageFactory
from tests.pages import page_of, read


def post(browser, ticket, what="told", **facts):
    facts = {"kind": "ready", "text": "It is ready.", "form_key": uuid4()} | facts
    return browser.post(f"/t/{ticket}/message/{what}/", facts)


def test_two_taps_from_the_ticket_and_it_is_remembered(owner_client, ready):
    ticket = ready()
    page = page_of(owner_client, ticket.get_absolute_url())
    # The foot sends it in one tap and remembers it; "Message" leads to the words.
    foot = page.one(".step a.main")
    assert foot["href"].startswith("sms:0875554321?body=")
    form = page.one(f"#{foot['data-sends']}")
    assert form["hx-post"] == f"/t/{ticket}/message/told/"
    message = page_of(owner_client, page.one(f"a[href=/t/{ticket}/message/]")["href"])
    way = message.one(".step a.main")
    text = message.one("textarea").text.strip()
    assert text == f"Your ticket {ticket} is ready to collect. Larkfield Sewing Room"
    assert parse_qs(urlsplit(way["href"]).query)["body"] == [text]
    assert f"{len(text)} of 160" in message.one("#length").text
    response = post(owner_client, ticket, way="text", text=text)
    assert response.status_code == 302
    row = SentMessage.objects.get()
    assert (row.kind, row.way, row.text, row.wrong) == ("ready", "text", text, "")
    page = page_of(owner_client, ticket.get_absolute_url())
    assert "told" in page.one(".ticket-facts").text
    assert page.one(".step a.main").text == "Hand over"
    assert "Told: ready to collect (text message)." in page.one("#history").text
    undo = page.one("#history form")
    owner_client.post(undo["action"], {"entry": undo.one("[name=entry]")["value"]})
    assert not SentMessage.objects.exists()


def test_tapped_twice_is_told_once(owner_client, ready):
    ticket = ready()
    for _ in range(2):
        post(owner_client, ticket, way="call")
    assert SentMessage.objects.count() == 1


def test_a_message_of_a_ticket_that_has_changed_is_not_remembered(owner_client, ready):
    ticket = ready()
    for facts in ({"kind": "received"}, {"kind": "nothing"}, {"key": "2020-01-01"}, {"text": ""}):
        page = owner_client.post(
            f"/t/{ticket}/message/told/", {"kind": "ready", "text": "x"} | facts, follow=True
        )
        assert "Look at the message once more" in page.text
    assert not SentMessage.objects.exists()


def test_what_is_likeliest_stands_first(owner_client, studio, owner, mary):
    ticket = received(studio, owner, client=mary)

    def first():
        return page_of(owner_client, f"/t/{ticket}/message/").one("[name=kind]")["value"]

    assert first() == "received"
    post(owner_client, ticket, kind="received")
    fitting = FittingFactory(ticket=ticket, starts_at=clock.now() + timedelta(days=5))
    assert first() == "fitting"
    actions.move_promise(
        ticket=ticket, promise_at=ticket.promise_at + timedelta(days=7), studio=studio, by=owner,
        reason="a button came late",
    )  # fmt: skip
    assert first() == "moved"
    post(owner_client, ticket, kind="moved")
    fitting.starts_at = clock.now() + timedelta(hours=20)
    fitting.save()
    assert first() == "reminder"


def test_the_client_s_language_and_the_owner_s_own_words(owner_client, ready):
    german = ClientFactory(name="Greta", phone="1", language="de")
    ticket = ready(client=german)
    text = page_of(owner_client, f"/t/{ticket}/message/").one("textarea")
    assert text["lang"] == "de"
    assert text.text.strip().startswith(f"Ihr Auftrag {ticket} ist abholbereit.")
    english = ready(client=ClientFactory(name="Mary", phone="2"))
    row = next(
        link
        for link in page_of(owner_client, "/studio/words/en/").all("a.phrase")
        if link.all("span")[0].text == "Your ticket {number} is ready to collect."
    )
    owner_client.post(row["href"], {"other": "{number}: come and fetch it."})
    text = page_of(owner_client, f"/t/{english}/message/").one("textarea").text
    assert text.strip() == f"{english}: come and fetch it. Larkfield Sewing Room"
    owner_client.post(row["href"], {"other": ""})
    text = page_of(owner_client, f"/t/{english}/message/").one("textarea").text
    assert "is ready to collect" in text


def test_what_is_typed_is_counted_and_goes_into_the_links(owner_client, ready):
    ticket = ready()
    words = "Zażółć " * 12
    page = owner_client.post(f"/t/{ticket}/message/", {"kind": "ready", "text": words})
    looked = read(page.text)
    assert "2 text messages: 83 of 134, with letters" in looked.one("#length").text
    assert parse_qs(urlsplit(looked.one(".step a")["href"]).query)["body"] == [words.strip()]
    assert not SentMessage.objects.exists()


@pytest.mark.real_time
def test_mail_is_sent_and_a_failure_stays_to_be_sent_again(owner_client, ready, mailbox):
    ticket = ready()
    page = page_of(owner_client, f"/t/{ticket}/message/")
    assert page.one(f"button[formaction=/t/{ticket}/message/mail/]")
    key = uuid4()
    mailbox.refuses = "RCPT"
    for _ in range(2):  # sent twice, it is tried once
        post(owner_client, ticket, "mail", form_key=key)
    row = SentMessage.objects.get()
    assert row.wrong == "The address was refused: 5.1.1 not here, thank you (550)."
    assert "not here" in page_of(owner_client, ticket.get_absolute_url()).text
    assert "Not sent" in page_of(owner_client, f"/t/{ticket}/message/").text
    assert "Not sent 1" in page_of(owner_client, "/messages/").text
    mailbox.refuses = ""
    post(owner_client, ticket, "mail")
    assert [it["To"] for it in mailbox.messages] == ["mary@example.org"]
    assert mailbox.messages[0]["Subject"] == f"Your ticket {ticket}, Larkfield Sewing Room"
    assert mailbox.messages[0].get_content().strip() == "It is ready."
    assert SentMessage.objects.filter(wrong="").count() == 1
    assert "Not sent" not in page_of(owner_client, "/messages/").text


@pytest.mark.real_time
def test_another_phone_or_e_mail_is_chosen_also_of_who_answers(owner_client, ready, mailbox):
    ticket = ready()
    client = ticket.client
    address = f"/t/{ticket}/message/"
    assert page_of(owner_client, address).all("nav[aria-label=To]") == []  # nothing to choose
    daughter = ContactFactory(client=client, label="her daughter", value="087 555 0166")
    office = ContactFactory(client=client, kind="email", label="", value="desk@harbour.example")
    client.household = ClientFactory(name="Nora Penhale", phone="085 555 0111")
    client.save()
    chips = page_of(owner_client, address).one("nav[aria-label=To]")
    assert "her daughter 087 555 0166" in chips.text
    assert "Nora Penhale 085 555 0111" in chips.text
    hrefs = {chip.text: chip["href"] for chip in chips.all("a")}
    page = page_of(owner_client, address + hrefs["her daughter 087 555 0166"])
    ways = [page.one(".step a.main")["href"], *(way["href"] for way in page.all("#ways a"))]
    assert {way.partition("?")[0] for way in ways} == {"sms:0875550166", "tel:0875550166"}
    page = page_of(owner_client, address + hrefs["Nora Penhale 085 555 0111"])
    assert "0855550111" in page.one(".step a.main")["href"]
    assert post(owner_client, ticket, "mail", to=daughter.pk).status_code == 302
    assert mailbox.messages == []
    post(owner_client, ticket, "mail", to=office.pk)
    assert [it["To"] for it in mailbox.messages] == ["desk@harbour.example"]


@pytest.mark.real_time
def test_the_owner_sets_mail_and_tries_it(owner_client, mailbox):
    facts = {
        "host": "127.0.0.1", "port": mailbox.port, "security": "none", "sender": "me@example.org",
    }  # fmt: skip
    owner_client.post("/studio/mail/", facts)
    assert "Not tried yet" in owner_client.get("/studio/mail/").text
    owner_client.post("/studio/mail/test/")
    assert "E-mail goes out" in owner_client.get("/studio/mail/").text
    assert mailbox.messages[0]["To"] == "me@example.org"
    secret = facts | {"user": "room", "password": "thread"}
    assert owner_client.post("/studio/mail/", secret).status_code == 302
    assert "thread" not in owner_client.get("/studio/mail/").text
    # Another machine gets a password only by TLS, and never one that was kept for another.
    page = owner_client.post("/studio/mail/", secret | {"host": "smtp.example.org"})
    assert "only by TLS" in page.text
    moved = secret | {"host": "smtp.example.org", "security": "tls", "password": ""}
    owner_client.post("/studio/mail/", moved)
    assert mail.load().password == ""
    owner_client.post("/studio/mail/", {"off": "yes"})
    assert not mail.load().is_on


@pytest.mark.postgres
def test_what_to_say_today(owner_client, studio, owner, ready, mary):
    assert "Who is to be told" in page_of(owner_client, "/messages/").text
    told, untold = ready(), ready()
    SentMessageFactory(ticket=told, kind="ready", about=moment_key(told.ready_at))
    soon = received(studio, owner, client=mary)
    FittingFactory(ticket=soon, starts_at=clock.now() + timedelta(hours=4))
    later = received(studio, owner, client=mary)
    FittingFactory(ticket=later, starts_at=clock.now() + timedelta(days=4))
    page = page_of(owner_client, "/messages/")
    assert [head.text for head in page.all("h2")] == [
        "Fitting today or tomorrow 1",
        "Ready to collect 1",
    ]
    assert page.one(f"#say-ready-{untold}")
    assert page.one(f"#say-reminder-{soon}")
    assert "1 ready, 1 fitting" in page_of(owner_client, "/").text
    assert "1 ready, 1 fitting" in page_of(owner_client, "/pick-up/").text


@pytest.mark.postgres
def test_the_rail_and_pick_up_say_who_was_told_and_tell_in_one_tap(owner_client, ready):
    ticket, told, silent = ready(), ready(), ready(client=ClientFactory(phone="", email=""))
    before = ready()
    SentMessageFactory(ticket=told, kind="waiting", at=clock.now())
    SentMessageFactory(ticket=before, kind="ready", at=before.ready_at - timedelta(hours=1))
    SentMessageFactory(ticket=before, kind="ready", at=clock.now(), wrong="refused")
    text = f"Your ticket {ticket} is ready to collect. Larkfield Sewing Room"
    for address in ("/rail/", "/pick-up/"):
        page = page_of(owner_client, address)
        assert page.one(f"a[href=/t/{silent}/message/]").text.startswith("Not told")
        assert page.one(f"a[href=/t/{told}/message/]").text.startswith("told ")
        assert len(page.all("form.tell")) == 2
        assert page.one(f"#told-{before}")
        form = page.one(f"#told-{ticket}")
        way = form.one("a")
        assert parse_qs(urlsplit(way["href"]).query)["body"] == [text]
        assert (form["hx-post"], way["data-sends"]) == (f"/t/{ticket}/message/told/", form["id"])
    fields = {it["name"]: it["value"] for it in form.all("input[name]")}
    assert owner_client.post(form["action"], fields)["Location"] == "/pick-up/"
    row = SentMessage.objects.get(ticket=ticket)
    assert (row.kind, row.way, row.text) == ("ready", "text", text)
    page = page_of(owner_client, "/rail/")
    assert page.one(f"a[href=/t/{ticket}/message/]").text.startswith("told ")


def test_the_rail_sends_mail_from_here_in_one_tap(owner_client, ready, mailbox):
    ticket = ready(client=ClientFactory(phone="", email="ann@example.org"))
    form = page_of(owner_client, "/rail/").one(f"#told-{ticket}")
    assert form.one("button").text.startswith("Tell")
    fields = {it["name"]: it["value"] for it in form.all("input[name]")}
    owner_client.post(form["action"], fields)
    assert len(mailbox.messages) == 1
    assert SentMessage.objects.get(ticket=ticket).way == "email"


@pytest.mark.parametrize("count", [1, 3])
def test_many_take_as_many_queries_as_one(
    owner_client, studio, owner, ready, mary, django_assert_num_queries, count
):
    for _ in range(count):
        ready()
        FittingFactory(
            ticket=received(studio, owner, client=mary), starts_at=clock.now() + timedelta(hours=4)
        )
    with django_assert_num_queries(10):
        owner_client.get("/messages/")


def test_who_does_not_want_to_be_written_to_is_called_and_offered_nothing_else(
    owner_client, ready, mailbox
):
    quiet = ClientFactory(name="Una Quiet", phone="087 1", email="una@example.org", way="only")
    ticket = ready(client=quiet)
    pages = ["/rail/", "/pick-up/", "/messages/", "/ready/", f"/clients/{quiet.pk}/"]
    for address in [*pages, f"/t/{ticket}/", f"/t/{ticket}/message/"]:
        page = owner_client.get(address).text
        assert "tel:0871" in page, address
        assert "sms:" not in page, address
        assert "mailto:" not in page, address
        assert f'action="/t/{ticket}/message/mail/"' not in page, address
    answer = post(owner_client, ticket, "mail", way="email")
    page = owner_client.get(answer["Location"]).text
    assert "Una Quiet does not want to be written to: call." in page
    assert not mailbox.messages
    assert not SentMessage.objects.exists()
