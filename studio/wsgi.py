"""The door for a WSGI server."""

import codecs
import os
from collections.abc import Iterable
from typing import Any

from django.conf import settings
from django.core.wsgi import get_wsgi_application
from django.utils.http import parse_header_parameters

from studio.backup import running

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "studio.settings")
django_application = get_wsgi_application()
# No copy is brought back under a server that answers.
running.hold()
# Models are there only now.
from studio.shop.doctor import lock_the_folder  # noqa: E402

lock_the_folder(settings.DATA_DIR)


def application(environ: dict[str, Any], start_response: Any) -> Iterable[bytes]:
    """Django's, but for letters that are not its own.

    Pages are UTF-8, and so is what browsers send from them (HTML, 4.10.21.5). A request that names
    other letters may fail before it is a request, where no page can be made; the name is taken off
    and kept for ``LettersMiddleware``, which answers.
    """
    said = environ.get("CONTENT_TYPE", "")
    letters = _letters(said)
    if not _is_utf_8(letters):
        environ["CONTENT_TYPE"] = said.partition(";")[0]
        environ["studio.letters"] = letters
    answer: Iterable[bytes] = django_application(environ, start_response)
    return answer


def _letters(content_type: str) -> str:
    try:
        return str(parse_header_parameters(content_type)[1].get("charset", "utf-8"))
    except (LookupError, ValueError):
        return "unknown"


def _is_utf_8(letters: str) -> bool:
    try:
        return codecs.lookup(letters).name == "utf-8"
    except (LookupError, ValueError):
        return False
