"""Issued papers are kept as they are."""

import hashlib
import logging
import stat
from pathlib import Path

import pytest

from studio.shop.models import StoredPaper
from studio.shop.paper import issued_paper, serve_paper, show_pdf, store_paper
from studio.shop.stored.files import atomic_with_files
from tests.factories import AgreementFactory

PDF = b"%PDF-1.7 a hem"

pytestmark = pytest.mark.django_db


def stored(name: str, pdf: bytes) -> StoredPaper:
    with atomic_with_files():
        return store_paper(name, pdf)


@pytest.fixture
def agreement(studio):
    return AgreementFactory()


def test_a_paper_is_stored_with_its_hash_under_a_name_nobody_guesses():
    first, second = (stored("Claim ticket 26-0143", PDF) for _ in range(2))
    assert first.file.open("rb").read() == PDF
    assert first.sha256 == hashlib.sha256(PDF).hexdigest()
    names = {Path(paper.file.name).name for paper in (first, second)}
    assert len(names) == 2
    for name in names:
        head, _, secret = name.partition("claim-ticket-26-0143-")
        assert head == ""
        assert len(secret.removesuffix(".pdf")) >= 16


def test_only_the_program_may_read_the_file():
    path = Path(stored("Claim ticket 26-0143", PDF).file.path)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


def test_a_stored_paper_is_served_byte_for_byte():
    response = serve_paper(stored("Claim ticket 26-0143 version 2", PDF))
    assert response.content == PDF
    assert response.headers["Content-Type"] == "application/pdf"
    assert response.headers["X-Content-Type-Options"] == "nosniff"
    name = "claim-ticket-26-0143-version-2.pdf"
    assert response.headers["Content-Disposition"] == f'inline; filename="{name}"'


def test_a_name_cannot_break_out_of_its_header():
    shown = show_pdf('x"\r\nSet-Cookie: a=b', PDF)
    assert shown.headers["Content-Disposition"] == 'inline; filename="x-set-cookie-ab.pdf"'


@pytest.mark.parametrize("harm", [lambda path: path.write_bytes(PDF + b" "), Path.unlink])
def test_a_damaged_paper_is_not_passed_off_as_the_issued_one(harm, caplog):
    paper = stored("Claim ticket 26-0143", PDF)
    harm(Path(paper.file.path))
    with caplog.at_level(logging.ERROR):
        response = serve_paper(paper)
    assert response.status_code == 500
    assert "Restore it from a backup." in response.text
    assert PDF not in response.content
    assert [record.name for record in caplog.records] == ["studio.shop.paper"]


def test_a_paper_is_made_once(agreement):
    made = iter([PDF])
    first = issued_paper(agreement, "paper", "Claim ticket", lambda: next(made))
    again = issued_paper(agreement, "paper", "Claim ticket", lambda: next(made))
    agreement.refresh_from_db()
    assert first == again == agreement.paper
    assert StoredPaper.objects.count() == 1


def test_of_two_who_ask_at_once_both_get_the_first(agreement):
    twin = type(agreement).objects.get(pk=agreement.pk)

    def slow() -> bytes:
        issued_paper(twin, "paper", "Claim ticket", lambda: b"the quick one")
        return b"the slow one"

    paper = issued_paper(agreement, "paper", "Claim ticket", slow)
    assert serve_paper(paper).content == b"the quick one"
    assert agreement.paper == twin.paper
    assert StoredPaper.objects.count() == 1


def test_what_cannot_be_made_leaves_nothing_behind(agreement):
    def broken() -> bytes:
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        issued_paper(agreement, "paper", "Claim ticket", broken)
    agreement.refresh_from_db()
    assert agreement.paper is None
    assert StoredPaper.objects.count() == 0
