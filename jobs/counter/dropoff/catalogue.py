"""What the price list, the tax and the week have to say today, read once for the whole page."""

from collections.abc import Iterable
from dataclasses import dataclass

from jobs.counter.dropoff.slate import Slate
from jobs.pricing.models import GarmentKind, Operation, PriceRules, Surcharge
from jobs.pricing.queries import counter_list
from studio.shop import clock
from studio.shop.models import Profile
from studio.shop.taxes import TaxError, TaxFacts, tax_for


@dataclass(frozen=True)
class Catalogue:
    """Keys are text, as pages post them.

    ``operations`` holds those of the list and any other that the slate still names.
    """

    kinds: dict[str, GarmentKind]
    operations: dict[str, Operation]
    surcharges: list[Surcharge]
    rules: PriceRules
    taxes: dict[str, TaxFacts | None]
    tax_trouble: str = ""

    def offered(self, kind: str) -> list[Operation]:
        """The operations that the list offers on a kind of garment, in its order."""
        found = self.kinds.get(kind)
        return list(found.operations.all()) if found else []


def load(studio: Profile, slate: Slate) -> Catalogue:
    """Read everything in a number of queries that does not grow with the slate."""
    kinds = {str(kind.pk): kind for kind in counter_list()}
    listed = {str(work.pk): work for kind in kinds.values() for work in kind.operations.all()}
    taxes: dict[str, TaxFacts | None] = {}
    trouble = ""
    for wear in ("worn", "new"):
        try:
            taxes[wear] = tax_for(studio, wear, clock.today())
        except TaxError as wrong:
            taxes[wear], trouble = None, str(wrong)
    return Catalogue(
        kinds=kinds,
        operations={**listed, **_unlisted(slate, listed)},
        surcharges=list(Surcharge.objects.filter(active=True)),
        rules=PriceRules.load(),
        taxes=taxes,
        tax_trouble=trouble,
    )


def _unlisted(slate: Slate, listed: Iterable[str]) -> dict[str, Operation]:
    """Operations taken off the list while the form lay open."""
    named = {line.typed.text("operation") for garment in slate.garments for line in garment.lines}
    missing = [int(pk) for pk in named.difference(listed) if pk.isdecimal() and len(pk) < 19]
    return {str(pk): work for pk, work in Operation.objects.in_bulk(missing).items()}
