"""The way in and one's own login: password, second factor, where it is open.

Going out is Django's own view.
"""

from typing import Any

import segno
from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.forms import AuthenticationForm, PasswordChangeForm
from django.contrib.auth.views import LoginView, PasswordChangeView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse_lazy
from django.views.decorators.debug import sensitive_post_parameters, sensitive_variables
from django.views.decorators.http import require_POST, require_safe

from studio.shop import actions, clock, paper
from studio.shop.doors import actions as doors
from studio.shop.doors import logins, passkeys, second
from studio.shop.doors.forms import AppForm, LoginForm, PasskeyForm, PasswordForm, SecondForm
from studio.shop.doors.throttle import remember_browser
from studio.shop.http import StudioRequest, say
from studio.shop.paper.printers import size_of

# In a session, locked: the secret of an app that is being set up, and codes until they are printed.
SECRET, CODES, CODES_SINCE = "second-secret", "second-codes", "second-codes-since"


class Login(LoginView):
    """Django checks ``next`` against this host and renews the session's key."""

    authentication_form = LoginForm
    template_name = "shop/login.html"
    redirect_authenticated_user = True

    def form_valid(self, form: AuthenticationForm) -> HttpResponse:
        user = form.get_user()
        if second.factors_of(user).on:
            logins.wait_for_second(self.request, user, self.get_success_url())
            return redirect("login-second")
        response = super().form_valid(form)
        remember_browser(self.request, response, user.get_username())
        return response


class Password(PasswordChangeView):
    """The session stays, with a new key; the person's other sessions end."""

    form_class = PasswordForm
    template_name = "shop/password.html"
    success_url = reverse_lazy("today")

    def get_form_kwargs(self) -> dict[str, Any]:
        return super().get_form_kwargs() | {"request": self.request}

    def form_valid(self, form: PasswordChangeForm) -> HttpResponse:
        person = form.user
        password = form.cleaned_data["new_password1"]
        actions.set_password(person=person, password=password, by=person)
        update_session_auth_hash(self.request, person)
        logins.prove(self.request)
        messages.success(self.request, "Your password is changed. Other devices log in anew.")
        return redirect(self.get_success_url())


@require_safe
def logins_page(request: StudioRequest) -> HttpResponse:
    """Where whoever asks is logged in. One query beside those of each page."""
    return render(request, "shop/logins.html", {"places": logins.places(request)})


@require_POST
def logins_out(request: StudioRequest) -> HttpResponse:
    """End the one named ``login``, or all but this one."""
    count = logins.log_out(request, request.POST.get("login", ""))
    say(request, f"Logged out in {count} {'place' if count == 1 else 'places'}.")
    return redirect("logins")


@login_not_required
@sensitive_post_parameters()
def login_second(request: HttpRequest) -> HttpResponse:
    """After the password: a code or a passkey, and then one is in."""
    if request.user.is_authenticated:
        return redirect("today")
    login = logins.waiting(request)
    if not login:
        return redirect("login")
    form = SecondForm(request, login.user, request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        logins.log_in_at_last(request, login)
        response = redirect(login.goes_on)
        remember_browser(request, response, login.user.get_username())
        return response
    return render(request, "shop/login_second.html", {"form": form, "person": login.user})


@require_safe
def second_page(request: StudioRequest) -> HttpResponse:
    """What one logs in with besides the password. New codes are shown until one comes here."""
    _forget(request)
    context = {"factors": second.factors_of(request.user), "possible": passkeys.possible(request)}
    return render(request, "shop/second.html", context | {"count": second.CODES})


def _forget(request: StudioRequest) -> None:
    for name in (SECRET, CODES, CODES_SINCE):
        request.session.pop(name, None)


@sensitive_post_parameters()
@logins.fresh_password
@sensitive_variables("secret")
def second_app(request: StudioRequest) -> HttpResponse:
    """The code that an app reads, and the first digits it shows."""
    if second.factors_of(request.user).app:
        return redirect("second")
    try:
        secret = second.unlock(request.session.get(SECRET, ""))
    except second.LockedError:
        secret = second.new_secret()
        request.session[SECRET] = second.lock(secret)
    form = AppForm(secret, request.POST if "code" in request.POST else None)
    if form.is_valid():
        step = form.cleaned_data["code"]
        codes = doors.add_app(user=request.user, secret=secret, step=step)
        return _turned_on(request, "The code app is set up.", codes)
    address = second.address_for_app(secret, request.user, request.studio.name)
    context = {
        "form": form,
        "code": segno.make_qr(address, error="m").svg_data_uri(scale=5, border=4, light="#fff"),
        "secret": second.in_groups(secret),
        "address": address,
    }
    return render(request, "shop/second_app.html", context)


def _turned_on(request: StudioRequest, words: str, codes: list[str]) -> HttpResponse:
    """On to the codes where these are new: it is the first factor, and all other logins end."""
    _forget(request)
    if not codes:
        say(request, words)
        return redirect("second")
    count = logins.log_out(request)
    request.session.cycle_key()
    if count:
        words += f" Logged out in {count} other {'place' if count == 1 else 'places'}."
    say(request, words)
    return _show_codes(request, codes)


def _show_codes(request: StudioRequest, codes: list[str]) -> HttpResponse:
    request.session[CODES] = second.lock(" ".join(codes))
    request.session[CODES_SINCE] = f"{clock.now()}"
    return redirect("second-codes")


def _new_codes(request: StudioRequest) -> list[str]:
    """Those that were made ten minutes ago at most, in groups of four digits."""
    try:
        codes = second.unlock(request.session.get(CODES, "")).split()
    except second.LockedError:
        return []
    recent = logins.is_recent(request.session.get(CODES_SINCE))
    return [second.in_groups(code) for code in codes] if recent else []


@sensitive_variables("codes")
@logins.fresh_password
def second_codes(request: StudioRequest) -> HttpResponse:
    """New codes, once; sent as a form it makes new ones."""
    if request.method == "POST" and second.factors_of(request.user).on:
        return _show_codes(request, doors.make_codes(user=request.user))
    codes = _new_codes(request)
    if not codes:
        return redirect("second")
    return render(request, "shop/second_codes.html", {"codes": codes})


@sensitive_variables("codes")
@require_safe
def second_paper(request: StudioRequest) -> HttpResponse:
    """The new codes as a paper for a drawer."""
    codes = _new_codes(request)
    if not codes:
        return redirect("second")
    name = "Recovery codes"
    pdf = paper.render(
        "shop/papers/codes.html",
        {
            "studio": request.studio,
            "printed_at": clock.now(),
            "codes": codes,
            "person": request.user,
            "address": request.get_host(),
        },
        title=name,
        language=request.studio.language_tag,
        page=size_of(request.studio, "lists"),
        sheet="list",
    )
    return paper.show_pdf(name, pdf)


@require_POST
@logins.fresh_password
def second_app_remove(request: StudioRequest) -> HttpResponse:
    doors.remove_app(user=request.user)
    say(request, "The code app is removed.")
    return redirect("second")


@sensitive_post_parameters()
@logins.fresh_password
def second_passkey(request: StudioRequest) -> HttpResponse:
    """A further passkey: the browser makes it, the form brings its answer."""
    if not passkeys.possible(request):
        return render(request, "shop/second_passkey.html", {})
    sent = "answer" in request.POST
    browser = logins.plain_browser(request.headers.get("User-Agent", ""))
    name = browser.rpartition(" on ")[2].removeprefix("an ").removeprefix("a ")
    form = PasskeyForm(request.POST if sent else None, initial={"name": name})
    if form.is_valid():
        try:
            key = passkeys.read_new(request, request.studio, form.cleaned_data["answer"])
        except passkeys.PasskeyError:
            form.add_error(None, "The passkey was not taken. Try again.")
        else:
            name, host = form.cleaned_data["name"], passkeys.host_of(request)
            codes = doors.add_passkey(user=request.user, name=name, host=host, key=key)
            return _turned_on(request, f"The passkey “{name}” is there.", codes)
    options = passkeys.ask_for_new(request, request.user, request.studio)
    context: dict[str, Any] = {"form": form, "options": options}
    return render(request, "shop/second_passkey.html", context)


@require_POST
@logins.fresh_password
def second_passkey_remove(request: StudioRequest, pk: int) -> HttpResponse:
    passkey = get_object_or_404(request.user.passkeys, pk=pk)
    doors.remove_passkey(passkey=passkey)
    say(request, f"The passkey “{passkey.name}” is removed.")
    return redirect("second")
