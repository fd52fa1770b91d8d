"""What the owner sets about word to clients: mail, the ladder, the public address."""

from typing import Any
from urllib.parse import urlsplit

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST

from jobs.counter.messages import ladder
from studio.shop.actions import save_profile, set_mail
from studio.shop.doors.logins import fresh_password
from studio.shop.forms import Chips
from studio.shop.http import StudioRequest, owner_only, say, sent
from studio.shop.messages import mail
from studio.shop.models import Profile

SET_HERE = ("page_address", "page_days", "collect_steps")
AT_HOME = {"localhost", "127.0.0.1", "::1"}


class WordForm(forms.Form):
    """The ladder and the client's page. Empty days take a step of the ladder away."""

    page_address = forms.CharField(
        label="Public address", max_length=200, required=False,
        help_text="Such as https://studio.example. Empty: clients have no page.",
    )  # fmt: skip
    page_days = forms.IntegerField(
        label="Days the page stays after collection", min_value=0, max_value=365
    )

    def __init__(self, *args: Any, studio: Profile, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial = {"page_address": studio.page_address, "page_days": studio.page_days}
        kept = ladder.rungs(studio)
        self.count = min(len(kept) + 1, ladder.MOST_RUNGS) if kept else 3
        for place in range(1, ladder.MOST_RUNGS + 1):
            rung = kept[place - 1] if place <= len(kept) else None
            self.fields[f"days_{place}"] = forms.IntegerField(
                label=f"Step {place}: days since ready", min_value=1, max_value=ladder.LONGEST,
                required=False, initial=rung.days if rung else None,
            )  # fmt: skip
            self.fields[f"how_{place}"] = forms.ChoiceField(
                label=f"Step {place}: what is due", choices=ladder.HOW, required=False,
                widget=Chips, initial=rung.how if rung else ladder.MESSAGE,
            )  # fmt: skip

    @property
    def steps(self) -> list[tuple[forms.BoundField, forms.BoundField]]:
        return [(self[f"days_{n}"], self[f"how_{n}"]) for n in range(1, self.count + 1)]

    def clean_page_address(self) -> str:
        typed: str = self.cleaned_data["page_address"].strip().rstrip("/")
        if not typed:
            return ""
        parts = urlsplit(typed)
        if parts.scheme == "http" and parts.hostname and parts.hostname not in AT_HOME:
            raise ValidationError(
                "It has to begin with https: over http anybody on the way can read what a client "
                "sees. http is taken for this machine alone, to try it."
            )
        if parts.scheme not in {"http", "https"} or not parts.hostname or parts.path or parts.query:
            raise ValidationError("Write it as https://studio.example, without a path.")
        if "@" in parts.netloc or "\\" in typed or not typed.isprintable() or " " in typed:
            raise ValidationError("Write it as https://studio.example, without a path.")
        return typed

    def clean(self) -> dict[str, Any]:
        facts = super().clean() or {}
        steps = [
            {"days": facts[f"days_{place}"], "how": facts.get(f"how_{place}") or ladder.MESSAGE}
            for place in range(1, ladder.MOST_RUNGS + 1)
            if facts.get(f"days_{place}")
        ]
        if len({step["days"] for step in steps}) < len(steps):
            raise ValidationError("Two steps are due on the same day.")
        facts["collect_steps"] = sorted(steps, key=lambda step: step["days"])
        return facts


@owner_only
def studio_messages(request: StudioRequest) -> HttpResponse:
    studio = request.studio
    data = sent(request)
    if data is not None and "example" in data:
        form = WordForm(None, studio=studio)
        facts: dict[str, Any] | None = {"collect_steps": ladder.EXAMPLE}
    else:
        form = WordForm(data, studio=studio)
        facts = form.cleaned_data if data is not None and form.is_valid() else None
    if facts is not None:
        names: list[str] = [name for name in SET_HERE if name in facts]
        for name in names:
            setattr(studio, name, facts[name])
        entry = save_profile(studio=studio, fields=names, by=request.user)
        if entry:
            back = reverse("studio-messages")
            say(request, "Saved.", undo=reverse("studio-undo"), entry=entry.pk, back=back)
        else:
            say(request, "Saved.")
        return redirect("studio-messages")
    context = {"form": form, "server": mail.load(), "rungs": ladder.rungs(studio)}
    return render(request, "counter/messages/settings.html", context)


class MailForm(forms.Form):
    host = forms.CharField(
        label="Server",
        max_length=200,
        help_text="Such as smtp.example.org: your provider names it.",
    )
    security = forms.ChoiceField(
        label="Secured by", widget=Chips,
        choices=[("starttls", "STARTTLS"), ("tls", "TLS"), ("none", "Nothing")],
    )  # fmt: skip
    port = forms.IntegerField(
        min_value=1, max_value=65535, help_text="Usually 587 with STARTTLS, 465 with TLS."
    )
    user = forms.CharField(max_length=200, required=False, widget=forms.TextInput(
        attrs={"autocomplete": "off"}))  # fmt: skip
    password = forms.CharField(
        max_length=400, required=False, strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "off"}),
    )  # fmt: skip
    sender = forms.EmailField(label="From", help_text="The address that clients see.")

    def __init__(self, *args: Any, kept: mail.MailServer, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.kept = kept
        if kept.password:
            self.fields["password"].help_text = "Empty keeps the one that is there."

    def clean_host(self) -> str:
        host: str = self.cleaned_data["host"].strip()
        if not host.isprintable() or any(letter in host for letter in " /@\\"):
            raise ValidationError("Write the name of the server alone, such as smtp.example.org.")
        return host

    def clean(self) -> dict[str, Any]:
        facts = super().clean() or {}
        at_home = facts.get("host", "").strip("[]") in AT_HOME
        if facts.get("security") == "none" and facts.get("user") and not at_home:
            self.add_error("security", "A password goes to another machine only by TLS.")
        return facts

    @property
    def server(self) -> mail.MailServer:
        """What a valid form says; another server or user gets no password that was kept."""
        facts = self.cleaned_data
        same = (facts["host"], facts["user"]) == (self.kept.host, self.kept.user)
        password = facts["password"] or (self.kept.password if same else "")
        return mail.MailServer(**{**facts, "password": password if facts["user"] else ""})


@sensitive_post_parameters()
@owner_only
@fresh_password
def studio_mail(request: StudioRequest) -> HttpResponse:
    kept = mail.load()
    data = sent(request)
    if data is not None and "off" in data:
        set_mail(server=mail.MailServer(), by=request.user)
        say(request, "E-mail is off. Messages open in your own mail program.")
        return redirect("studio-messages")
    initial = vars(kept) | {"password": "", "sender": kept.sender or request.studio.email}
    form = MailForm(data, kept=kept, initial=initial)
    if data is not None and form.is_valid():
        set_mail(server=form.server, by=request.user)
        say(request, "Saved. Send yourself a test.")
        return redirect("studio-mail")
    return render(request, "counter/messages/mail.html", {"form": form, "kept": kept})


@owner_only
@require_POST
def studio_mail_test(request: StudioRequest) -> HttpResponse:
    """One message to the sender's own address."""
    server, studio = mail.load(), request.studio
    if not server.is_on:
        messages.error(request, "Save a server first.")
        return redirect("studio-mail")
    try:
        mail.send(
            mail.written(
                server=server, name=studio.name, to=server.sender,
                subject=f"Test, {studio.name}", language=studio.language_tag,
                text=f"E-mail works. {studio.name}",
            ),
            server,
        )  # fmt: skip
    except mail.MailError as wrong:
        messages.error(request, f"Not sent. {wrong}")
    else:
        say(request, f"Test sent to {server.sender}.")
    return redirect("studio-mail")
