"""The doctor asks for the last copy too."""

from studio.backup import asked
from studio.backup.queries import read_state, waiting_words
from studio.shop.doctor import Finding, check
from studio.shop.models import Profile


@check
def last_backup(studio: Profile) -> Finding:
    state = read_state(studio)
    words = " ".join(filter(None, (f"{state.headline}.", state.words)))
    way = "Make one" if state.wrong else ""
    return Finding("Backup", not state.wrong, words, way, "backups" if state.wrong else "")


@check
def restore_that_waits(studio: Profile) -> Finding:
    there = asked.load()
    if there is None:
        return Finding("Restore", True, "No copy waits to be put back.")
    words = there.wrong or waiting_words(there, studio)
    return Finding("Restore", False, words, "Look at it", "backups")
