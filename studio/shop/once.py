"""A form is saved once, however often it is sent; what is sent under its key later is no repeat.

The one home of the rule. Inside its transaction, and before anything else that it writes, an action
asks ``sent_before`` with the form's key and all that was sent. The same again is the same answer as
before. Other content under a key that was saved (the browser went back, something was changed, and
it was sent again) raises ``OtherContentError``, so that nobody is told it was saved.

Of the content only a keyed digest is kept, from which nobody can tell what it was.
"""

import json
from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.core.serializers.json import DjangoJSONEncoder
from django.http import HttpRequest
from django.utils.crypto import salted_hmac

from studio.shop.models import SentForm

NOT_CONTENT = {"csrfmiddlewaretoken", "intent"}


class OtherContentError(Exception):
    """Under this key something else was saved before."""


def sent_before(key: UUID, *content: Any) -> bool:
    """Whether this very form was saved already; from now on it was, if the transaction holds.

    Two who send it at once wait for each other. ``content`` is anything that JSON can carry, dates,
    decimals and keys included. Raises OtherContentError.
    """
    digest = digest_of(*content)
    form, new = SentForm.objects.get_or_create(key=key, defaults={"digest": digest})
    if not new and form.digest != digest:
        raise OtherContentError
    return not new


def digest_of(*content: Any) -> str:
    text = json.dumps(content, cls=_Encoder, sort_keys=True)
    return salted_hmac("studio.shop.once", text, algorithm="sha256").hexdigest()


def content_of(request: HttpRequest) -> str:
    """A digest of all fields and files of a page, whatever they mean."""
    fields = {name: texts for name, texts in request.POST.lists() if name not in NOT_CONTENT}
    files = []
    for name, uploads in request.FILES.lists():
        for upload in uploads:
            files.append([name, digest_of(upload.read().hex())])
            upload.seek(0)
    return digest_of(fields, files)


def remember_rows(key: UUID, rows: Mapping[str, int]) -> None:
    """Which row became of what on the form, for ``rows_of``."""
    SentForm.objects.filter(key=key).update(rows=rows)


def rows_of(key: UUID) -> dict[str, int]:
    form = SentForm.objects.filter(key=key).first()
    return dict(form.rows) if form else {}


class _Encoder(DjangoJSONEncoder):
    """Lengths and other values of ours are what they hold."""

    def default(self, value: Any) -> Any:
        if hasattr(value, "__dataclass_fields__"):
            return {name: getattr(value, name) for name in value.__dataclass_fields__}
        return super().default(value)
