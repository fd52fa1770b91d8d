"""Logins: coming in, new people, new passwords."""

from typing import Any

from django.contrib.auth import get_user_model
from django.contrib.auth.forms import AuthenticationForm, UserCreationForm
from django.core.exceptions import ValidationError

from studio.shop import known_doors, throttle
from studio.shop.forms import Chips
from studio.shop.models import User


class LoginForm(AuthenticationForm):
    """Asks the throttle before the password is looked at."""

    error_messages = {
        "invalid_login": "This name and password do not belong together. "
        "Capital and small letters differ in both.",
    }

    def clean(self) -> dict[str, Any]:
        name = self.cleaned_data.get("username")
        if not name or not self.cleaned_data.get("password"):
            return self.cleaned_data
        asked = self._buckets(name)
        try:
            throttle.take(asked)
        except throttle.TooManyTriesError as wait:
            minutes = f"{wait.minutes} minutes" if wait.minutes > 1 else "a minute"
            raise ValidationError(
                f"Too many tries. Wait {minutes}, then try again.", code="wait"
            ) from wait
        cleaned = super().clean()
        throttle.give_back(asked)
        return cleaned

    def _buckets(self, name: str) -> dict[str, throttle.Pace]:
        if not self.request:
            return throttle.buckets(name, "")
        door = known_doors.known_door(self.request, name)
        return throttle.buckets(name, throttle.address(self.request), door)


class OwnerForm(UserCreationForm):
    """The first login."""

    class Meta:
        model = get_user_model()
        fields = ["first_name", "username"]
        labels = {"first_name": "Your name", "username": "Login name"}
        help_texts = {"username": "Letters and digits, also @ . + - _"}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        # The login may stand at the end of a long page, which must not open there.
        del self.fields["username"].widget.attrs["autofocus"]


class PersonForm(OwnerForm):
    """A further login."""

    class Meta(OwnerForm.Meta):
        fields = ["first_name", "username", "role"]
        labels = {"first_name": "Name", "username": "Login name", "role": "May see"}
        widgets = {"role": Chips}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["role"].initial = User.Role.HELPER
        self.fields["role"].choices = [  # type: ignore[attr-defined]
            (User.Role.HELPER, "Everything but money"),
            (User.Role.OWNER, "Everything"),
        ]
