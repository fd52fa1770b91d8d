"""The first run: three short screens, and then the studio in one step, all or nothing.

What the first two screens said waits in the session, the password only as Django keeps it.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from functools import wraps
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.conf import settings
from django.contrib.auth import login
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.hashers import make_password
from django.contrib.auth.password_validation import validate_password
from django.contrib.auth.validators import UnicodeUsernameValidator
from django.core.exceptions import ValidationError
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponseBase, QueryDict
from django.shortcuts import redirect, render
from django.views.decorators.debug import sensitive_post_parameters

from jobs.planning.actions import set_rules
from jobs.planning.models import PlanRules
from jobs.planning.plan.weeks import Shares, week_shares
from jobs.pricing.actions import load_starting_list
from studio.shop import actions, territory
from studio.shop.actions import AlreadySetUpError, NamedRate
from studio.shop.forms import PercentField
from studio.shop.look.bars import Bar, Part
from studio.shop.models import Profile, User
from studio.shop.settings_forms import WeekForm, currency_choices, stepped, zone_choices

KEPT = "setup"
MOST_TENTHS = {"own": 10, "lost": 9}
FULL_DAY = 8 * 60
MOST_OF_A_LINE = 100
LONG_DAY = 10 * 60
"""How long the picture of a day is at least, so that a day grows in it."""


def _where() -> list[tuple[str, str]]:
    """Every country with what it brings along: ``Ireland: EUR, cm, A4``; none is first."""
    likely = [(code, name, territory.likely(code)) for code, name in territory.countries().items()]
    told = [(code, f"{name}: {it.currency}, {it.unit}, {it.paper}") for code, name, it in likely]
    return [("", "Choose your country"), *told]


class StudioForm(forms.Form):
    """What it is called, where it is, and who logs in. A password once taken may stay empty."""

    name = forms.CharField(
        label="What is it called?",
        max_length=120,
        widget=forms.TextInput(attrs={"autocomplete": "organization", "autofocus": True}),
    )
    legal_name = forms.CharField(
        label="Legal name, for invoices (can wait)",
        max_length=200,
        required=False,
    )
    country = forms.ChoiceField(
        label="Where?",
        error_messages={"required": "Choose your country: money, lengths and paper follow it."},
    )
    username = forms.CharField(
        label="Your name, to log in: one word",
        max_length=150,
        validators=[UnicodeUsernameValidator()],
        widget=forms.TextInput(attrs={"autocomplete": "username", "autocapitalize": "none"}),
    )
    password = forms.CharField(
        label="A password, 8 letters or more", strip=False, required=False, max_length=4096,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )  # fmt: skip
    currency = forms.ChoiceField(required=False)
    unit = forms.ChoiceField(required=False, label="Lengths in")
    paper = forms.ChoiceField(required=False)
    time_zone = forms.ChoiceField(required=False)

    def __init__(self, *args: Any, kept: str = "", **kwargs: Any) -> None:
        """``kept`` is the password that was taken before, as Django keeps it."""
        super().__init__(*args, **kwargs)
        self.kept = kept
        usual = [("", "As usual there")]
        choices: dict[str, list[Any]] = {
            "country": _where(),
            "currency": usual + currency_choices(""),
            "unit": usual + Profile.Unit.choices,
            "paper": usual + Profile.Paper.choices,
            "time_zone": usual + zone_choices(""),
        }
        for name, offered in choices.items():
            self.fields[name].choices = offered  # type: ignore[attr-defined]

    def clean_username(self) -> str:
        return str(User.normalize_username(self.cleaned_data["username"]))

    def clean_password(self) -> str:
        typed: str = self.cleaned_data["password"]
        if typed:
            validate_password(typed, User(username=self.cleaned_data.get("username", "")))
            self.kept = make_password(typed)
        elif not self.kept:
            raise ValidationError("Choose a password.", code="required")
        return ""

    def profile(self) -> dict[str, Any]:
        """What the profile starts with: the country's, but for what was chosen."""
        answers = self.cleaned_data
        likely = territory.likely(answers["country"])
        names = ("country", "currency", "unit", "paper", "time_zone", "winter_begins")
        own = {"name": answers["name"], "legal_name": answers["legal_name"]}
        return own | {name: answers.get(name) or getattr(likely, name) for name in names}


class FirstPapersForm(forms.Form):
    """What stands on papers: where the studio is, its phone, and the tax it charges."""

    address = forms.CharField(
        max_length=200,
        required=False,
        label="Your address",
        help_text="Stands on every claim ticket, the town in the last line.",
        widget=forms.Textarea(
            attrs={"rows": 2, "autocomplete": "street-address", "autofocus": True}
        ),
    )
    phone = forms.CharField(
        max_length=40,
        required=False,
        label="Your phone",
        widget=forms.TextInput(attrs={"autocomplete": "tel", "inputmode": "tel"}),
    )
    tax_mode = forms.ChoiceField(
        label="Do you charge tax?",
        choices=[
            (Profile.TaxMode.NONE, "No"),
            (Profile.TaxMode.INCLUDED, "Yes, it is in my prices"),
            (Profile.TaxMode.ADDED, "Yes, it comes on top"),
        ],
        widget=forms.RadioSelect,
    )
    percent = PercentField(most=100, required=False, label="Rate in %")
    tax_name = forms.CharField(max_length=60, required=False, label="It is called")
    tax_number = forms.CharField(max_length=40, required=False, label="Your tax number, if any")

    def clean_address(self) -> str:
        address: str = self.cleaned_data["address"]
        if any(len(line) > MOST_OF_A_LINE for line in address.splitlines()[1:]):
            raise ValidationError("Write it in more lines.", code="long")
        return address

    def reached(self) -> dict[str, str]:
        """Of several lines the last is the town."""
        answers = self.cleaned_data
        lines = [line.strip(" ,") for line in answers["address"].splitlines() if line.strip(" ,")]
        town = lines.pop() if len(lines) > 1 else ""
        return {"street": ", ".join(lines), "city": town, "phone": answers["phone"]}

    @property
    def charged(self) -> bool:
        return bool(self.cleaned_data.get("tax_mode") != Profile.TaxMode.NONE)

    def clean(self) -> dict[str, Any]:
        answers = super().clean() or {}
        if self.charged and answers.get("percent") is None and "percent" not in self.errors:
            self.add_error("percent", "Write the rate, or choose No.")
        if self.charged and not answers.get("tax_name") and "tax_name" not in self.errors:
            self.add_error("tax_name", "Give this rate a name.")
        return answers


def tenths_field(label: str, most: int) -> forms.IntegerField:
    widget = forms.TextInput(
        attrs={"inputmode": "numeric", "autocomplete": "off", "data-most": most}
    )
    return forms.IntegerField(label=label, min_value=0, max_value=most, widget=widget)


class SharesForm(forms.Form):
    """Of every ten hours, how many are the owner's and how many are not sewn; and the list."""

    own = tenths_field("Yours, to sew for yourself", MOST_TENTHS["own"])
    lost = tenths_field("Lost to the door and the phone", MOST_TENTHS["lost"])
    starting_list = forms.BooleanField(
        required=False, label="Start with a price list of common operations"
    )


@dataclass
class HoursScreen:
    """The week, the shares, and their picture as they stand."""

    days: WeekForm
    shares: SharesForm

    def is_valid(self) -> bool:
        return self.days.is_valid() & self.shares.is_valid()

    def percents(self) -> dict[str, int]:
        typed = (self.shares[name].value() for name in ("own", "lost"))
        own, lost = (int(it) if str(it).isdecimal() else 0 for it in typed)
        most = MOST_TENTHS
        return {
            "own_percent": 10 * min(own, most["own"]),
            "lost_percent": 10 * min(lost, most["lost"]),
        }

    @property
    def opens_wrong(self) -> bool:
        return any("starts" in form.errors for form in self.days.days if form.is_bound)

    @property
    def parts(self) -> list[Shares]:
        return week_shares(self.days.minutes(), **self.percents())

    @property
    def whole(self) -> Shares:
        return sum(self.parts, Shares(0, 0, 0))

    @property
    def pictures(self) -> list[tuple[Any, Bar]]:
        """Each day's form and its bar, all to one scale."""
        parts = self.parts
        size = max(LONG_DAY, *(part.minutes for part in parts))
        return [
            (form, Bar([Part(kind, getattr(part, kind)) for kind in KINDS], size=size))
            for form, part in zip(self.days.days, parts, strict=True)
        ]


KINDS = ("clients", "own", "lost")
View = Callable[[HttpRequest, dict[str, Any]], HttpResponseBase]


def _screen(view: View) -> Callable[[HttpRequest], HttpResponseBase]:
    """A screen gets what the ones before it were told; once there is a studio it is gone."""

    @login_not_required
    @sensitive_post_parameters()
    @wraps(view)
    def guarded(request: HttpRequest) -> HttpResponseBase:
        if request.studio:  # type: ignore[attr-defined]
            if request.method == "POST":
                return redirect("today")
            raise Http404
        return view(request, request.session.get(KEPT, {}))

    return guarded


def _keep(request: HttpRequest, said: dict[str, Any], **more: Any) -> None:
    request.session[KEPT] = said | more


def _answers(data: QueryDict) -> dict[str, str]:
    """What a form was sent with, but for its password and token."""
    return {
        name: str(data[name]) for name in data if name not in ("password", "csrfmiddlewaretoken")
    }


@_screen
def setup(request: HttpRequest, said: dict[str, Any]) -> HttpResponseBase:
    guess = territory.country_of(request.headers.get("Accept-Language", ""))
    form = StudioForm(
        request.POST or None,
        kept=said.get("password", ""),
        initial=said.get("studio", {"country": guess}),
    )
    if request.method == "POST":
        done = form.is_valid()
        _keep(
            request,
            said,
            password=form.kept,
            **({"studio": _answers(request.POST)} if done else {}),
        )
        if done:
            return redirect("setup-tax")
    return render(request, "counter/setup.html", {"form": form})


@_screen
def setup_tax(request: HttpRequest, said: dict[str, Any]) -> HttpResponseBase:
    if "studio" not in said:
        return redirect("setup")
    likely = territory.likely(said["studio"]["country"])
    start = {"tax_mode": Profile.TaxMode.NONE, "tax_name": likely.tax_name}
    form = FirstPapersForm(request.POST or None, initial=said.get("tax", start))
    if request.method == "POST" and form.is_valid():
        _keep(request, said, tax=_answers(request.POST))
        return redirect("setup-hours")
    country = territory.countries()[likely.country]
    usual = {"country": country, "usual": territory.usual_rates(likely.country)}
    return render(request, "counter/setup_tax.html", {"form": form} | usual)


@_screen
def setup_hours(request: HttpRequest, said: dict[str, Any]) -> HttpResponseBase:
    if "tax" not in said:
        return redirect("setup-tax" if "studio" in said else "setup")
    data = stepped(request.POST, MOST_TENTHS) if request.method == "POST" else None
    open_days = set(range(7)) - territory.likely(said["studio"]["country"]).weekend
    rules = PlanRules()
    tenths = {"own": rules.own_percent // 10, "lost": rules.lost_percent // 10}
    screen = HoursScreen(
        WeekForm(data, minutes=dict.fromkeys(open_days, FULL_DAY)),
        SharesForm(data, initial=tenths | {"starting_list": True}),
    )
    looks_only = "step" in request.POST or request.htmx  # type: ignore[attr-defined]
    if data and not looks_only and screen.is_valid():
        return _open_studio(request, said, screen)
    context = {"screen": screen, "days": screen.days.days}
    return render(request, "counter/setup_hours.html", context)


def _open_studio(
    request: HttpRequest, said: dict[str, Any], screen: HoursScreen
) -> HttpResponseBase:
    """All at once; what was said before is looked at once more."""
    form, tax = StudioForm(said["studio"], kept=said["password"]), FirstPapersForm(said["tax"])
    if not form.is_valid():
        return redirect("setup")
    if not tax.is_valid():
        return redirect("setup-tax")
    try:
        owner = open_studio(form, tax, screen)
    except AlreadySetUpError:
        return redirect("today")
    request.session.pop(KEPT)
    login(request, owner, backend=settings.AUTHENTICATION_BACKENDS[0])
    return redirect("today")


def open_studio(form: StudioForm, tax: FirstPapersForm, screen: HoursScreen) -> User:
    """Make the studio of three checked screens; the owner is returned. Raises AlreadySetUpError."""
    profile = form.profile()
    facts = tax.cleaned_data
    profile |= {"tax_mode": facts["tax_mode"], **tax.reached()}
    rate = None
    if tax.charged:
        profile["tax_number"] = facts["tax_number"]
        today = datetime.now(ZoneInfo(profile["time_zone"])).date()
        name, percent = facts["tax_name"], facts["percent"]
        rate = NamedRate(name=name, percent=percent, exempt=False, sentence="", valid_from=today)
    with transaction.atomic():
        owner = actions.set_up(
            profile=profile,
            tax=rate,
            week=screen.days.week(),
            username=form.cleaned_data["username"],
            password=form.kept,
        )
        set_rules(rules=PlanRules(**screen.percents()), by=owner)
        if screen.shares.cleaned_data["starting_list"]:
            load_starting_list(by=owner)
    return owner
