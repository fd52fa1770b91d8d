"""Coming in, and a new password for oneself. Going out is Django's own view, by POST only."""

from django.contrib import messages
from django.contrib.auth.forms import AuthenticationForm
from django.contrib.auth.views import LoginView, PasswordChangeView
from django.http import HttpResponse
from django.urls import reverse_lazy

from studio.shop import known_doors
from studio.shop.people_forms import LoginForm


class Login(LoginView):
    """Django checks ``next`` against this host and renews the session's key."""

    authentication_form = LoginForm
    template_name = "shop/login.html"
    redirect_authenticated_user = True

    def form_valid(self, form: AuthenticationForm) -> HttpResponse:
        response = super().form_valid(form)
        known_doors.remember(self.request, response, form.get_user().get_username())
        return response


class Password(PasswordChangeView):
    """The session stays, with a new key; the person's other sessions end."""

    template_name = "shop/password.html"
    success_url = reverse_lazy("today")

    def form_valid(self, form: object) -> HttpResponse:
        messages.success(self.request, "Your password is changed. Other devices log in anew.")
        return super().form_valid(form)  # type: ignore[arg-type]
