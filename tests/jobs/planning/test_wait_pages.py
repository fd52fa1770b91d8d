"""Work put on hold at the counter, and the page of all open questions."""

from datetime import date
from urllib.parse import parse_qs, urlsplit

import pytest
from django.urls import reverse

from jobs.planning import actions
from jobs.planning.messages import about_missed_fitting, about_wait
from jobs.planning.models import Wait
from jobs.tickets import actions as tickets
from tests.drafts import received
from tests.factories import ClientFactory, FittingFactory
from tests.jobs.planning.books import at
from tests.jobs.planning.pages import beside, notices, words

pytestmark = pytest.mark.usefixtures("monday")


@pytest.fixture
def waiting(studio, owner):
    """A line of a ticket of its own that waits."""

    def holding(what="client", question="How short?", client=None, **facts):
        client = client or ClientFactory(name="Ada Moss", phone="+353 (0)85 555 0101")
        ticket = received(studio, owner, client=client, promise_at=at(10))
        line = ticket.garments.get().lines.get()
        wait = {"what": what, "question": question, "expected": None, "by": owner} | facts
        return actions.hold(line=line, **wait)

    return holding


@pytest.mark.parametrize("role", ["owner", "helper"])
def test_a_line_is_put_on_hold_and_taken_up_again(role, request, ticket, hem_line, on):
    client = request.getfixturevalue(f"{role}_client")
    address = reverse("line-wait", args=[hem_line.pk])
    assert address in client.get(f"/t/{ticket.number}/").text
    sent = {"what": "part", "question": "a 20 cm zip", "expected": "2026-03-05"}
    after = client.post(address, sent, follow=True)
    shown = words(after.text)
    assert "Waits for a zip or other part" in shown
    assert "since Mon 2 Mar, expected Thu 5 Mar: a 20 cm zip" in shown
    assert address not in after.text
    end = reverse("wait-end", args=[Wait.objects.get().pk])
    with on(1):
        after = client.post(end, follow=True)
    assert notices(after) == [f"{ticket.number} is resumed. Its promise moved to Fri 13 Mar."]
    assert end not in after.text


def test_a_promise_that_stays_is_said_too(owner_client, waiting):
    wait = waiting()
    after = owner_client.post(
        reverse("wait-end", args=[wait.pk]), {"back": reverse("waiting")}, follow=True
    )
    number = wait.line.garment.ticket.number
    assert notices(after) == [f"{number} is resumed. Its promise stays on Thu 12 Mar."]
    assert "Nothing waits." in after.text


@pytest.mark.parametrize(
    ("typed", "field", "message"),
    [
        ({"what": ""}, "what", "Say what it waits for."),
        ({"what": "weather"}, "what", "Select a valid choice."),
        ({"expected": "2026-03-01"}, "expected", "This day is over."),
        ({"question": "?" * 301}, "question", "Ensure this value has at most 300 characters"),
    ],
)
def test_what_is_wrong_is_said_beside_the_field(
    owner_client, ticket, hem_line, typed, field, message
):
    sent = {"what": "client", "question": "How short?", "expected": ""} | typed
    response = owner_client.post(reverse("line-wait", args=[hem_line.pk]), sent)
    assert beside(response, field).startswith(message)
    assert sent["question"] in response.text
    assert not Wait.objects.exists()


def test_a_line_that_is_done_cannot_wait(owner_client, ticket, hem_line, owner):
    tickets.tick(line=hem_line, by=owner)
    response = owner_client.post(
        reverse("line-wait", args=[hem_line.pk]), {"what": "washing"}, follow=True
    )
    assert notices(response) == ["This operation is no longer open."]


def test_the_page_lists_open_questions_the_longest_first(owner_client, waiting, studio, owner, on):
    with on(0):
        waiting("shoes", "", client=ClientFactory(name="Bel Rowan"))
    old = waiting()
    ended, done = waiting("part"), waiting("washing")
    actions.end_wait(wait=ended, studio=studio, by=owner)
    tickets.tick(line=done.line, by=owner)
    with on(3):
        page = words(owner_client.get("/waiting/").text)
    assert page.index("The client's answer How short?") < page.index("The event shoes")
    number = old.line.garment.ticket.number
    assert f"Ada Moss {number} · A · trousers, navy: Hem Ready by Thu 12 Mar" in page
    assert "Since Mon 2 Mar (3 days)" in page
    assert "Washing" not in page
    assert "zip" not in page


def test_what_was_expected_before_today_is_said_to_be_over(owner_client, waiting, on):
    waiting("part", "a zip", expected=date(2026, 3, 4))
    with on(2):
        assert "(is over)" not in owner_client.get("/waiting/").text
    with on(3):
        assert "expected Wed 4 Mar (is over)" in words(owner_client.get("/waiting/").text)


def test_the_question_is_drafted_for_text_and_mail(waiting, studio):
    """The parts of the links are read by the standard library's own parser."""
    client = ClientFactory(
        name="Ada Moss", phone="+353 (0)85 555 0101", email="ada+moss@example.com", way="email"
    )
    wait = waiting(question="Short & straight, 50 % off?", client=client)
    asked = about_wait(wait, studio, note=True)
    assert asked.text == (
        "Your ticket 26-0001 (A \N{MIDDLE DOT} trousers, navy: hem): we have a question: "
        f"{quoted('Short & straight, 50 % off?')}. Please let us know: we resume as soon as we "
        "have your answer. Larkfield Sewing Room"
    )
    mail, call, text = (urlsplit(way.href) for way in asked.links)
    assert (mail.scheme, mail.path) == ("mailto", "ada%2Bmoss@example.com")
    assert parse_qs(mail.query) == {
        "subject": ["Your ticket 26-0001, Larkfield Sewing Room"],
        "body": [asked.text],
    }
    assert (call.scheme, call.path) == ("tel", "+353855550101")
    assert (text.scheme, text.path, parse_qs(text.query)) == (
        "sms",
        "+353855550101",
        {"body": [asked.text]},
    )
    assert "+" not in mail.query + text.query  # a plus would arrive as a plus
    assert [way.liked for way in asked.links] == [True, False, False]


def quoted(note: str) -> str:
    return f"\N{LEFT DOUBLE QUOTATION MARK}{note}\N{RIGHT DOUBLE QUOTATION MARK}"


@pytest.mark.parametrize(
    ("what", "expected", "words"),
    [
        ("client", None, "we have a question"),
        ("part", None, "we are waiting for a part"),
        ("part", date(2026, 3, 5), "we are waiting for a part, expected on Thu 5 Mar"),
        ("washing", None, "it has to be washed before we can resume"),
        ("shoes", None, "so that we can mark it"),
    ],
)
@pytest.mark.parametrize("note", ["", "she pays late", "Which? The silver ones! Ask her mother."])
def test_each_wait_has_its_words_and_a_note_only_when_it_is_asked_for(
    waiting, studio, what, expected, words, note
):
    wait = waiting(what, note, expected=expected)
    plain, noted = about_wait(wait, studio).text, about_wait(wait, studio, note=True).text
    assert f"{words}. " in plain
    assert not note or note not in plain
    assert (f"{words}: {quoted(note)}. " if note else f"{words}. ") in noted
    assert plain.endswith("Larkfield Sewing Room")


def test_no_link_of_the_page_has_the_note_but_those_that_say_so(owner_client, waiting):
    """The parts of the page before and after the owner's choice."""
    waiting("client", "she pays late", client=ClientFactory(email="ada@example.com"))
    page = owner_client.get("/waiting/").text
    before, chosen = page.split("<summary>Message with your note</summary>")
    assert "pays%20late" not in before
    assert "pays%20late" in chosen
    waiting("part", "", client=ClientFactory(email="bel@example.com"))
    assert owner_client.get("/waiting/").text.count("Message with your note") == 1


def test_a_client_without_phone_or_mail(owner_client, waiting):
    waiting(client=ClientFactory(phone="", email=""))
    assert "No phone or e-mail is known." in owner_client.get("/waiting/").text


def test_missed_fittings_without_a_new_day(owner_client, studio, ticket, book_at, owner, on):
    fitting = book_at(1)
    with on(1, "11:00"):
        missed = actions.miss_fitting(fitting=fitting, by=owner)
        assert about_missed_fitting(missed, studio).text == (
            "Your ticket 26-0001: we missed you at the fitting on Tue 3 Mar 10:00. "
            "Please tell us which day suits you. Larkfield Sewing Room"
        )
        address = reverse("fitting-move", args=[fitting.pk])
        assert address in owner_client.get("/waiting/").text
        book_at(2, kind="next")
        assert address not in owner_client.get("/waiting/").text


@pytest.mark.parametrize("count", [1, 3])
def test_the_page_asks_the_database_ten_times(
    owner_client, waiting, django_assert_num_queries, count
):
    for _ in range(count):
        wait = waiting()
        FittingFactory(ticket=wait.line.garment.ticket, state="missed")
    with django_assert_num_queries(10):
        page = owner_client.get("/waiting/")
    assert page.text.count("Find a new day") == count
    assert page.text.count('class="btn main"') == 1
    assert Wait.objects.count() == count
