"""What there is to remember: two lists kept apart, and what they hang on."""

import re
from html import unescape

import pytest
from django.http import HttpResponse
from django.urls import reverse

from jobs.planning.models import Todo
from jobs.planning.todo import hook_in
from studio.shop.models import Entry
from tests import factories as f
from tests.jobs.planning.pages import words
from tests.own_factories import ClothFactory, MakeFactory, PatternFactory, ReleaseFactory

AT = "/own/todo/"


def listed(page: HttpResponse, side: str, *, done: bool = False) -> list[str]:
    """The lines of a side in their order, or only those that are done."""
    _, *parts = re.split(r'<section class="todo-side (?=\w+)', page.text)
    part = next((part for part in parts if part.startswith(side)), "")
    mark = ' class="done"' if done else "[^>]*"
    lines = re.findall(rf'<li id="line-\d+"{mark}>.*?class="words">(.*?)</span>', part, re.DOTALL)
    return [words(line) for line in lines]


def add(client, side: str, typed: str) -> HttpResponse:
    return client.post(AT, {"side": side, "words": typed}, follow=True)


def press(client, page: HttpResponse, label: str) -> HttpResponse:
    """As the button with this label does, with what its form sends."""
    for action, form in re.findall(r'<form method="post" action="(.*?)">(.*?)</form>', page.text):
        button = re.search(r"<button(.*?)>(.*?)</button>", form)
        if label in (words(button[2]).replace(" :", ":"), _of(button[1], "aria-label")):
            fields = re.findall(r'<input[^>]*name="(\w+)" value="(.*?)"', form)
            facts = {name: unescape(value) for name, value in fields}
            if name := _of(button[1], "name"):
                facts[name] = _of(button[1], "value")
            answer = client.post(action, facts, follow=True)
            assert answer.status_code == 200
            return answer
    raise AssertionError(f"There is no button {label} on the page.")


def _of(tag: str, name: str) -> str:
    match = re.search(rf' {name}="(.*?)"', tag)
    return unescape(match[1]) if match else ""


def test_two_lists_kept_apart(owner_client, helper_client):
    ticket = f.TicketFactory(number="26-0143")
    add(owner_client, "studio", "Order black buttons 26-0143")
    page = add(owner_client, "mine", "Oil the machine")
    assert listed(page, "studio") == ["Order black buttons"]
    assert listed(page, "mine") == ["Oil the machine"]
    assert Todo.objects.get(ticket=ticket).words == "Order black buttons"
    assert re.search(r'<a class="thing[^>]*href="/t/26-0143/">26-0143</a>', page.text)

    page = add(owner_client, "mine", "Ring about 26-0143")
    # Once in the summary, once at the field.
    assert page.text.count("26-0143 is a ticket: add this to Studio.") == 2
    assert 'value="Ring about 26-0143"' in page.text
    assert Todo.objects.count() == 2

    page = helper_client.get(AT, {"side": "mine"})
    assert listed(page, "studio") == ["Order black buttons"]
    assert listed(page, "mine") == []
    assert "Oil" not in page.text
    assert "Mine" not in page.text


def test_what_is_the_owners_is_nobody_elses(owner_client, helper_client):
    add(owner_client, "mine", "Oil the machine")
    line = Todo.objects.get()
    for name in ("tick", "first", "remove"):
        assert helper_client.post(f"{AT}{line.pk}/{name}/", {"done": "1"}).status_code == 404
    assert helper_client.post(AT, {"side": "mine", "words": "Tea"}).status_code == 403
    entry = Entry.objects.get(verb="todo.add")
    assert helper_client.post(f"{AT}undo/", {"entry": entry.pk}).status_code == 404
    line.refresh_from_db()
    assert line.done_at is None
    assert Todo.objects.count() == 1


def test_a_tick_stays_until_the_next_day(owner_client, watch):
    page = add(owner_client, "studio", "New blade")
    page = press(owner_client, page, "Done: New blade")
    assert listed(page, "studio", done=True) == ["New blade"]
    page = press(owner_client, page, "Done: New blade")
    assert listed(page, "studio", done=True) == []
    assert listed(page, "studio") == ["New blade"]
    press(owner_client, page, "Done: New blade")
    watch.shift(60 * 60 * 24)
    assert listed(owner_client.get(AT), "studio") == []
    assert Todo.objects.get().done_at


def test_to_the_top_removed_and_undone(owner_client):
    for typed in ("One", "Two", "Three"):
        page = add(owner_client, "studio", typed)
    page = press(owner_client, page, "To the top: Three")
    assert listed(page, "studio") == ["Three", "One", "Two"]
    page = press(owner_client, page, "Remove: One")
    assert listed(page, "studio") == ["Three", "Two"]
    page = press(owner_client, page, "Undo")
    assert listed(page, "studio") == ["Three", "One", "Two"]
    assert listed(add(owner_client, "studio", "Two"), "studio") == ["Three", "One", "Two"]


@pytest.mark.postgres
@pytest.mark.usefixtures("studio")
def test_what_the_words_name():
    top = MakeFactory(words="Shell top")
    linen = MakeFactory(words="Shell top in linen")
    wool = ClothFactory(name="Návy  wool")
    skirt = ReleaseFactory(name="Wrap skirt")
    MakeFactory(words="Old coat", state="finished")
    MakeFactory(words="")
    ticket = f.TicketFactory(number="26-0143")
    assert hook_in("Trace the SHELL TOP, size 42") == top
    assert hook_in("Wash for the shell top in linen!") == linen
    assert hook_in("Wash the navy wool before cutting") == wool
    assert hook_in("Photograph (wrap skirt)") == skirt
    assert hook_in("Ring about 26-0143, shell top") == ticket
    for typed in ("Shell tops", "The old coat", "26-01430", "126-0143", "Oil the machine"):
        assert hook_in(typed) is None


def test_over_twelve_lines_are_grouped_by_what_they_hang_on(owner_client):
    wool = ClothFactory(name="Navy wool")
    for number in range(12):
        f.TodoFactory(words=f"Line {number}", cloth=wool if number % 2 else None)
    assert "<h3>" not in owner_client.get(AT).text
    f.TodoFactory(words="Line 12")
    page = owner_client.get(AT)
    heads = [words(head) for head in re.findall(r"<h3>(.*?)</h3>", page.text, re.DOTALL)]
    assert heads == ["Navy wool", "On nothing in particular"]
    assert len(listed(page, "studio")) == 13
    assert listed(page, "studio")[:2] == ["Line 1", "Line 3"]


def test_the_side_that_was_chosen_is_remembered(owner_client):
    assert 'todo-side studio chosen"' in owner_client.get(AT).text
    owner_client.get(AT, {"side": "mine"})
    page = owner_client.get(AT).text
    assert 'todo-side mine chosen"' in page
    assert 'todo-side studio chosen"' not in page


@pytest.mark.parametrize("each", [1, 3])
def test_the_page_asks_as_often_for_one_as_for_three(owner_client, each, django_assert_num_queries):
    for _ in range(each):
        f.TodoFactory(ticket=f.TicketFactory())
        f.TodoFactory(side="mine", cloth=ClothFactory())
        f.TodoFactory(release=ReleaseFactory())
        make = MakeFactory(state="under_way", pattern=PatternFactory(notions="Zip, thread"))
        f.TodoFactory(side="mine", make=make)
    # The session, the user, the profile; the lines; makes with their first pattern, and of those
    # pictures, what was bought, needs, further patterns, cloth that is meant and that was cut.
    with django_assert_num_queries(12):
        owner_client.get(AT)


def test_today_shows_three_of_the_studios_open_lines(owner_client, helper_client):
    f.TicketFactory()
    for number in range(5):
        f.TodoFactory(words=f"Chore {number}")
    f.TodoFactory(words="Secret", side="mine")
    for client in (owner_client, helper_client):
        page = client.get("/").text
        assert [f"Chore {number}" in page for number in range(5)] == [True] * 3 + [False] * 2
        assert "Secret" not in page
        assert "and 2 more" in page


def test_a_gap_is_put_on_the_to_do_from_the_sitting(owner_client, helper_client, studio):
    gap = f.GapFactory(words="A warm skirt")
    to, back = reverse("todo-gap", args=[gap.pk]), gap.get_absolute_url()
    assert owner_client.get(back).text.count(f'formaction="{to}"') == 2
    for _ in range(2):
        assert owner_client.post(to, {"back": back})["Location"] == back
    line = Todo.objects.get()
    assert (line.words, line.side, line.hangs_on) == ("A warm skirt", "mine", gap)
    page = owner_client.get(AT)
    assert listed(page, "mine") == ["A warm skirt"]
    assert "missing on cold days" in words(page.text)
    page = press(owner_client, page, "To buy: A warm skirt")
    assert (listed(page, "mine"), listed(page, "buy")) == ([], ["A warm skirt"])
    page = press(owner_client, page, "Not to buy: A warm skirt")
    assert (listed(page, "mine"), listed(page, "buy")) == (["A warm skirt"], [])
    owner_client.post(to, {"side": "buy"})
    assert listed(owner_client.get(AT), "buy") == ["A warm skirt"]
    assert to not in helper_client.get(back).text
