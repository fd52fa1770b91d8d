"""The room's tables: clients, and their bodies' measures."""

from clients.models.client import FACTS, MOST_NOTES, Client, ClientMerge, ClientQuerySet, name_key
from clients.models.sheet import Measured, MeasureRange, Sheet

__all__ = [
    "FACTS",
    "MOST_NOTES",
    "Client",
    "ClientMerge",
    "ClientQuerySet",
    "MeasureRange",
    "Measured",
    "Sheet",
    "name_key",
]
