"""What the owner sets about copies. Both are files of the data folder; see ``options``."""

from dataclasses import replace

from studio.backup import asked, options, second, verbs
from studio.backup.options import Options
from studio.shop.history import note
from studio.shop.models import Profile, User


def set_place(*, studio: Profile, by: User, chosen: Options) -> None:
    """Copies go there too from the next one on. Raises BackupError where it cannot be used."""
    place = second.place_of(chosen)
    if place is not None:
        place.claim()
    options.save(chosen)
    where = {"folder": chosen.folder, "s3": f"{chosen.bucket} at {chosen.endpoint}"}
    note(
        verbs.SECOND_PLACE,
        about=studio,
        by=by,
        where=where.get(chosen.place, "no second place"),
    )


def set_passphrase(*, studio: Profile, by: User, passphrase: str) -> None:
    """Lock later copies with it, or with none. Earlier copies stay as they are."""
    options.set_passphrase(passphrase)
    note(verbs.LOCKED if passphrase else verbs.UNLOCKED, about=studio, by=by)


def ask_to_put_back(*, studio: Profile, by: User, name: str) -> None:
    """The copy takes the place of the data at the next start."""
    asked.save(asked.AskedRestore(name))
    note(verbs.ASKED, about=studio, by=by, copy=name)


def take_back(*, studio: Profile, by: User) -> None:
    """Nothing is put back after all, or what was said of a try is read. Twice is once."""
    if there := asked.load():
        asked.forget()
        note(verbs.TAKEN_BACK, about=studio, by=by, copy=there.name)


def without_place(opts: Options) -> Options:
    """The same options with no second place, and no key to one."""
    empty = Options()
    names = ("place", "folder", "endpoint", "region", "bucket", "subfolder", "access_key")
    return replace(opts, secret_key="", **{name: getattr(empty, name) for name in names})
