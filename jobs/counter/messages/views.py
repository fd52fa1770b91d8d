"""The pages on which a client is told something: in two taps, and it is remembered."""

from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode
from uuid import uuid4

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import (
    require_GET,
    require_http_methods,
    require_POST,
    require_safe,
)
from django_htmx.http import HttpResponseClientRedirect

from clients.models import Contact
from clients.queries import Recipient, recipients
from jobs.billing.forms import AgeForm
from jobs.billing.queries import age_in_days, uncollected, waiting_by_age
from jobs.counter.messages import ladder
from jobs.counter.messages.drafts import Draft, Sent, drafts_of, not_collected_draft, to_say
from jobs.counter.messages.notice import notice_paper
from jobs.tickets import actions
from jobs.tickets.messages import client_link
from jobs.tickets.models import SentMessage, Ticket
from jobs.tickets.queries import ticket_or_404
from jobs.tickets.views import say_step
from studio.shop.http import StudioRequest, go_back
from studio.shop.may import Tick
from studio.shop.messages import mail, sms
from studio.shop.models import Profile
from studio.shop.paper import show_pdf

MOST_TEXT = 2000
MOST_ROWS = 100
CHANGED = "The ticket has changed meanwhile. Look at the message once more."


class MessageForm(forms.Form):
    """What is sent; ``kind`` and ``key`` say which message it is, as the page knew it."""

    kind = forms.CharField(widget=forms.HiddenInput)
    key = forms.CharField(widget=forms.HiddenInput, required=False)
    to = forms.CharField(widget=forms.HiddenInput, required=False)
    form_key = forms.UUIDField(widget=forms.HiddenInput, initial=uuid4, required=False)
    text = forms.CharField(
        label="Message",
        max_length=MOST_TEXT,
        widget=forms.Textarea(attrs={"rows": 4}),
        error_messages={"required": "Write what the message says."},
    )
    way = forms.ChoiceField(
        choices=SentMessage.Way.choices, initial=SentMessage.Way.OTHER, required=False,
        widget=forms.HiddenInput,
    )  # fmt: skip

    def clean_text(self) -> str:
        text: str = self.cleaned_data["text"]
        if "\x00" in text:
            raise ValidationError("This message has a letter in it that cannot be sent.")
        return text


@require_http_methods(["GET", "POST"])
def ticket_message(request: StudioRequest, number: str) -> HttpResponse:
    """One message to the client, and the ways to send it; what is posted is only looked at."""
    ticket = ticket_or_404(number)
    drafts = drafts_of(ticket, request.studio, figures=request.user.may(Tick.PRICES))
    asked = request.POST.get("kind") or request.GET.get("kind", "")
    draft = next((each for each in drafts if each.kind == asked), drafts[0] if drafts else None)
    text = ""
    if draft:
        text = request.POST.get("text", "")[:MOST_TEXT].strip() or draft.message.text
    people = recipients(ticket.client)
    chosen = request.POST.get("to") or request.GET.get("to", "")
    to = next((each for each in people if each.key == chosen), None)
    context: dict[str, Any] = {
        "ticket": ticket,
        "people": people,
        "to": to,
        "drafts": drafts,
        "draft": draft,
        "text": text,
        "sent": list(ticket.messages.select_related("by")),
        "page_address": client_link(ticket, request.studio),
        "has_pages": bool(request.studio.page_address),
    }
    if draft:
        initial = {"kind": draft.kind, "key": draft.key, "text": text, "to": to.key if to else ""}
        contact = to.contact if to else None
        context |= {
            "form": MessageForm(initial=initial),
            "length": sms.length_of(text),
            "links": ticket.client.contact_links(text, draft.message.subject, contact),
            "mails": mail.load().is_on and _mailed(ticket, to),
        }
    return render(request, "counter/messages/message.html", context)


def _mailed(ticket: Ticket, to: Recipient | None) -> str:
    """The e-mail that a message goes to; empty where a phone was chosen, none is known, or the
    client does not want to be written to."""
    if not ticket.client.may_be_written_to:
        return ""
    if to is None:
        return ticket.client.email
    return to.contact.value if to.contact.kind == Contact.Kind.EMAIL else ""


def _draft(request: StudioRequest, ticket: Ticket, form: MessageForm) -> Draft | None:
    """The message that the page showed, as it stands now; None where that has changed."""
    kind, key = form.cleaned_data["kind"], form.cleaned_data["key"]
    drafts = drafts_of(ticket, request.studio, figures=request.user.may(Tick.PRICES))
    draft = next((each for each in drafts if each.kind == kind), None)
    return draft if draft and key in {draft.key, ""} else None


def _after(request: StudioRequest, ticket: Ticket) -> HttpResponse:
    """On to the page the form names; a part that htmx has sent opens it whole."""
    onward = go_back(request, ticket)
    return HttpResponseClientRedirect(onward.url) if request.htmx else onward


@require_POST
def ticket_told(request: StudioRequest, number: str) -> HttpResponse:
    """It was sent by hand, by the ``way`` that the form names."""
    ticket = ticket_or_404(number)
    form = MessageForm(request.POST)
    draft = _draft(request, ticket, form) if form.is_valid() else None
    if draft is None:
        messages.error(request, CHANGED)
        return _after(request, ticket)
    way = form.cleaned_data["way"] or SentMessage.Way.OTHER
    try:
        message = actions.remember_told(
            ticket=ticket, kind=draft.kind, about=draft.key, way=way,
            text=form.cleaned_data["text"], by=request.user,
        )  # fmt: skip
    except actions.TicketError as wrong:
        messages.error(request, str(wrong))
    else:
        say_step(request, ticket, f"Remembered: {message.get_kind_display().lower()}, {ticket}.")
    return _after(request, ticket)


@require_POST
def ticket_mail(request: StudioRequest, number: str) -> HttpResponse:
    """Send it as mail now; a failure stays with the message, to be sent again by hand."""
    ticket = ticket_or_404(number)
    form = MessageForm(request.POST)
    draft = _draft(request, ticket, form) if form.is_valid() else None
    server = mail.load()
    if draft is None or not form.cleaned_data["form_key"]:
        messages.error(request, CHANGED)
        return _after(request, ticket)
    if not server.is_on:
        messages.error(request, "E-mail is not set up.")
        return _after(request, ticket)
    people = {each.key: each for each in recipients(ticket.client)}
    address = _mailed(ticket, people.get(form.cleaned_data["to"]))
    if not address:
        wish = f"{ticket.client.name} does not want to be written to: call."
        known = ticket.client.may_be_written_to
        messages.error(request, "No e-mail is known." if known else wish)
        return _after(request, ticket)
    wrong = send_mail(request, draft, form, server, address)
    if wrong is None:
        messages.info(request, "This message was sent before.")
    elif wrong:
        facts = {"kind": draft.kind, "to": form.cleaned_data["to"]}
        page = f"{reverse('ticket-message', args=[ticket])}?{urlencode(facts)}"
        messages.error(request, f"Not sent. {wrong}")
        return HttpResponseClientRedirect(page) if request.htmx else redirect(page)
    else:
        messages.success(request, f"Sent to {address}.")
    return _after(request, ticket)


def send_mail(
    request: StudioRequest, draft: Draft, form: MessageForm, server: mail.MailServer, to: str
) -> str | None:
    """What went wrong; "" where it went, None where this form was sent before."""
    ticket, studio, text = draft.ticket, request.studio, form.cleaned_data["text"]
    message = actions.begin_mail(
        ticket=ticket, kind=draft.kind, about=draft.key, text=text, by=request.user,
        form_key=form.cleaned_data["form_key"],
    )  # fmt: skip
    if message is None:
        return None
    wrong = ""
    try:
        mail.send(
            mail.written(
                server=server, name=studio.name, to=to,
                subject=draft.message.subject, text=text, language=draft.message.language,
                answers=studio.email,
            ),
            server,
        )  # fmt: skip
    except mail.MailError as error:
        wrong = str(error)
    actions.end_mail(message=message, wrong=wrong, by=request.user)
    return wrong


@require_safe
def what_to_say(request: StudioRequest) -> HttpResponse:
    groups = to_say(request.studio)
    context = {"groups": groups, "mail_is_on": mail.load().is_on}
    return render(request, "counter/messages/to_say.html", context)


@dataclass(frozen=True)
class WaitingRow:
    """A ticket that nobody has collected: for how many days, what is due, and what comes next."""

    ticket: Any
    days: int
    draft: Draft | None
    last: SentMessage | None
    next: ladder.Rung | None
    next_in: int


@dataclass(frozen=True)
class WaitingPart:
    words: str
    rows: list[WaitingRow]


@require_GET
def not_collected(request: StudioRequest) -> HttpResponse:
    """What hangs here ready, the oldest first: what is due by the studio's own periods, then the
    rest. Eight queries for any number."""
    ages = waiting_by_age()
    form = AgeForm(request.GET)
    days = (form.is_valid() and form.cleaned_data["days"]) or 0
    tickets = list(uncollected(days).prefetch_related("garments__photos", "garments__lines"))
    sent = Sent.of(*tickets)
    rows = [_waiting_row(ticket, request.studio, sent) for ticket in tickets]
    shown = rows[:MOST_ROWS]
    parts = [
        WaitingPart("Due now", [row for row in shown if row.draft]),
        WaitingPart("Not due yet" if ladder.rungs(request.studio) else "On the rail",
                    [row for row in shown if not row.draft]),
    ]  # fmt: skip
    context = {
        "parts": [part for part in parts if part.rows], "count": len(rows),
        "more": len(rows) - len(shown), "ages": ages,
        "form": form, "chosen": days, "rungs": ladder.rungs(request.studio),
        "mail_is_on": mail.load().is_on,
    }  # fmt: skip
    return render(request, "counter/messages/not_collected.html", context)


def _waiting_row(ticket: Any, studio: Profile, sent: Sent) -> WaitingRow:
    days = age_in_days(ticket.ready_at)
    after = ladder.next_rung(ticket, studio)
    theirs = [row for row in sent.rows if row.ticket_id == ticket.pk]
    return WaitingRow(
        ticket=ticket,
        days=days,
        draft=not_collected_draft(ticket, studio, sent),
        last=theirs[0] if theirs else None,
        next=after,
        next_in=after.days - days if after else 0,
    )


@require_safe
def ticket_notice(request: StudioRequest, number: str) -> HttpResponse:
    """The notice for a client who has not come, to print; a helper's has no money."""
    ticket = ticket_or_404(number)
    pdf = notice_paper(ticket, request.studio, figures=request.user.may(Tick.PRICES))
    return show_pdf(f"Not collected {ticket.number}", pdf)
