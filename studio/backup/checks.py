"""The doctor asks for the last copy too."""

from django.conf import settings

from studio.backup.queries import read_state
from studio.shop.doctor import Finding, check
from studio.shop.models import Profile


@check
def last_backup(studio: Profile) -> Finding:
    if settings.DEMO:
        return Finding("Backup", True, "The demo keeps no copies.")
    state = read_state(studio)
    words = f"{state.headline}. {state.words}".strip()
    way = "Make one" if state.wrong else ""
    return Finding("Backup", not state.wrong, words, way, "backups" if state.wrong else "")
