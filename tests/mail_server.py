"""A little SMTP server for tests: real sockets on this machine, every message kept as it came.

It speaks as much of RFC 5321 as a client needs, STARTTLS of RFC 3207 and AUTH PLAIN of RFC 4954,
and misbehaves where it is told to.
"""

import base64
import socketserver
import ssl
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from email import message_from_bytes, policy
from email.message import EmailMessage
from typing import Any


@dataclass
class Mailbox:
    """What came in, and how the server behaves: ``slow`` seconds before it greets, ``refuses`` the
    command that it answers with 550, ``login`` the user and password that it asks for."""

    slow: float = 0
    slow_data: float = 0
    refuses: str = ""
    login: tuple[str, str] | None = None
    tls: ssl.SSLContext | None = None
    raw: list[bytes] = field(default_factory=list)
    recipients: list[str] = field(default_factory=list)
    secured: list[bool] = field(default_factory=list)
    port: int = 0

    @property
    def messages(self) -> list[EmailMessage]:
        """Read by the standard library's parser, which knows nothing of ours."""
        return [message_from_bytes(raw, policy=policy.default) for raw in self.raw]


class _Talk(socketserver.StreamRequestHandler):
    server: "_Server"

    def handle(self) -> None:
        box, secure = self.server.box, False
        time.sleep(box.slow)
        self.say("220 test ready")
        known = box.login is None
        while line := self.rfile.readline():
            text = line.decode().strip()
            command = text.partition(" ")[0].upper()
            if command and command == box.refuses:
                self.say("550 5.1.1 not here,\tthank you")
            elif command == "EHLO":
                offers = ["250-test"]
                offers += ["250-STARTTLS"] if box.tls and not secure else []
                offers += ["250-AUTH PLAIN"] if box.login else []
                self.say("\r\n".join([*offers, "250 8BITMIME"]))
            elif command == "STARTTLS" and box.tls:
                self.say("220 go on")
                self.connection = box.tls.wrap_socket(self.connection, server_side=True)
                self.rfile = self.connection.makefile("rb")
                self.wfile = self.connection.makefile("wb", buffering=0)
                secure = True
            elif command == "AUTH":
                _, user, password = base64.b64decode(text.split()[2]).decode().split("\0")
                known = (user, password) == box.login
                self.say("235 come in" if known else "535 5.7.8 wrong password")
            elif command == "RCPT":
                box.recipients.append(text.partition(":")[2])
                self.say("250 ok" if known else "530 log in first")
            elif command == "DATA":
                self.say("354 go ahead")
                self.take(secure)
            elif command == "QUIT":
                self.say("221 bye")
                return
            else:
                self.say("250 ok")

    def take(self, secure: bool) -> None:
        lines = []
        while (line := self.rfile.readline()) not in {b".\r\n", b""}:
            lines.append(line.removeprefix(b".") if line.startswith(b"..") else line)
        time.sleep(self.server.box.slow_data)
        self.server.box.raw.append(b"".join(lines))
        self.server.box.secured.append(secure)
        self.say("250 taken")

    def say(self, words: str) -> None:
        self.wfile.write(f"{words}\r\n".encode())


class _Server(socketserver.ThreadingTCPServer):
    allow_reuse_address = True
    daemon_threads = True

    def __init__(self, box: Mailbox) -> None:
        super().__init__(("127.0.0.1", 0), _Talk)
        self.box = box

    def handle_error(self, request: Any, client_address: Any) -> None:
        """A client that hung up is what some tests are about."""


@contextmanager
def mail_server(**how: Any) -> Iterator[Mailbox]:
    box = Mailbox(**how)
    with _Server(box) as server:
        box.port = server.server_address[1]
        thread = threading.Thread(target=server.serve_forever, args=(0.02,), daemon=True)
        thread.start()
        try:
            yield box
        finally:
            server.shutdown()
            thread.join()
