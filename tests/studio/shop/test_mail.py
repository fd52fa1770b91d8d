"""Mail goes to a real server on this machine, and is read there by the standard library."""

import ssl
import stat
import time
from datetime import UTC, datetime, timedelta

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

from studio.shop.messages import mail
from studio.shop.messages.mail import MailError, MailServer, send, written
from tests.mail_server import mail_server

pytestmark = [pytest.mark.any_day, pytest.mark.real_time]


def server_of(box, **facts) -> MailServer:
    return MailServer(
        **{"host": "127.0.0.1", "port": box.port, "security": "none",
           "sender": "room@larkfield.example"} | facts
    )  # fmt: skip


def message(server, **facts):
    return written(
        **{
            "server": server, "name": "Larkfield, Sewing “Room”", "to": "mary@example.org",
            "subject": "Ihr Auftrag 26-0143: „fertig“", "text": "Größe 42 passt.\n.\nBis Freitag",
            "language": "de", "answers": "mail@larkfield.example",
        } | facts
    )  # fmt: skip


def refused(server, **how) -> str:
    with pytest.raises(MailError) as wrong:
        send(message(server), server, **how)
    return str(wrong.value)


def test_a_message_arrives_as_it_was_written():
    with mail_server() as box:
        send(message(server_of(box)), server_of(box))
        got = box.messages[0]
    assert got["From"].addresses[0].addr_spec == "room@larkfield.example"
    assert got["From"].addresses[0].display_name == "Larkfield, Sewing “Room”"
    assert [it.addr_spec for it in got["To"].addresses] == ["mary@example.org"]
    assert got["Reply-To"].addresses[0].addr_spec == "mail@larkfield.example"
    assert got["Subject"] == "Ihr Auftrag 26-0143: „fertig“"
    assert got["Content-Language"] == "de"
    assert got["Date"].datetime.utcoffset() is not None
    assert got["Message-ID"].endswith("@larkfield.example>")
    assert got.get_content_type() == "text/plain"
    # Lines that are one full stop are the protocol's end, and must not end it.
    assert got.get_content().splitlines() == ["Größe 42 passt.", ".", "Bis Freitag"]
    assert box.recipients == ["<mary@example.org>"]
    assert not got.defects


def test_a_domain_is_written_in_the_letters_of_the_net():
    with mail_server() as box:
        send(message(server_of(box), to="mary@nähstube.example"), server_of(box))
    # RFC 5891 by hand: "ä" of "nähstube" in Punycode.
    assert box.recipients == ["<mary@xn--nhstube-5wa.example>"]


@pytest.mark.parametrize(
    "facts",
    [
        {"to": "mary@example.org\nBcc: all@example.org"},
        {"to": "mary@example.org, all@example.org"},
        {"to": "mary@example.org\x00"},
        {"subject": "Ready\r\nBcc: all@example.org"},
        {"name": "Room\nBcc: all@example.org"},
        {"answers": "a@example.org\u2028Bcc: all@example.org"},
        {"language": "de\nX-Other: 1"},
        {"to": "nobody"},
        {"to": ""},
    ],
    ids=str,
)
def test_no_header_is_smuggled_in(facts):
    with pytest.raises(MailError):
        message(MailServer(host="h", sender="room@larkfield.example"), **facts)


def test_what_a_server_refuses_is_said_in_its_words():
    with mail_server(refuses="RCPT") as box:
        words = refused(server_of(box))
    assert words == "The address was refused: 5.1.1 not here, thank you (550)."
    with mail_server(login=("room", "thread")) as box:
        assert "User or password was refused" in refused(
            server_of(box, user="room", password="needle")
        )
        send(message(server_of(box)), server_of(box, user="room", password="thread"))
        assert len(box.raw) == 1
    with mail_server() as box:
        port = box.port
        assert "cannot do what is set" in refused(server_of(box, security="starttls"))
        assert "TLS" in refused(server_of(box, security="tls"))
    closed = MailServer(host="127.0.0.1", port=port, security="none", sender="room@example.org")
    assert refused(closed) == f"Nothing answers at 127.0.0.1, port {port}."


def test_a_server_that_is_slow_holds_nobody_up_and_gets_no_message_afterwards():
    with mail_server(slow=0.6) as box:
        began = time.monotonic()
        assert "did not answer in 0 s" in refused(server_of(box), patience=0.2)
        assert time.monotonic() - began < 0.5
        time.sleep(0.8)
        assert box.raw == []
    with mail_server(slow_data=0.6) as box:
        assert "did not say" in refused(server_of(box), patience=0.3)


def certificate(folder, name: str) -> ssl.SSLContext:
    """A server's context with a certificate that it made itself for ``name``."""
    key = ec.generate_private_key(ec.SECP256R1())
    now, subject = datetime.now(UTC), x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)])
    signed = (
        x509.CertificateBuilder().subject_name(subject).issuer_name(subject)
        .public_key(key.public_key()).serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=1)).not_valid_after(now + timedelta(days=1))
        .add_extension(x509.SubjectAlternativeName([x509.DNSName(name)]), critical=False)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .sign(key, hashes.SHA256())
    )  # fmt: skip
    path = folder / "server.pem"
    path.write_bytes(
        key.private_bytes(
            serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8,
            serialization.NoEncryption(),
        ) + signed.public_bytes(serialization.Encoding.PEM)
    )  # fmt: skip
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(path)
    return context


def test_starttls_is_wanted_with_a_certificate_that_holds(tmp_path, monkeypatch):
    context = certificate(tmp_path, "localhost")
    with mail_server(tls=context) as box:
        secure = server_of(box, security="starttls", host="localhost")
        assert "certificate of localhost does not hold" in refused(secure)
        assert box.raw == []
        monkeypatch.setenv("SSL_CERT_FILE", str(tmp_path / "server.pem"))
        send(message(secure), secure)
        assert box.secured == [True]


def test_the_settings_are_for_nobody_else_to_read_and_off_until_set(settings, tmp_path):
    settings.DATA_DIR = tmp_path
    assert not mail.load().is_on
    kept = MailServer("smtp.example.org", 465, "tls", "room", "thread", "room@example.org")
    mail.save(kept)
    assert mail.load() == kept
    assert stat.S_IMODE((tmp_path / "mail.json").stat().st_mode) == 0o600
    mail.save(MailServer())
    assert not (tmp_path / "mail.json").exists()
