"""The password, and what is asked besides it; each answer is a try (``throttle``)."""

from functools import cached_property
from typing import TYPE_CHECKING, Any

from django import forms
from django.contrib.auth.forms import AuthenticationForm, PasswordChangeForm
from django.core.exceptions import ValidationError
from django.http import HttpRequest, QueryDict

from studio.shop import clock
from studio.shop.doors import actions, passkeys, second, throttle
from studio.shop.forms import ModelForm
from studio.shop.models import Passkey, Profile, User

# They are mixed into forms, and have no fields of their own.
if TYPE_CHECKING:
    Asking = forms.Form
else:
    Asking = object


class LoginForm(AuthenticationForm):
    """Asks the throttle before the password is looked at."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["username"].label = "Name"

    error_messages = {
        "invalid_login": "This name and password do not belong together. "
        "Capital and small letters differ in both.",
    }

    def clean(self) -> dict[str, Any]:
        name = self.cleaned_data.get("username")
        if not name or not self.cleaned_data.get("password"):
            return self.cleaned_data
        with throttle.one_try(self._buckets(name)):
            return super().clean()

    def _buckets(self, name: str) -> dict[str, throttle.Pace]:
        if not self.request:
            return throttle.buckets(name, "")
        browser = throttle.known_browser(self.request, name)
        return throttle.buckets(name, throttle.address(self.request), browser)


class SecondFactor(Asking):
    """Fields that ask ``person`` for a code, or a passkey, which the script fills in."""

    asked_by: HttpRequest
    person: User
    factors: second.Factors

    def ask_second(self, request: HttpRequest, person: User) -> None:
        self.asked_by, self.person, self.factors = request, person, second.factors_of(person)
        if not self.factors.on:
            return
        ours = "Six digits of your app, or a code from your paper"
        self.fields["code"] = forms.CharField(
            label=ours if self.factors.app else "A code from your paper",
            required=False,
            max_length=40,
            widget=forms.TextInput(
                attrs={"autocomplete": "one-time-code", "inputmode": "numeric", "class": "big"}
            ),
        )
        self.fields["passkey"] = forms.CharField(required=False, widget=forms.HiddenInput)

    @cached_property
    def passkey_options(self) -> str:
        """What the browser is asked to sign, anew for each page; empty without a key for here."""
        studio: Profile = self.asked_by.studio  # type: ignore[attr-defined]
        return passkeys.ask(self.asked_by, studio, self.factors.passkeys)

    def check_second(self) -> None:
        """Raises ValidationError."""
        code, answer = self.cleaned_data.get("code"), self.cleaned_data.get("passkey")
        if not code and not answer:
            raise ValidationError({"code": "Your code is missing."})
        name = self.person.get_username()
        browser = throttle.known_browser(self.asked_by, name)
        asked = throttle.code_buckets(name, throttle.address(self.asked_by), browser)
        with throttle.one_try(asked):
            try:
                if answer:
                    self._use_passkey(answer)
                else:
                    actions.use_code(user=self.person, code=code or "")
            except passkeys.CopiedError as error:
                actions.doubt_passkey(passkey=error.passkey)
                words = f"“{error.passkey.name}” was refused: there may be a copy of it."
                raise ValidationError({"code": words}) from error
            except passkeys.PasskeyError as error:
                raise ValidationError({"code": "The passkey was not taken. Try again."}) from error
            except actions.CodeError as error:
                raise ValidationError({"code": str(error)}) from error

    def _use_passkey(self, answer: str) -> None:
        studio: Profile = self.asked_by.studio  # type: ignore[attr-defined]
        key, counter = passkeys.read(self.asked_by, studio, self.factors.passkeys, answer)
        actions.use_passkey(passkey=key, counter=counter)


class SecondForm(SecondFactor, forms.Form):
    """What is asked after the password."""

    def __init__(self, request: HttpRequest, person: User, data: QueryDict | None = None) -> None:
        super().__init__(data, prefix="second")
        self.ask_second(request, person)
        self.fields["code"].widget.attrs["autofocus"] = True

    def clean(self) -> dict[str, Any]:
        self.check_second()
        return self.cleaned_data


class ProofForm(SecondFactor, LoginForm):
    """The password of whoever is logged in once more, and the second factor where there is one."""

    error_messages = {
        "invalid_login": "That is not your password. Capital and small letters differ."
    }

    def __init__(self, request: HttpRequest, data: QueryDict | None = None) -> None:
        LoginForm.__init__(self, request, data, prefix="proof")
        name = self.fields["username"]
        name.initial, name.disabled = request.user.get_username(), True
        name.widget = forms.HiddenInput(attrs={"autocomplete": "username"})
        self.fields["password"].widget.attrs["autofocus"] = True
        self.ask_second(request, request.user)  # type: ignore[arg-type]

    def clean(self) -> dict[str, Any]:
        cleaned = LoginForm.clean(self)
        if self.factors.on and cleaned.get("password"):
            self.check_second()
        return cleaned


class PasswordForm(SecondFactor, PasswordChangeForm):
    """A new password of one's own. It counts as the password given anew, so it asks for as much."""

    def __init__(self, *args: Any, request: HttpRequest, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.ask_second(request, self.user)

    def clean_old_password(self) -> str:
        name = self.user.get_username()
        browser = throttle.known_browser(self.asked_by, name)
        with throttle.one_try(throttle.buckets(name, throttle.address(self.asked_by), browser)):
            return super().clean_old_password()

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or {}
        if self.factors.on and not self.errors:
            self.check_second()
        return cleaned


class AppForm(forms.Form):
    """The first code of an app that is being set up."""

    code = forms.CharField(
        label="The six digits it shows now",
        max_length=20,
        widget=forms.TextInput(
            attrs={"autocomplete": "one-time-code", "inputmode": "numeric", "class": "big"}
        ),
    )

    def __init__(self, secret: str, data: QueryDict | None = None) -> None:
        super().__init__(data)
        self.secret = secret

    def clean_code(self) -> int:
        """The half minute to which it belongs."""
        code = second.only_digits(self.cleaned_data["code"])
        step = second.step_of(self.secret, code, clock.now())
        if step is None:
            raise ValidationError(
                "That is not what the app should show. Are the clocks of phone and computer right?"
            )
        return step


class PasskeyForm(ModelForm):
    """The name of a new passkey; ``answer`` is filled in by the script."""

    answer = forms.CharField(required=False, widget=forms.HiddenInput)

    class Meta:
        model = Passkey
        fields = ["name"]
        labels = {"name": "What you call it"}

    def clean(self) -> dict[str, Any]:
        if not self.cleaned_data.get("answer"):
            raise ValidationError("The browser made no passkey.")
        return self.cleaned_data
