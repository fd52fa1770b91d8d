"""The doctor asks for the last copy too."""

from studio.backup.queries import read_state
from studio.shop.doctor import Finding, check
from studio.shop.models import Profile


@check
def last_backup(studio: Profile) -> Finding:
    state = read_state(studio)
    words = " ".join(filter(None, (f"{state.headline}.", state.words)))
    way = "Make one" if state.wrong else ""
    return Finding("Backup", not state.wrong, words, way, "backups" if state.wrong else "")
