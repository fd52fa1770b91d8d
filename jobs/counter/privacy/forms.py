"""The last look before a client is erased."""

from typing import Any

from django import forms

from clients.models import Client, name_key


class EraseForm(forms.Form):
    """The client's name, typed once more; capitals, accents and blanks do not matter."""

    name = forms.CharField(
        label="Name of the client", max_length=200,
        help_text="Type it as it stands above. What is erased does not come back.",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )  # fmt: skip

    def __init__(self, *args: Any, client: Client, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.client = client

    def clean_name(self) -> str:
        typed: str = self.cleaned_data["name"]
        if name_key(typed) != self.client.name_key:
            raise forms.ValidationError(f"That is not “{self.client.name}”.")
        return typed
