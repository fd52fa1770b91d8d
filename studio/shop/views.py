"""The owner's pages about the studio itself."""

from collections.abc import Callable
from decimal import Decimal
from functools import partial

from django import forms
from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.contrib.auth.forms import SetPasswordForm
from django.db.models import Exists, OuterRef
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_GET, require_POST, require_safe

from studio.shop import actions, clock, doctor, history
from studio.shop.doors import actions as doors
from studio.shop.doors import logins
from studio.shop.forms import Chips, ModelForm
from studio.shop.history.pages import changes_page, undo_step
from studio.shop.http import StudioRequest, go_back, owner_only, say
from studio.shop.look import samples
from studio.shop.may import TOLD
from studio.shop.models import CodeApp, DayOff, Entry, Passkey, Profile, TaxClass, TaxRate, User
from studio.shop.money import format_money, to_minor
from studio.shop.settings_forms import (
    DaysOffForm,
    LeadTimeForm,
    NewTaxForm,
    PapersForm,
    PersonForm,
    PlacesForm,
    ProfileForm,
    TaxClassForm,
    TaxModeForm,
    TaxRateForm,
    WeekForm,
    stepped,
)
from studio.shop.together import OpenCard, edit_card
from studio.shop.week import coming_days_off


@owner_only
@require_safe
def changes(request: StudioRequest) -> HttpResponse:
    """What was done to the studio itself, latest first."""
    entries, title = history.of(request.studio), "Changes to the studio"
    return changes_page(
        request, entries, title=title, back="studio-settings", undo_at="studio-undo"
    )


@owner_only
@require_POST
def undo(request: StudioRequest) -> HttpResponse:
    return undo_step(request, history.of(request.studio), back="studio-changes")


@owner_only
def profile(request: StudioRequest) -> HttpResponse:
    form = partial(ProfileForm, country=request.studio.country)
    return _edit(request, form, "Name, place and units")


@owner_only
def papers(request: StudioRequest) -> HttpResponse:
    """The printers as pictures; ``add`` of the address is the kind of one more."""
    form = partial(PapersForm, add=request.GET.get("add", ""))
    return _edit(request, form, "Papers", "shop/printers.html")


@owner_only
def places(request: StudioRequest) -> HttpResponse:
    return _edit(request, PlacesForm, "Where garments hang")


@owner_only
def taxes(request: StudioRequest) -> HttpResponse:
    classes = TaxClass.objects.prefetch_related("rates")
    return _edit(request, TaxModeForm, "Taxes", "shop/taxes.html", classes=classes)


def _said(request: StudioRequest, words: str, entry: Entry | None) -> None:
    """The notice of a step, with its way back to the studio's doors."""
    if entry:
        back = reverse("studio-settings")
        say(request, words, undo=reverse("studio-undo"), entry=entry.pk, back=back)
    else:
        say(request, words)


def _edit(
    request: StudioRequest,
    form: Callable[..., ModelForm],
    title: str,
    template: str = "shop/settings_form.html",
    **context: object,
) -> HttpResponse:
    def save(card: OpenCard) -> Entry | None:
        fields = getattr(card.form, "kept", None) or list(card.form.fields)
        return actions.save_profile(studio=card.form.instance, fields=fields, by=request.user)

    card = edit_card(
        request, request.studio, lambda data, studio: form(data, instance=studio), save
    )
    if card.saved:
        _said(request, f"{title}: saved.", card.entry)
        return go_back(request, "studio-settings")
    return render(request, template, {"form": card.form, "title": title} | context)


@owner_only
def tax_new(request: StudioRequest) -> HttpResponse:
    form = NewTaxForm(request.POST or None, initial={"valid_from": clock.today()})
    if request.method == "POST" and form.is_valid():
        made = actions.add_tax(tax=form.named_rate(), by=request.user)
        messages.success(request, f"“{made.name}” added.")
        return redirect(reverse("studio-taxes", query=request.GET))
    return render(request, "shop/settings_form.html", {"form": form, "title": "A new tax"})


@owner_only
def tax(request: StudioRequest, pk: int) -> HttpResponse:
    """Name and sentence of a tax; its rates with a form for the next one."""
    tax_class = get_object_or_404(TaxClass, pk=pk)
    form = TaxClassForm(request.POST or None, instance=tax_class)
    if request.method == "POST" and form.is_valid():
        actions.save_tax(tax_class=form.instance, by=request.user)
        messages.success(request, f"“{tax_class.name}” saved.")
        return go_back(request, "studio-taxes")
    rate_form = TaxRateForm(initial={"valid_from": clock.today()})
    return _show(request, TaxClass.objects.get(pk=pk), form, rate_form)


@owner_only
@require_POST
def rate_new(request: StudioRequest, pk: int) -> HttpResponse:
    tax_class = get_object_or_404(TaxClass, pk=pk)
    rate_form = TaxRateForm(request.POST)
    if rate_form.is_valid():
        try:
            actions.add_rate(tax_class=tax_class, by=request.user, **rate_form.cleaned_data)
        except actions.RateError as error:
            rate_form.add_error("valid_from", str(error))
        else:
            messages.success(request, f"“{tax_class.name}” has a new rate.")
            return redirect(reverse("studio-tax", args=[pk], query=request.GET))
    return _show(request, tax_class, TaxClassForm(instance=tax_class), rate_form)


def _show(
    request: StudioRequest, tax_class: TaxClass, form: TaxClassForm, rate_form: TaxRateForm
) -> HttpResponse:
    context = {"tax": tax_class, "rates": tax_class.rates.all(), "today": clock.today()}
    return render(request, "shop/tax.html", context | {"form": form, "rate_form": rate_form})


@owner_only
@require_POST
def rate_remove(request: StudioRequest, pk: int) -> HttpResponse:
    rate = get_object_or_404(TaxRate, pk=pk)
    try:
        actions.remove_rate(rate=rate, by=request.user)
    except actions.RateError as error:
        messages.error(request, str(error))
    return redirect("studio-tax", pk=rate.tax_class_id)


@owner_only
@require_POST
def tax_remove(request: StudioRequest, pk: int) -> HttpResponse:
    tax_class = get_object_or_404(TaxClass, pk=pk)
    try:
        actions.remove_tax_class(tax_class=tax_class, by=request.user)
    except actions.TaxClassInUseError as error:
        messages.error(request, str(error))
    return redirect("studio-taxes")


@owner_only
def week(request: StudioRequest) -> HttpResponse:
    """A press of a stepper, and whatever a script sends, is only answered by the picture."""
    data = stepped(request.POST, {}) if request.method == "POST" else None
    days = WeekForm(data)
    promise = LeadTimeForm(data, instance=Profile.objects.get(pk=1))
    if data and "step" not in data and not request.htmx:
        checked = [days.is_valid(), promise.is_valid()]
        if all(checked):
            entries = actions.save_week(
                days=days.week(), by=request.user, studio=promise.instance, fields=promise.fields
            )
            # Of two steps each is taken back on its own, among the changes.
            _said(request, "Working week: saved.", entries[0] if len(entries) == 1 else None)
            return redirect("studio-settings")
    context = {"days": days, "forms": days.days, "promise": promise}
    return render(request, "shop/week.html", context)


@owner_only
def days_off(request: StudioRequest) -> HttpResponse:
    form = DaysOffForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        count = actions.add_days_off(by=request.user, **form.cleaned_data)
        messages.success(request, f"Closed on {count} more {'day' if count == 1 else 'days'}.")
        return redirect("studio-days-off")
    year = clock.today().year
    context = {"form": form, "coming": coming_days_off(), "years": [year, year + 1]}
    return render(request, "shop/days_off.html", context)


@owner_only
@require_POST
def holidays(request: StudioRequest) -> HttpResponse:
    """Close on the public holidays of this year or the next."""
    this_year = clock.today().year
    year = this_year + 1 if request.POST.get("year") == str(this_year + 1) else this_year
    count = actions.add_public_holidays(country=request.studio.country, year=year, by=request.user)
    messages.success(request, f"{count} public holidays of {year} added.")
    return redirect("studio-days-off")


@owner_only
@require_POST
def day_off_remove(request: StudioRequest, pk: int) -> HttpResponse:
    actions.remove_day_off(day_off=get_object_or_404(DayOff, pk=pk), by=request.user)
    return redirect("studio-days-off")


@owner_only
@require_safe
def people(request: StudioRequest) -> HttpResponse:
    """Who may log in, and who does it with a second factor."""
    apps, keys = (kind.objects.filter(user=OuterRef("pk")) for kind in (CodeApp, Passkey))
    second = Exists(apps) | Exists(keys)
    people = User.objects.annotate(second=second).order_by("-is_active", "username")
    studio = request.studio
    money = format_money(to_minor(Decimal(24), studio.currency), studio.currency, studio.locale)
    ticks = {
        what: [(tick, says, example.format(money=money)) for tick, says, example in rows]
        for what, rows in TOLD.items()
    }
    return render(request, "shop/people.html", {"people": people, "ticks": ticks})


@sensitive_post_parameters()
@owner_only
@logins.fresh_password
def person_new(request: StudioRequest) -> HttpResponse:
    form = PersonForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        made = actions.add_person(
            username=form.cleaned_data["username"],
            first_name=form.cleaned_data["first_name"],
            role=form.cleaned_data["role"],
            password=form.cleaned_data["password1"],
            by=request.user,
        )
        messages.success(request, f"{made.shown_name} can log in now.")
        return redirect("studio-people")
    return render(request, "shop/settings_form.html", {"form": form, "title": "A new login"})


@sensitive_post_parameters()
@owner_only
@logins.fresh_password
def person_password(request: StudioRequest, pk: int) -> HttpResponse:
    """A new password for somebody who forgot theirs."""
    person = get_object_or_404(User, pk=pk)
    form = SetPasswordForm(person, request.POST or None)
    if request.method == "POST" and form.is_valid():
        password = form.cleaned_data["new_password1"]
        actions.set_password(person=person, password=password, by=request.user)
        if person == request.user:
            update_session_auth_hash(request, person)
        messages.success(request, f"{person.shown_name} has a new password.")
        return redirect("studio-people")
    title = f"New password for {person.shown_name}"
    return render(request, "shop/settings_form.html", {"form": form, "title": title})


@owner_only
@require_POST
def person_ticks(request: StudioRequest, pk: int) -> HttpResponse:
    """What a helper may do, as ticked."""
    person = get_object_or_404(User, pk=pk, role=User.Role.HELPER)
    entry = actions.set_ticks(person=person, ticks=request.POST.getlist("tick"), by=request.user)
    words, back = f"{person.shown_name}: saved.", reverse("studio-people")
    if entry:
        say(request, words, undo=reverse("studio-undo"), entry=entry.pk, back=back)
    else:
        say(request, words)
    return redirect("studio-people")


@owner_only
@require_POST
@logins.fresh_password
def person_second(request: StudioRequest, pk: int) -> HttpResponse:
    """Take the second factor off a login: its phone was lost."""
    person = get_object_or_404(User, pk=pk)
    if doors.remove_second_factor(person=person, by=request.user):
        say(request, f"{person.shown_name} logs in with the password alone.")
    return redirect("studio-people")


@owner_only
@require_POST
def person_out(request: StudioRequest, pk: int) -> HttpResponse:
    person = get_object_or_404(User, pk=pk)
    try:
        actions.show_out(person=person, by=request.user)
    except actions.LastOwnerError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, f"{person.shown_name} can no longer log in.")
    return redirect("studio-people")


@owner_only
@require_POST
def person_back(request: StudioRequest, pk: int) -> HttpResponse:
    person = get_object_or_404(User, pk=pk)
    actions.let_back(person=person, by=request.user)
    messages.success(request, f"{person.shown_name} can log in again.")
    return redirect("studio-people")


class SampleForm(forms.Form):
    """One field of each kind; the sample is sent with errors, so that they are seen."""

    name = forms.CharField(help_text="A hint stands below the field it speaks of.")
    day = forms.DateField(widget=forms.DateInput(attrs={"type": "date"}))
    kind = forms.ChoiceField(
        label="Chips", widget=Chips, choices=[("total", "Total"), ("each", "Each side")]
    )
    tick = forms.BooleanField(label="A tick", required=False)
    note = forms.CharField(widget=forms.Textarea, required=False)


@owner_only
@require_GET
def looks(request: StudioRequest) -> HttpResponse:
    """Every component of the pages, for developers."""
    typed = {"name": "", "day": "soon", "kind": "each", "note": "Typed text stays."}
    evening = {f"evening-{name}": value for name, value in typed.items()}
    forms_shown = {
        "form": SampleForm(typed, auto_id="day_%s"),
        "evening_form": SampleForm(evening, prefix="evening", auto_id="evening_%s"),
    }
    for form in forms_shown.values():
        form.is_valid()
    return render(request, "shop/looks.html", forms_shown | samples.everything())


@owner_only
@require_safe
def doctor_page(request: StudioRequest) -> HttpResponse:
    """How the studio's computer is, a tick or a cross for each check. Reads every file's name."""
    return render(request, "shop/doctor.html", {"findings": doctor.findings(request.studio)})


@owner_only
@require_POST
def doctor_sweep(request: StudioRequest) -> HttpResponse:
    count = doctor.sweep()
    say(request, f"Swept: {doctor.counted(count)}.")
    return redirect("doctor")
