"""Address book cards: vCard 4.0 (RFC 6350) out; 4.0, 3.0 (RFC 2426) and phones' 2.1 in."""

from clients.vcard.reading import read_cards
from clients.vcard.writing import write_cards

__all__ = ["read_cards", "write_cards"]
