"""The owner's page about copies: how they stand, one more, each to download, where else they go."""

import threading
from collections.abc import Callable
from dataclasses import replace
from typing import TypeVar

from django import forms
from django.conf import settings
from django.contrib import messages
from django.db import connections
from django.http import FileResponse, Http404, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_POST, require_safe

from studio.backup import actions, asked, night, options, queries, shelf
from studio.backup.core.manifest import BackupError
from studio.backup.everything import write_everything
from studio.backup.forms import FolderForm, PassphraseForm, StoreForm
from studio.backup.models import Backup, Kind
from studio.backup.write import back_up, remembered
from studio.shop import clock
from studio.shop.doors.logins import fresh_password, fresh_password_for_file
from studio.shop.http import StudioRequest, owner_only, say
from studio.shop.models import Profile

T = TypeVar("T")
PATIENCE = 4
"""Seconds in which a page waits for a copy that is being made."""


@owner_only
@require_safe
def backups(request: StudioRequest) -> HttpResponse:
    rows = list(Backup.objects.exclude(finished_at=None)[: queries.MOST_ROWS])
    context = {
        "state": queries.read_state(request.studio),
        "days": queries.days(rows),
        "copies": queries.copies(rows, request.studio),
        "tried": next((row for row in rows if row.tested_at), None),
        "opts": options.load(),
        "second": next((row for row in rows if row.second or row.second_at), None),
        "folder": shelf.where(),
        "possible": asked.is_possible(),
        "aside": asked.put_aside(),
        **_asked(request.studio),
    }
    return render(request, "backup/backups.html", context)


def _in_time(work: Callable[[], T], studio: Profile, name: str) -> T | None:
    """What the work gives; None where it goes on longer than anybody is kept waiting."""
    made = []

    def do() -> None:
        clock.activate(studio)
        made.append(work())

    def do_apart() -> None:
        try:
            do()
        finally:
            connections.close_all()

    if settings.IN_THE_BACKGROUND:
        thread = threading.Thread(target=do_apart, name=name)
        thread.start()
        thread.join(PATIENCE)
    else:
        do()
    return made[0] if made else None


@owner_only
@require_POST
def backup_now(request: StudioRequest) -> HttpResponse:
    """Make one; whoever has much to copy is not kept waiting."""
    row = _in_time(lambda: back_up(Kind.HAND), request.studio, "backup by hand")
    if row is None:
        messages.info(request, "The copy is being made. It stands here when it was read back.")
    elif row.good:
        say(request, f"Backed up: {queries.sentence(row, request.studio)}.")
    else:
        messages.error(request, " ".join(row.wrong))
    return redirect("backups")


@owner_only
@require_safe
def backup_copy(request: StudioRequest, name: str) -> HttpResponse:
    """One copy: what is in it beside what is there now, and the way back to it."""
    size = _size_of(name)
    row = remembered(name)
    context = {
        "name": name,
        "row": row,
        "size": size,
        "inside": queries.read_inside(row, request.studio),
        "possible": asked.is_possible(),
        **_asked(request.studio),
    }
    return render(request, "backup/copy.html", context)


@owner_only
@require_POST
def backup_look(request: StudioRequest, name: str) -> HttpResponse:
    """Restore it for real into a place that goes again, and compare."""
    _size_of(name)
    row = remembered(name)

    def look() -> Backup:
        night.try_out(row)
        return row

    looked = _in_time(look, request.studio, "look into a copy")
    if looked is None:
        messages.info(request, "It is being looked into. Open this page again in a minute.")
    elif looked.test_wrong:
        messages.error(request, " ".join(looked.test_wrong))
    return redirect("backup-copy", name)


@owner_only
@require_POST
@fresh_password
def backup_put_back(request: StudioRequest, name: str) -> HttpResponse:
    """Ask for it; the next start does it."""
    _size_of(name)
    row = remembered(name)
    if row.tested_at and not row.test_wrong and asked.is_possible():
        actions.ask_to_put_back(studio=request.studio, by=request.user, name=name)
    else:
        messages.error(request, "Look inside it first.")
    return redirect("backup-copy", name)


@owner_only
@require_POST
def backup_take_back(request: StudioRequest) -> HttpResponse:
    actions.take_back(studio=request.studio, by=request.user)
    say(request, "Nothing is put back.")
    return redirect("backups")


def _asked(studio: Profile) -> dict[str, object]:
    there = asked.load()
    return {"asked": there, "goes_back": there and queries.waiting_words(there, studio)}


def _size_of(name: str) -> int:
    """Of a copy that is there. Raises Http404."""
    try:
        return shelf.sizes()[name]
    except KeyError:
        raise Http404 from None


@owner_only
@fresh_password_for_file
@require_safe
def backup_file(request: StudioRequest, name: str) -> FileResponse:
    _size_of(name)
    return FileResponse(shelf.read(name), as_attachment=True, filename=name)


@sensitive_post_parameters()
@owner_only
@fresh_password
def backup_place(request: StudioRequest) -> HttpResponse:
    """The second place: nothing, a folder, or a store; ``place`` of the address says which."""
    kept = options.load()
    kind = request.GET.get("place", kept.place)
    data = request.POST if request.method == "POST" else None
    initial = vars(kept) | {"secret_key": ""}
    form: forms.Form | None = None
    if kind == "folder":
        form = FolderForm(data, initial=initial)
    elif kind == "s3":
        form = StoreForm(data, initial=initial, kept=kept)
    if data is not None and (form is None or form.is_valid()):
        facts = {name: value for name, value in form.cleaned_data.items() if value} if form else {}
        chosen = actions.without_place(kept)
        if form and kind == "s3" and not facts.get("secret_key"):
            facts["secret_key"] = kept.secret_key
        try:
            actions.set_place(
                studio=request.studio, by=request.user,
                chosen=replace(chosen, place=kind if form else "", **facts),
            )  # fmt: skip
        except BackupError as error:
            if form:
                form.add_error(None, str(error))
        else:
            say(request, "Second place: saved.")
            return redirect("backups")
    context = {"form": form, "kind": kind, "kept": kept}
    return render(request, "backup/place.html", context)


@sensitive_post_parameters()
@owner_only
@fresh_password
def backup_passphrase(request: StudioRequest) -> HttpResponse:
    form = PassphraseForm(request.POST or None)
    if request.method == "POST" and "open" in request.POST:
        actions.set_passphrase(studio=request.studio, by=request.user, passphrase="")
        say(request, "Copies are made without a passphrase now.")
        return redirect("backups")
    if request.method == "POST" and form.is_valid():
        passphrase = form.cleaned_data["passphrase"]
        actions.set_passphrase(studio=request.studio, by=request.user, passphrase=passphrase)
        say(request, "Passphrase: saved. Write it down where the copies are not.")
        return redirect("backups")
    context = {"form": form, "kept": options.load()}
    return render(request, "backup/passphrase.html", context)


@owner_only
@fresh_password_for_file
@require_safe
def everything(request: StudioRequest) -> FileResponse:
    """All of the studio as tables, pictures and papers, for another program."""
    file = write_everything(request.studio)
    name = f"studio-as-tables-{clock.today():%Y-%m-%d}.zip"
    return FileResponse(file, as_attachment=True, filename=name)
