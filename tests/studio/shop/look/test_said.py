"""What a page says of itself: what a form refused, what was done and how to undo it."""

import re
from dataclasses import dataclass, field

from django import forms
from django.contrib.messages import SUCCESS, WARNING
from django.contrib.messages.storage.base import Message
from django.contrib.messages.storage.fallback import FallbackStorage
from django.template import Context
from django.test import RequestFactory
from django.urls import reverse

from studio.shop.http import say
from studio.shop.templatetags import look


class Name(forms.Form):
    name = forms.CharField(label="Your name")
    day = forms.DateField(required=False)
    kind = forms.ChoiceField(widget=forms.RadioSelect, choices=[("a", "A")])
    key = forms.UUIDField(widget=forms.HiddenInput, required=False)

    def clean(self):
        if self.cleaned_data.get("day"):
            raise forms.ValidationError("Not on that day.")


@dataclass
class Page:
    rows: list[forms.Form] = field(default_factory=list)


def refused(**context):
    summary = look.error_summary(Context(context))["refusals"]
    assert look.error_prefix(Context(context)) == ("Error: " if summary else "")
    return [(refusal.label, refusal.words, refusal.field_id) for refusal in summary]


def checked(**typed):
    form = Name(typed)
    form.is_valid()
    return form


def test_each_refused_field_is_linked():
    form = checked(name="", day="soon", kind="a", key="x")
    assert refused(form=form) == [
        ("Your name", "This field is required.", "id_name"),
        ("Day", "Enter a valid date.", "id_day"),
        ("", "Enter a valid UUID.", ""),
    ]


def test_what_speaks_of_the_whole_form_has_no_link_and_radios_the_first():
    assert refused(form=checked(name="Mary", day="2026-03-04", kind="b")) == [
        ("Kind", "Select a valid choice. b is not one of the available choices.", "id_kind_0"),
        ("", "Not on that day.", ""),
    ]


def test_forms_are_found_where_pages_keep_them():
    form = checked(name="", kind="a")
    for context in ({"page": Page([form])}, {"forms": {"first": form}}, {"rows": [form, form]}):
        assert refused(**context) == [("Your name", "This field is required.", "id_name")]
    rows = forms.formset_factory(Name)(
        {"form-TOTAL_FORMS": "1", "form-INITIAL_FORMS": "0", "form-0-day": "soon"}
    )
    rows.is_valid()
    assert ("Day", "Enter a valid date.", "id_form-0-day") in refused(rows=rows)


def test_a_form_that_was_not_checked_or_is_right_refuses_nothing():
    assert refused(form=Name({"name": ""}), other=checked(name="Mary", kind="a"), new=Name()) == []


def test_a_page_says_so_in_its_title_its_summary_and_at_the_field(owner_client):
    page = owner_client.post(reverse("client-new"), {"name": ""}).text
    assert re.search(r"<title>Error: ", page)
    assert re.search(r'<a href="#id_name">Name: [^<]+</a>', page)
    assert re.search(r'<input[^>]*aria-invalid="true"[^>]*id="id_name"', page)
    assert page.index('id="refused"') < page.index("<h1>") < page.index('id="id_name"')
    assert "<title>Error" not in owner_client.get(reverse("client-new")).text


def test_a_notice_can_be_undone_by_a_form():
    request = RequestFactory().get("/")
    request.session = {}
    request._messages = FallbackStorage(request)
    say(request, "Moved.", undo="/t/26-0143/undo/", entry=7, save="a b")
    say(request, "Only said.")
    moved, only = request._messages
    assert look.undo_of(moved) == {
        "action": "/t/26-0143/undo/",
        "fields": [("entry", "7"), ("save", "a b")],
    }
    assert look.undo_of(only) is None


def test_good_news_stands_at_the_foot_and_warnings_above():
    messages = [Message(SUCCESS, "Saved."), Message(WARNING, "Late.")]
    said = look.notices(Context({"messages": messages}))
    assert [str(message) for message in said["good"]] == ["Saved."]
    assert [str(message) for message in said["wrong"]] == ["Late."]
