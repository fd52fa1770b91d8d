"""What every test may ask for: the studio, its people, and test clients that are logged in."""

import fcntl
import gc
import os
import re
import shutil
import sys
from collections.abc import Iterator
from datetime import datetime, timedelta
from itertools import chain
from pathlib import Path
from random import Random
from typing import Any

import pytest
import time_machine
from django.conf import settings
from django.contrib.auth import BACKEND_SESSION_KEY, HASH_SESSION_KEY, SESSION_KEY
from django.contrib.sessions.backends.db import SessionStore
from django.core.cache import cache
from django.core.management.color import Style
from django.core.management.commands import flush
from django.db import connection
from django.db.backends.base.base import BaseDatabaseWrapper
from django.template import RequestContext, Template
from django.test import Client
from django.utils import timezone
from hypothesis import settings as examples

from studio.shop import clock
from studio.shop.doors.logins import PROVED
from studio.shop.models import Profile, User, WorkingDay
from studio.shop.paper import typesetting
from studio.shop.text import NUMBER
from tests import factories
from tests.papers import Press
from tests.thorough import THOROUGH

# A busy machine is not a failure: hypothesis sets no time limit for one example.
examples.register_profile("calm", deadline=None)
examples.load_profile("calm")

# Of what is loaded until the first test nothing is garbage; see pytest_collection_finish.
gc.disable()

WORKER = "PYTEST_XDIST_WORKER" in os.environ

DATABASE = {"db", "transactional_db", "live_server"}


PUT_TO_POSTGRES = re.compile("postgres|transactional_db|transaction=True")


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """Of tests that are put to PostgreSQL only the files are loaded that have some."""
    if collection_path.suffix == ".py" and config.option.markexpr.startswith("postgres"):
        return not PUT_TO_POSTGRES.search(collection_path.read_text()) or None
    return None


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Mark tests by what they use; ``TESTS_ORDER=7`` shuffles the files and the tests in each."""
    elsewhere = [item for item in items if not asks_this_database(item) or left_out(item)]
    config.hook.pytest_deselected(items=elsewhere)
    items[:] = [item for item in items if item not in elsewhere]
    for item in items:
        if DATABASE & set(item.fixturenames) or item.get_closest_marker("django_db"):
            item.add_marker("database")
        if hasattr(item.module, "papers"):
            item.add_marker("paper")
        if at_once(item):
            item.add_marker("postgres")
        if "studio" in item.fixturenames:
            item.add_marker("dates")
    # The longest first: begun last, one worker would walk through it while the other has nothing.
    items.sort(key=lambda item: item.path.name != "test_lived_in.py")
    if seed := os.environ.get("TESTS_ORDER"):
        dice = Random(seed)  # noqa: S311 -- an order of tests is no secret
        places = {path: dice.random() for path in sorted({item.path for item in items})}
        items.sort(key=lambda item: (places[item.path], dice.random()))


def asks_this_database(item: pytest.Item) -> bool:
    """Whether this run's database is the one, if any, of which alone the test tells something."""
    mark = item.get_closest_marker("only_on")
    return mark is None or connection.vendor in mark.args


def left_out(item: pytest.Item) -> bool:
    return not THOROUGH and item.get_closest_marker("thorough") is not None


def at_once(item: pytest.Item) -> bool:
    """Whether several connections write at once, for which each database has locks of its own."""
    mark = item.get_closest_marker("django_db")
    if item.get_closest_marker("alike"):
        return False
    return "transactional_db" in item.fixturenames or bool(mark and mark.kwargs.get("transaction"))


@pytest.hookimpl(wrapper=True)
def pytest_collection() -> Iterator[Any]:
    """In a fresh clone one after the other: what the first has compiled the others only load."""
    here = Path(__file__).parent
    if sys.dont_write_bytecode or next(here.glob("studio/shop/__pycache__/*-pytest-*"), None):
        return (yield)
    with here.joinpath("__pycache__", "compiling").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        return (yield)


def pytest_collection_finish() -> None:
    """What is loaded by now stays to the end, so nobody need look for garbage among it."""
    gc.collect()
    gc.freeze()
    gc.enable()
    gc.set_threshold(50_000, 20, 100)


# A Wednesday morning in Ireland with no feast and no change of the clock near; ``make test-dates``
# names others. A test about another moment travels on from here.
MOMENT = datetime.fromisoformat(os.environ.get("TESTS_AT", "2026-03-11T10:30+00:00"))


@pytest.fixture(autouse=True)
def watch(request: pytest.FixtureRequest) -> Iterator[time_machine.Traveller | None]:
    """Stands at ``MOMENT`` for every test but those marked ``real_time``.

    ``watch.shift(60)`` lets a minute pass: nothing that is done in one moment is before the other.
    """
    if request.node.get_closest_marker("real_time"):
        yield None
    else:
        with time_machine.travel(MOMENT, tick=False) as traveller:
            yield traveller


@pytest.fixture(autouse=True)
def _leave_nothing_behind(request: pytest.FixtureRequest, press: Press):
    """A request sets the zone of its thread and fills the cache; the next test starts afresh.

    Papers are laid out for those who read them, and for the browser, which opens every one.
    """
    press.proofs = not any(map(request.node.get_closest_marker, ("paper", "browser")))
    factories.count_anew()
    yield
    timezone.deactivate()
    cache.clear()


@pytest.fixture(scope="session", autouse=True)
def _tell_of_pages_alone(django_test_environment: None) -> Iterator[None]:
    """Django tells the test client of every template it renders, with a copy of its context.

    A page has thousands, one for each option of a list; ``response.context`` needs the page's own.
    """
    tell, render = Template._render, lambda self, context: self.nodelist.render(context)

    def chosen(self: Template, context: RequestContext) -> str:
        page = context.template is self and isinstance(context, RequestContext)
        return (tell if page else render)(self, context)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Template, "_render", chosen)
        yield


@pytest.fixture(scope="session", autouse=True)
def _empty_tables_are_enough() -> Iterator[None]:
    """After a test that commits, its tables are emptied: those that have rows.

    Django would empty all hundred, and fill in its own list of models and permissions each time.
    Nobody here reads them.
    """
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(flush, "emit_post_migrate_signal", lambda *_, **__: None)
        patch.setattr(flush, "sql_flush", emptying)
        yield


def emptying(_style: Style, connection: BaseDatabaseWrapper, **_: bool) -> list[str]:
    """One statement for each table that has rows; what leads where is looked at in the end."""
    names = connection.introspection.django_table_names()
    tables = [connection.ops.quote_name(name) for name in names]
    asked = " UNION ALL ".join(
        f"SELECT {place} WHERE EXISTS (SELECT 1 FROM {table})"  # noqa: S608 -- our own tables
        for place, table in enumerate(tables)
    )
    with connection.cursor() as cursor:
        cursor.execute(asked)
        return [f"DELETE FROM {tables[place]}" for (place,) in cursor.fetchall()]  # noqa: S608


@pytest.fixture(scope="session", autouse=True)
def _pages_as_read(django_test_environment: None) -> Iterator[None]:
    """A page that the test client fetched has its words as one reads them: ``response.text``.

    What keeps its figures whole (``studio/shop/text.py``) is no matter to who asks what it says;
    the page as it went out is ``response.sent``.
    """
    fetch = Client.request

    def request(self: Client, **asked: Any) -> Any:
        response = fetch(self, **asked)
        if response.headers.get("Content-Type", "").startswith("text/html"):
            response.sent = response.content
            if "Content-Encoding" not in response.headers:
                response.content = as_read(response.text).encode()
        return response

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Client, "request", request)
        yield


FIGURE = re.compile(rf'<span class="figure">({NUMBER.pattern})</span>')


def as_read(html: str) -> str:
    return FIGURE.sub(r"\g<1>", html).replace("\N{NO-BREAK SPACE}", " ")


@pytest.fixture(scope="session")
def django_db_keepdb(django_db_keepdb: bool) -> bool:
    """What lies where a worker has its file was put there for it, just below."""
    return django_db_keepdb or (connection.vendor == "sqlite" and WORKER)


@pytest.fixture(scope="session")
def django_db_setup(
    request: pytest.FixtureRequest,
    django_db_modify_db_settings: None,
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    """Of several workers the first migrates, which takes five seconds, others begin with a copy.

    They still ask whether anything is left to migrate.
    """
    if connection.vendor != "sqlite" or not WORKER:
        request.getfixturevalue("django_db_setup")
        return
    migrated = tmp_path_factory.getbasetemp().parent / "migrated.sqlite3"
    own = Path(connection.settings_dict["TEST"]["NAME"])
    with migrated.with_suffix(".lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if migrated.exists():
            shutil.copy(migrated, own)
        request.getfixturevalue("django_db_setup")
        connection.close()
        if not migrated.exists():
            shutil.copy(own, migrated)


@pytest.fixture(scope="session", autouse=True)
def press() -> Iterator[Press]:
    """All tests share what is printed; see there."""
    press = Press()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(typesetting, "typeset", press.typeset_once)
        patch.setattr(typesetting, "bind", press.bind_once)
        yield press
    press.clear()


@pytest.fixture
def studio(db: None) -> Profile:
    """Larkfield Sewing Room: Ireland, euro, centimetres, A4, tax included, Monday to Friday."""
    profile = factories.ProfileFactory()
    WorkingDay.objects.bulk_create(
        WorkingDay(weekday=weekday, minutes=480 if weekday < 5 else 0) for weekday in range(7)
    )
    clock.activate(profile)
    return profile


@pytest.fixture
def owner(db: None) -> User:
    return factories.UserFactory(username="owner")


@pytest.fixture
def helper(db: None) -> User:
    return factories.UserFactory(username="helper", role=User.Role.HELPER)


@pytest.fixture
def owner_client(studio: Profile, owner: User) -> Client:
    return logged_in(owner)


@pytest.fixture
def helper_client(studio: Profile, helper: User) -> Client:
    return logged_in(helper)


def logged_in(user: User) -> Client:
    """With a session as a login leaves it; whatever the watch says later, it holds."""
    session = SessionStore()
    session[SESSION_KEY] = str(user.pk)
    session[BACKEND_SESSION_KEY] = settings.AUTHENTICATION_BACKENDS[0]
    session[HASH_SESSION_KEY] = user.get_session_auth_hash()
    session.set_expiry(timedelta(days=36525))
    session[PROVED] = f"{clock.now()}"
    session.create()
    client = Client()
    client.cookies[settings.SESSION_COOKIE_NAME] = session.session_key
    return client


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Print what tests measured: each ``record_property("figure", "...")``."""
    reports = chain.from_iterable(terminalreporter.stats.values())
    properties = chain.from_iterable(getattr(report, "user_properties", []) for report in reports)
    if figures := sorted({value for name, value in properties if name == "figure"}):
        terminalreporter.section("figures")
        for figure in figures:
            terminalreporter.line(figure)
