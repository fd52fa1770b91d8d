"""The studio's settings as the tests see them: nothing from this machine's environment but the
database, and every file in a folder of this process alone."""

import atexit
import os
import shutil
import tempfile
from pathlib import Path

for name in [name for name in os.environ if name.startswith("STUDIO_")]:
    del os.environ[name]
FOLDER = Path(tempfile.mkdtemp(prefix="studio-tests-"))
atexit.register(shutil.rmtree, FOLDER, ignore_errors=True)
os.environ["STUDIO_DATA"] = str(FOLDER / "data")
os.environ["STUDIO_SECRET_KEY"] = "only-for-tests-" + "0123456789" * 4
# Playwright's sync driver leaves an event loop running in the thread that later tests use too.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "yes"

from studio.settings import *  # noqa: E402, F403 -- the environment above has to come first
from studio.settings import DATABASE_URL, DATABASES, SQLITE, STORAGES  # noqa: E402 -- as above

if not DATABASE_URL:
    # A file, not memory: threads, processes and the live server need connections of their own.
    # Nothing in it outlives the tests, so nothing need survive a power cut.
    pragmas = SQLITE["OPTIONS"]["init_command"].replace("synchronous=FULL", "synchronous=OFF")
    DATABASES["default"] |= {
        "OPTIONS": SQLITE["OPTIONS"] | {"init_command": pragmas},
        "TEST": {"NAME": str(FOLDER / "test.sqlite3")},
    }
IN_THE_BACKGROUND = False
STATIC_ROOT = FOLDER / "static"
STATIC_ROOT.mkdir()
STORAGES = {
    **STORAGES,
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
