"""Settings of the studio. Everything that differs between machines comes from the environment."""

import os
import sqlite3
from pathlib import Path

from django.contrib.messages.constants import ERROR, WARNING

from studio import env

BASE_DIR = Path(__file__).resolve().parent.parent
DATA_DIR = Path(env.text("STUDIO_DATA", str(BASE_DIR / "var" / "studio"))).resolve()

# What the program writes, the database among it, is for its own account alone.
os.umask(0o077)

DEBUG = env.flag("STUDIO_DEBUG")
SECRET_KEY = env.secret_key(DATA_DIR)
ALLOWED_HOSTS = env.words("STUDIO_HOSTS", "localhost,127.0.0.1,[::1]")
CSRF_TRUSTED_ORIGINS = env.words("STUDIO_ORIGINS")
ADDRESS = env.address("STUDIO_ADDRESS")

INSTALLED_APPS = [
    "django.forms",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.humanize",
    "django.contrib.messages",
    "django.contrib.sessions",
    "django.contrib.staticfiles",
    "django_filters",
    "django_htmx",
    "django_tables2",
    "studio.shop",
    "studio.backup",
    "clients",
    "jobs.pricing",
    "jobs.tickets",
    "jobs.makes",
    "jobs.billing",
    "jobs.planning",
    "jobs.counter",
    "fixtures.larkfield",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "studio.shop.middleware.CompressionMiddleware",
    "studio.shop.middleware.ContentSecurityPolicyMiddleware",
    "studio.shop.middleware.HealthMiddleware",
    "studio.shop.middleware.LettersMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "studio.shop.middleware.UnbrokenMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "studio.shop.middleware.LastSeenMiddleware",
    "studio.shop.middleware.StudioMiddleware",
    "studio.shop.middleware.KeepTypedMiddleware",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
]

ROOT_URLCONF = "studio.urls"
WSGI_APPLICATION = "studio.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "studio.shop.middleware.studio_context",
            ],
        },
    },
]
FORM_RENDERER = "studio.shop.forms.StudioFormRenderer"

# Before 3.51.3 SQLite had a rare corruption bug in WAL mode when two connections write and
# checkpoint at once, so the older libraries keep the rollback journal.
WAL_SAFE = sqlite3.sqlite_version_info >= (3, 51, 3)
SQLITE = {
    "ENGINE": "studio.sqlite",
    "NAME": DATA_DIR / "studio.sqlite3",
    "OPTIONS": {
        "transaction_mode": "IMMEDIATE",
        "timeout": 20,
        "init_command": "PRAGMA synchronous=FULL;"
        f"PRAGMA journal_mode={'WAL' if WAL_SAFE else 'DELETE'};",
    },
    "TEST": {"NAME": BASE_DIR / "var" / "test.sqlite3"},
}
DATABASE_URL = env.text("DATABASE_URL")
# Each of the server's few threads keeps its connection for ten minutes, and asks whether a
# database on another machine is still there before a request uses it.
DATABASES = {
    "default": (env.postgres(DATABASE_URL) if DATABASE_URL else SQLITE)
    | {"CONN_MAX_AGE": 600, "CONN_HEALTH_CHECKS": bool(DATABASE_URL)}
}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
# A bench that opens at nine is taken for "now" from ten seconds before nine to ten seconds after.
SILENCED_SYSTEM_CHECKS = ["fields.W161"]

AUTH_USER_MODEL = "shop.User"
# The second is for whoever logged in before there was the first.
AUTHENTICATION_BACKENDS = [
    "jobs.planning.running.UserWithClock",
    "django.contrib.auth.backends.ModelBackend",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": f"django.contrib.auth.password_validation.{name}"}
    for name in (
        "UserAttributeSimilarityValidator",
        "MinimumLengthValidator",
        "CommonPasswordValidator",
        "NumericPasswordValidator",
    )
]
LOGIN_URL = "login"
LOGIN_REDIRECT_URL = "today"
LOGOUT_REDIRECT_URL = "login"

SESSION_COOKIE_AGE = 14 * 24 * 3600
HTTPS = env.flag("STUDIO_HTTPS")
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = HTTPS
SESSION_COOKIE_SAMESITE = "Lax"
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
if HTTPS:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
    SECURE_SSL_REDIRECT = True
    SECURE_REDIRECT_EXEMPT = [r"^health/$"]
    SECURE_HSTS_SECONDS = 30 * 24 * 3600
    # Other names below the studio's own, and the list that browsers are shipped with, are for
    # whoever owns the domain to decide.
    SILENCED_SYSTEM_CHECKS += ["security.W005", "security.W021"]

# The shape follows Django 6's SECURE_CSP, so that the move there is a rename.
SECURE_CSP = {
    "default-src": ["'self'"],
    "img-src": ["'self'", "data:"],
    "object-src": ["'none'"],
    "base-uri": ["'none'"],
    "form-action": ["'self'"],
    "frame-ancestors": ["'none'"],
}

MESSAGE_TAGS = {ERROR: "wrong", WARNING: "warn"}

# What goes wrong on a page is written to the terminal, in production too.
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "handlers": {"terminal": {"class": "logging.StreamHandler"}},
    "loggers": {"django.request": {"handlers": ["terminal"], "level": "ERROR"}},
}

USE_TZ = True
TIME_ZONE = "UTC"
LANGUAGE_CODE = "en"
USE_I18N = True

CSRF_FAILURE_VIEW = "studio.shop.middleware.stale_form"
STATIC_URL = "static/"
STATIC_ROOT = BASE_DIR / "var" / "static"
# Photographs, papers and copies lie in the data folder, or in a store that several machines share.
STORE = env.store("STUDIO_FILES")
STORAGES = {
    "default": {
        "BACKEND": "studio.shop.stored.store.StoreStorage",
        "OPTIONS": STORE | {"folder": f"{STORE['folder']}/files"},
    }
    if STORE
    else {
        "BACKEND": "django.core.files.storage.FileSystemStorage",
        "OPTIONS": {"location": DATA_DIR / "files", "base_url": None},
    },
    "staticfiles": {
        "BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"
        if DEBUG
        else "whitenoise.storage.CompressedManifestStaticFilesStorage"
    },
}
# Long papers are made by a process of their own, so that the counter does not wait for them.
IN_THE_BACKGROUND = True
MEDIA_ROOT = DATA_DIR / "files"
FILE_UPLOAD_PERMISSIONS = 0o600
DATA_UPLOAD_MAX_MEMORY_SIZE = 5 * 1024 * 1024
DATA_UPLOAD_MAX_NUMBER_FIELDS = 5000

DJANGO_TABLES2_TEMPLATE = "shop/table.html"
DEMO = env.flag("STUDIO_DEMO")
# How many proxies stand in front; each adds its caller to X-Forwarded-For, else never believed.
PROXIES = env.whole("STUDIO_PROXIES", 0)
