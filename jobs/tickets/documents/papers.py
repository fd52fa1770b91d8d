"""The papers of one agreement, as the ticket's page asks for them."""

import hashlib
import json
from dataclasses import dataclass, replace
from datetime import datetime

from jobs.tickets.cautions import bench_care
from jobs.tickets.documents.layouts import (
    Facts,
    agreement,
    claim_ticket,
    marked_photographs,
    photographs,
    slip,
    tags,
    ticket_facts,
    work_sheet,
)
from jobs.tickets.models import Agreement, AgreementSheet, Initials
from jobs.tickets.queries import Marked, marked_photos
from studio.shop import paper
from studio.shop.models import Profile, StoredPaper
from studio.shop.paper import Document, issued_paper


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


@dataclass(frozen=True)
class TicketPapers:
    """The papers of one agreement, all from its frozen data.

    What is ``stored`` is rendered once, stored and the same ever after; it shows the money. The
    others are rendered each time, and show it only with ``figures``. Sizes of paper are those the
    ``studio`` has now. Codes lead to ``address``, the ticket's page.
    """

    agreement: Agreement
    studio: Profile
    address: str
    figures: bool = True

    @property
    def claim_name(self) -> str:
        return f"Claim ticket {self.agreement}"

    @property
    def press_name(self) -> str:
        return f"Claim ticket and tags {self.agreement}"

    def stored_agreement(self) -> StoredPaper:
        """The agreement, stored for each state: with these marks, without or with initials."""
        state = AgreementState.of(self.agreement)
        sheet, _ = AgreementSheet.objects.get_or_create(agreement=self.agreement, state=state.key)
        shown = replace(self, figures=True)
        return issued_paper(
            sheet, "paper", f"Agreement {self.agreement}", lambda: shown.sheet(state)
        )

    def sheet(self, state: AgreementState) -> bytes:
        """The agreement as it stands in ``state``."""
        document = agreement(
            self._facts(),
            page=self.studio.paper,
            shown=marked_photographs(state.marked),
            initials=state.initials,
            ink=state.ink,
        )
        return paper.write([document], title=f"Agreement {self.agreement}")

    def stored_claim(self) -> StoredPaper:
        return issued_paper(
            self.agreement, "paper", self.claim_name, replace(self, figures=True).claim
        )

    def stored_press(self) -> StoredPaper:
        return issued_paper(
            self.agreement, "press", self.press_name, replace(self, figures=True).press
        )

    def claim(self) -> bytes:
        """The claim ticket on the studio's sheet."""
        claim = claim_ticket(self._facts(), page=self.studio.paper)
        return paper.write([claim], title=self.claim_name)

    def press(self) -> bytes:
        """The claim ticket, on the sheet or the roll as the studio likes it, then every tag."""
        facts = self._facts()
        if self.studio.claim_paper == Profile.ClaimPaper.ROLL:
            claim = slip(facts)
        else:
            claim = claim_ticket(facts, page=self.studio.paper)
        return paper.write([claim, *self._tags()], title=self.press_name)

    def slip(self) -> bytes:
        """The client's part for the 80 mm roll."""
        return paper.write([slip(self._facts())], title=self.claim_name)

    def tags(self) -> bytes:
        return paper.write(self._tags(), title=f"Tags {self.agreement}")

    def work_sheet(self) -> bytes:
        ticket = self.agreement.ticket
        shown = marked_photographs(marked_photos(ticket))
        pictures = photographs(ticket, besides=[photograph.marked.photo.pk for photograph in shown])
        care = bench_care(ticket, self.studio)
        document = work_sheet(
            self._facts(), page=self.studio.paper, pictures=pictures, care=care, shown=shown
        )
        return paper.write([document], title=f"Work sheet {self.agreement}")

    def _tags(self) -> list[Document]:
        shown = {
            letter: first for letter, (first, *_) in photographs(self.agreement.ticket).items()
        }
        return tags(self._facts(), page=self.studio.tag_paper, pictures=shown)

    def _facts(self) -> Facts:
        """Without figures neither prices nor the words that may speak of them."""
        agreement, figures = self.agreement, self.figures
        return {
            **ticket_facts(agreement.data, address=self.address, figures=figures),
            "agreed_at": agreement.agreed_at,
            "replaces": agreement.version - 1,
            "delta": agreement.delta if figures else "",
            "reason": agreement.reason if figures else "",
        }
