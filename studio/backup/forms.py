"""Where copies go besides, and the passphrase that locks them."""

from typing import Any
from urllib.parse import urlsplit

from django import forms
from django.core.exceptions import ValidationError

from studio.backup.options import Options

SHORTEST = 12


class FolderForm(forms.Form):
    folder = forms.CharField(
        max_length=400, help_text="Such as /media/stick/copies. It has to be there already."
    )

    def clean_folder(self) -> str:
        folder: str = self.cleaned_data["folder"]
        if not folder.startswith("/"):
            raise ValidationError("Write the whole path, from / on.")
        return folder


class StoreForm(forms.Form):
    endpoint = forms.CharField(
        label="Address", max_length=200, help_text="Such as https://s3.example.org"
    )
    bucket = forms.CharField(max_length=100)
    access_key = forms.CharField(max_length=200)
    secret_key = forms.CharField(
        max_length=200, widget=forms.PasswordInput(attrs={"autocomplete": "off"})
    )
    region = forms.CharField(max_length=60, required=False)
    subfolder = forms.CharField(label="Folder in it", max_length=100, required=False)

    def __init__(self, *args: Any, kept: Options, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if kept.secret_key:
            self.fields["secret_key"].required = False
            self.fields["secret_key"].help_text = "Empty keeps the one that is there."

    def clean_endpoint(self) -> str:
        endpoint: str = self.cleaned_data["endpoint"].rstrip("/")
        parts = urlsplit(endpoint)
        if parts.scheme not in {"http", "https"} or not parts.netloc or parts.path:
            raise ValidationError("Write it as https://s3.example.org")
        return endpoint


class PassphraseForm(forms.Form):
    passphrase = forms.CharField(
        min_length=SHORTEST, max_length=200, strip=True,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
        help_text="Five words that do not belong together are good.",
    )  # fmt: skip
    again = forms.CharField(
        label="Once more", max_length=200, strip=True,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )  # fmt: skip

    def clean(self) -> None:
        first, again = self.cleaned_data.get("passphrase"), self.cleaned_data.get("again")
        if first and again and first != again:
            self.add_error("again", "This is not the same.")
