from datetime import timedelta

import pytest

from jobs.counter.messages.client_page import looks
from jobs.tickets import actions
from studio.shop import clock
from studio.shop.messages import mail
from tests.drafts import received
from tests.factories import ClientFactory
from tests.mail_server import mail_server


@pytest.fixture(autouse=True)
def own_folder(settings, tmp_path):
    """Where the mail's settings lie; and nobody has looked at a page yet."""
    settings.DATA_DIR = tmp_path
    looks.clear()


@pytest.fixture
def mary(studio):
    return ClientFactory(
        name="Mary Larkin", phone="087 555 4321", email="mary@example.org", way="text"
    )


@pytest.fixture
def ready(studio, owner, mary):
    """A ticket that has been ready for so many days."""

    def making(days=0, client=mary):
        with clock.pretend(
            clock.at(clock.today() - timedelta(days=days), clock.local(clock.now()).time())
        ):
            ticket = received(studio, owner, client=client)
            actions.tick_all(ticket=ticket, by=owner)
            return actions.mark_ready(ticket=ticket, by=owner)

    return making


@pytest.fixture
def mailbox(own_folder):
    """A server of this machine that the studio sends through."""
    with mail_server() as box:
        mail.save(mail.MailServer("127.0.0.1", box.port, "none", sender="room@larkfield.example"))
        yield box
