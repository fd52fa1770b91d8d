"""What of an agreement may still change until it is initialled or superseded: marks, initials."""

import hashlib
import json
from dataclasses import dataclass
from datetime import datetime

from jobs.tickets.marks.queries import Marked, marked_photos
from jobs.tickets.models import Agreement, Initials


@dataclass(frozen=True)
class AgreementState:
    """The marks that the client could see with this version, and the initials, if given."""

    marked: tuple[Marked, ...]
    initials: Initials | None

    @classmethod
    def of(cls, agreement: Agreement) -> "AgreementState":
        """Three queries at most."""
        initials = Initials.objects.filter(agreement=agreement).first()
        until = initials.at if initials else _superseded_at(agreement)
        return cls(tuple(marked_photos(agreement.ticket, until)), initials)

    @property
    def key(self) -> str:
        """The same for the same state, 64 letters."""
        spots = [[spot.pk for spot in marked.spots] for marked in self.marked]
        facts = json.dumps([self.initials.pk if self.initials else None, spots])
        return hashlib.sha256(facts.encode()).hexdigest()

    @property
    def ink(self) -> bytes:
        """The PNG of initials that were drawn on the glass; none where its file is gone."""
        if not (self.initials and self.initials.file):
            return b""
        try:
            with self.initials.file.open("rb") as file:
                return bytes(file.read())
        except OSError:
            return b""


def _superseded_at(agreement: Agreement) -> datetime | None:
    later = agreement.ticket.agreements.filter(version=agreement.version + 1).first()
    return later.agreed_at if later else None
