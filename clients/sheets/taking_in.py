"""Many sheets at once, from a file."""

from dataclasses import dataclass

from django.db import transaction

from clients.actions import held
from clients.entries import Entry
from clients.models import Client
from clients.sheets.actions import take_sheet
from clients.sheets.incoming import sort_out
from studio.shop.models import Profile, User


@dataclass(frozen=True)
class Taken:
    """How many sheets were added, and how many were here already."""

    added: int
    here: int


def take_in(*, client: Client, by: User, studio: Profile, entries: list[Entry]) -> Taken:
    """Add the sheets that are not here yet; all of them or none.

    Sent twice, the second finds every sheet here. Raises GoneError and SheetError.
    """
    with transaction.atomic():
        client = held(client)
        found = sort_out(entries, client=client, studio=studio)
        new = [one for one in found if not one.here]
        for one in new:
            take_sheet(
                client=client,
                by=by,
                facts=one.form.facts(),
                lengths=one.form.lengths(),
                form_key=one.form.cleaned_data["form_key"],
            )
        return Taken(len(new), len(found) - len(new))
