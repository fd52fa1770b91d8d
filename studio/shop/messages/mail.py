"""Mail of the studio: where it is handed in, one message, and what to say when it does not go.

The settings are a file of the data folder that only its owner may read, as those of the backups: a
copy of the rows must not take the password along. Mail is off until there is such a file.
"""

import json
import os
import smtplib
import socket
import ssl
import threading
from collections.abc import Callable
from contextlib import suppress
from dataclasses import asdict, dataclass, fields, replace
from email.headerregistry import Address
from email.message import EmailMessage
from email.policy import SMTP as SMTP_POLICY
from email.utils import format_datetime, make_msgid
from pathlib import Path
from typing import Any

from django.conf import settings

from studio.shop import clock

PATIENCE = 5.0
"""Seconds for which a page waits for the server, whatever the server does."""


class MailError(Exception):
    """It was not sent; the message says why, for the owner to read."""


@dataclass(frozen=True)
class MailServer:
    """``security`` is "tls" (from the first byte), "starttls" or "none"; ``works`` says that
    a message has gone out through it as it is set."""

    host: str = ""
    port: int = 587
    security: str = "starttls"
    user: str = ""
    password: str = ""
    sender: str = ""
    works: bool = False

    @property
    def is_on(self) -> bool:
        return bool(self.host and self.sender)


def _file() -> Path:
    return Path(settings.DATA_DIR) / "mail.json"


def load() -> MailServer:
    try:
        facts: dict[str, Any] = json.loads(_file().read_text())
    except FileNotFoundError:
        return MailServer()
    known = {field.name for field in fields(MailServer)}
    return MailServer(**{name: value for name, value in facts.items() if name in known})


def save(server: MailServer) -> None:
    """All of it or nothing, for nobody else to read; a server without a host turns mail off."""
    path = _file()
    if not server.is_on:
        path.unlink(missing_ok=True)
        return
    part = path.with_name("mail.json.part")
    part.unlink(missing_ok=True)
    with os.fdopen(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as file:
        json.dump(asdict(server), file, indent=1)
        file.flush()
        os.fsync(file.fileno())
    part.replace(path)


def written(
    *,
    server: MailServer,
    name: str,
    to: str,
    subject: str,
    text: str,
    language: str,
    answers: str = "",
) -> EmailMessage:
    """A message from the studio called ``name``. Raises MailError for what no header may hold.

    ``answers`` is where answers go, if elsewhere than to the sender.
    """
    for words in (name, to, subject, server.sender, language, answers):
        if not words.isprintable():
            raise MailError("A name, an address or the subject has a line break in it.")
    message = EmailMessage(policy=SMTP_POLICY)
    try:
        message["From"] = Address(name, addr_spec=_spelled(server.sender))
        message["To"] = Address(addr_spec=_spelled(to))
        if answers and answers != server.sender:
            message["Reply-To"] = Address(name, addr_spec=_spelled(answers))
        message["Subject"] = subject
        message["Date"] = format_datetime(clock.local(clock.now()))
        message["Message-ID"] = make_msgid(domain=_spelled(server.sender).rpartition("@")[2])
    except (ValueError, IndexError) as error:
        raise MailError(f"“{to}” is no address to send to.") from error
    message.set_content(text)
    message["Content-Language"] = language
    return message


def _spelled(address: str) -> str:
    """The address with its domain in the letters of the net (RFC 5890). Raises ValueError."""
    local, at, domain = address.rpartition("@")
    if not (at and local and local.isascii()):
        raise ValueError(address)
    return f"{local}@{domain.encode('idna').decode()}"


def send(message: EmailMessage, server: MailServer, patience: float = PATIENCE) -> None:
    """Hand it in. Comes back within ``patience`` seconds, or raises MailError.

    A server that answers too late is left, and gets no message afterwards.
    """
    attempt = _Attempt(message, server, patience)
    thread = threading.Thread(target=attempt.run, name="mail", daemon=True)
    thread.start()
    thread.join(patience)
    if thread.is_alive():
        attempt.leave()
        if attempt.handed_in:
            raise MailError(
                f"{server.host} took it and did not say in {patience:.0f} s whether it went."
            )
        raise MailError(f"{server.host} did not answer in {patience:.0f} s.")
    if attempt.wrong:
        raise MailError(attempt.wrong)
    _remember_that_it_works(server)


def _remember_that_it_works(server: MailServer) -> None:
    """What went stays gone, also where this cannot be written down."""
    with suppress(OSError):
        if not server.works and load() == server:
            save(replace(server, works=True))


class _Attempt:
    """One try, in a thread of its own: neither a name that is not found nor a slow answer holds
    up the page."""

    def __init__(self, message: EmailMessage, server: MailServer, patience: float) -> None:
        self.message, self.server, self.patience = message, server, patience
        self.wrong = ""
        self.handed_in = self._left = False
        self._lock = threading.Lock()
        self._connection: smtplib.SMTP | None = None

    def run(self) -> None:
        try:
            self._send()
        except Exception as error:
            self.wrong = _reason(error, self.server)

    def leave(self) -> None:
        with self._lock:
            self._left = True
        connection = self._connection
        if connection and connection.sock:
            with suppress(OSError):
                connection.sock.shutdown(socket.SHUT_RDWR)

    def _send(self) -> None:
        server, context = self.server, ssl.create_default_context()
        connect: Callable[..., smtplib.SMTP] = smtplib.SMTP
        extra: dict[str, Any] = {}
        if server.security == "tls":
            connect, extra = smtplib.SMTP_SSL, {"context": context}
        with connect(server.host, server.port, timeout=self.patience, **extra) as connection:
            self._connection = connection
            if server.security == "starttls":
                connection.starttls(context=context)
            if server.user:
                connection.login(server.user, server.password)
            with self._lock:
                if self._left:
                    return
                self.handed_in = True
            connection.send_message(self.message)


def _reason(error: Exception, server: MailServer) -> str:
    """In words for somebody who knows their mail account and no protocol."""
    host = server.host
    if isinstance(error, smtplib.SMTPRecipientsRefused):
        code, reply = next(iter(error.recipients.values()))
        return f"The address was refused: {_text(reply)} ({code})."
    if isinstance(error, smtplib.SMTPResponseException):
        login = isinstance(error, smtplib.SMTPAuthenticationError)
        said = "User or password was refused" if login else f"{host} refused"
        return f"{said}: {_text(error.smtp_error)} ({error.smtp_code})."
    known: list[tuple[type[Exception], str]] = [
        (smtplib.SMTPNotSupportedError, f"{host} cannot do what is set: {_text(str(error))}"),
        (socket.gaierror, f"No server called {host} was found."),
        (ssl.SSLCertVerificationError, f"The certificate of {host} does not hold: {error}."),
        (ssl.SSLError, f"{host} does not speak TLS in this way. Try the other kind."),
        (ConnectionRefusedError, f"Nothing answers at {host}, port {server.port}."),
        (TimeoutError, f"{host} did not answer in time."),
    ]
    broken = f"{host}: the connection broke ({_text(str(error)) or type(error).__name__})."
    return next((words for kind, words in known if isinstance(error, kind)), broken)


def _text(reply: bytes | str) -> str:
    """A server's words on one line, cut to what a message holds."""
    words = reply.decode("utf-8", "replace") if isinstance(reply, bytes) else reply
    return " ".join(words.split())[:160]
