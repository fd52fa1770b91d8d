"""Issued papers: kept as files, given out as they are, never rendered again."""

import hashlib
import logging
from collections.abc import Callable
from secrets import token_urlsafe
from typing import Any

from django.core.files.base import ContentFile
from django.db import transaction
from django.http import HttpResponse
from django.utils.text import slugify

from studio.shop.models import StoredPaper

logger = logging.getLogger(__name__)


def store(name: str, pdf: bytes) -> StoredPaper:
    """Keep a PDF under ``name`` without its ending. Nobody can guess the file's own name."""
    paper = StoredPaper(name=name, sha256=hashlib.sha256(pdf).hexdigest())
    paper.file.save(f"{slugify(name)}-{token_urlsafe(12)}.pdf", ContentFile(pdf), save=False)
    paper.save()
    return paper


def kept(row: Any, field: str, name: str, make: Callable[[], bytes]) -> StoredPaper:
    """The paper in ``field`` of the model's ``row``; made and stored when there is none yet.

    Two who ask at once both render, and both get the one that was stored first.
    """
    if paper := getattr(row, field):
        return paper
    pdf = make()
    with transaction.atomic():
        fresh = type(row).objects.select_for_update().get(pk=row.pk)
        if (paper := getattr(fresh, field)) is None:
            paper = store(name, pdf)
            setattr(fresh, field, paper)
            fresh.save(update_fields=[field])
    setattr(row, field, paper)
    return paper


def serve(paper: StoredPaper) -> HttpResponse:
    """The stored file, byte for byte; an answer that says so when it is not what was issued."""
    try:
        with paper.file.open("rb") as file:
            pdf = file.read()
    except OSError:
        pdf = b""
    if hashlib.sha256(pdf).hexdigest() != paper.sha256:
        logger.error("Stored paper %s: %s is missing or damaged.", paper.pk, paper.file.name)
        words = f"The file of “{paper.name}” is missing or damaged. Restore it from a backup."
        return HttpResponse(words, status=500, content_type="text/plain; charset=utf-8")
    return show(paper.name, pdf)


def show(name: str, pdf: bytes) -> HttpResponse:
    """A PDF that the browser opens at once and keeps to itself."""
    response = HttpResponse(pdf, content_type="application/pdf")
    response.headers["Content-Disposition"] = f'inline; filename="{slugify(name)}.pdf"'
    response.headers["Cache-Control"] = "private, no-cache"
    response.headers["X-Content-Type-Options"] = "nosniff"
    return response
