"""The doctor proves the sealed book too."""

from jobs.billing.sealed_book import prove
from studio.shop.doctor import Finding, check
from studio.shop.models import Profile


@check
def the_sealed_book(_studio: Profile) -> Finding:
    proof = prove()
    if proof.flaws:
        words = (
            f"{proof.flaws[0]} {len(proof.flaws)} in all." if proof.flaws[1:] else proof.flaws[0]
        )
        way = "manage.py prove says all; restore a backup."
        return Finding("The sealed book", False, words, way)
    if not proof.sealed:
        return Finding("The sealed book", True, "Nothing has been invoiced or paid yet.")
    words = f"{proof.sealed} invoices, credit notes and receipts are as they were written."
    return Finding("The sealed book", True, words)
