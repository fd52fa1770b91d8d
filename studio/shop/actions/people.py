"""Logins: who is let in, and who no longer is."""

from django.db import transaction

from studio.shop.models import User


class LastOwnerError(Exception):
    """Somebody must be able to open every page."""


def add_person(*, username: str, first_name: str, password: str, role: str) -> User:
    """A new login. The form has checked that the name is free and the password a good one."""
    with transaction.atomic():
        return User.objects.create_user(
            username, password=password, first_name=first_name, role=role
        )


def set_password(*, person: User, password: str) -> None:
    """A new password; all sessions that were opened with the old one end."""
    with transaction.atomic():
        person.set_password(password)
        person.save(update_fields=["password"])


def show_out(*, person: User) -> None:
    """The login stops working at once and its sessions end; what the person did stays on record.

    Raises LastOwnerError for the last owner who can still log in.
    """
    with transaction.atomic():
        owners = User.objects.select_for_update().filter(role=User.Role.OWNER, is_active=True)
        if {owner.pk for owner in owners} == {person.pk}:
            raise LastOwnerError("This is the only owner who can log in.")
        person.is_active = False
        person.save(update_fields=["is_active"])


def let_back(*, person: User) -> None:
    with transaction.atomic():
        person.is_active = True
        person.save(update_fields=["is_active"])
