"""The verbs of this room: take a client on, change what is known, make two entries one."""

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from typing import Any

from django.db import transaction
from django.db.models import DO_NOTHING, ManyToOneRel, Q

from clients import verbs
from clients.models import PLACE, Client, Contact, ContactFacts
from clients.queries import alike, more_contacts
from studio.shop import history
from studio.shop.history import record
from studio.shop.models import Entry, User
from studio.shop.numbers import lock

MOST_SHOWN = 8


class AlikeError(Exception):
    """Entries with this name or number are there already, and nobody has looked at them."""

    def __init__(self, clients: list[Client]) -> None:
        self.clients = clients
        super().__init__("A client with this name or phone number is there already.")


def add_client(
    *,
    facts: Mapping[str, Any],
    by: User,
    seen: Collection[int] = (),
    contacts: Iterable[ContactFacts] = (),
) -> Client:
    """A new entry. Sent twice, the second finds the first and refuses.

    ``contacts`` are phones, e-mails and addresses besides the first, which are facts. ``seen`` are
    the keys of the clients that were looked at and are somebody else. Raises AlikeError if there
    are others with the same name or one of the phone numbers.
    """
    client = Client(**facts)
    with record(verbs.ADD, about=client, by=by) as step:
        lock("clients")
        more = more_contacts(client, contacts)
        phones = [client.phone, *(row.value for row in more if row.digits)]
        others = alike(client.name, *phones).exclude(pk__in=seen)
        if unseen := list(others[:MOST_SHOWN]):
            raise AlikeError(unseen)
        client.save()
        step.add(client)
        for row in more:
            row.save()
            step.add(row)
    return client


def change_client(
    *,
    client: Client,
    facts: Mapping[str, Any],
    by: User,
    contacts: Sequence[ContactFacts] | None = None,
) -> Client:
    """Other facts; what was agreed and invoiced keeps the old ones.

    ``contacts`` are all that are to stand besides the first; what is not among them goes. Raises
    GoneError where the entry was merged away or erased.
    """
    with transaction.atomic():
        client = client.locked()
        differing = [name for name, value in facts.items() if getattr(client, name) != value]
        labels = [str(getattr(Client, name).field.verbose_name) for name in differing]
        with record(verbs.CHANGE, about=client, by=by, facts=labels) as step:
            step.keep(client)
            set_facts(client, facts)
            if contacts is not None:
                rows = client.contacts.all()
                step.keep(rows)
                labels += _set_contacts(client, list(rows), contacts)
    return client


def _set_contacts(
    client: Client, rows: list[Contact], contacts: Sequence[ContactFacts]
) -> list[str]:
    """Write what differs; gives the kinds of which something was changed, as they are shown.

    What stands already stays; of what is left, rows become what is new of their kind, in order.
    """
    new, kinds = [facts for facts in contacts if any((facts.value, *facts.place))], []
    loose = []
    for row in rows:
        if row.facts in new:
            new.remove(row.facts)
        else:
            loose.append(row)
    for row in loose:
        kinds.append(row.get_kind_display().lower())
        facts = next((facts for facts in new if facts.kind == row.kind), None)
        if facts is None:
            row.delete()
        else:
            new.remove(facts)
            row.hold(facts).save()
    for facts in new:
        row = Contact(client=client).hold(facts)
        row.save()
        kinds.append(row.get_kind_display().lower())
    return list(dict.fromkeys(kinds))


def prefer(*, contact: Contact, by: User) -> Client:
    """This phone, e-mail or address is the first from now on; the first one takes its place.

    Raises GoneError. Sent twice it would change back: the page names the contact by what it holds.
    """
    with transaction.atomic():
        client = contact.client.locked()
        row = Contact.objects.select_for_update().get(pk=contact.pk)
        with record(verbs.PREFER, about=client, by=by, what=str(row)) as step:
            step.keep(client, row)
            first = client.first(row.kind).facts
            set_facts(client, first_of(row.facts))
            if row.hold(first).is_filled:
                row.save()
            else:
                row.delete()
    return client


def first_of(facts: ContactFacts) -> dict[str, str]:
    """The client's columns for a phone, e-mail or address that is to be the first."""
    if facts.kind == Contact.Kind.ADDRESS:
        return {name: getattr(facts, name) for name in PLACE} | {"address_label": facts.label}
    return {facts.kind: facts.value, f"{facts.kind}_label": facts.label}


def join_household(*, client: Client, other: Client, by: User) -> None:
    """The client belongs to the household of ``other``, with everybody of the client's own.

    Who pays or answers for it stays. Raises GoneError, HouseholdError for one and the same.
    """
    with transaction.atomic():
        client, other = client.locked(), other.locked()
        head = other.household or other
        if client.pk in {other.pk, head.pk} and client.household_id is None:
            raise HouseholdError("Choose somebody else.")
        with record(verbs.HOUSEHOLD, about=(client, head), by=by) as step:
            members = client.household_members.all()
            step.keep(client, members)
            keys = [client.pk, *(member.pk for member in members)]
            _lead(head, keys)


def leave_household(*, client: Client, by: User | None) -> None:
    """The client is alone again; where the client answered for the others, the next one does."""
    with transaction.atomic():
        client = client.locked()
        members = list(client.household_members.present().order_by("pk"))
        with record(verbs.HOUSEHOLD, about=client, by=by) as step:
            step.keep(client, *members)
            Client.objects.filter(pk=client.pk).update(household=None)
            if members:
                _lead(members[0], [member.pk for member in members])


def answer_for_household(*, client: Client, by: User) -> None:
    """From now on this client pays or answers for the household."""
    with transaction.atomic():
        client = client.locked()
        if client.household is None:
            return
        rows = Client.objects.filter(Q(household=client.household) | Q(pk=client.household.pk))
        with record(verbs.HOUSEHOLD, about=client, by=by) as step:
            step.keep(*rows)
            _lead(client, [row.pk for row in rows])


def _lead(head: Client, keys: Collection[int]) -> None:
    Client.objects.filter(pk__in=keys).exclude(pk=head.pk).update(household=head)
    Client.objects.filter(pk=head.pk).update(household=None)


class HouseholdError(Exception):
    """Why a client cannot belong to a household."""


class MergeError(Exception):
    """Why two entries cannot become one, or not be parted again."""


def merge(*, keep: Client, other: Client, by: User, facts: Mapping[str, str]) -> Entry:
    """Everything that belongs to ``other`` moves to ``keep``, whose facts become ``facts``.

    Rows of other rooms are found through the database's own relations. ``other`` stays as an
    empty entry that leads to ``keep``. Sent twice, the second changes nothing. Gives the entry of
    the history that tells of it. Raises MergeError.
    """
    with transaction.atomic():
        both = _locked(keep.pk, other.pk)
        kept, gone = both[keep.pk], both[other.pk]
        if gone.merged_into_id == kept.pk:
            return history.of(gone).filter(verb=verbs.MERGE.key, undone_at=None)[0]
        _check(kept, gone)
        with record(verbs.MERGE, about=(kept, gone), by=by, gone=gone.name) as step:
            step.keep(kept, gone)
            for relation in _relations():
                column = relation.field.name
                # Rows are named by the managers that leave none of them out.
                rows = relation.related_model._base_manager.filter(**{column: gone})  # noqa: SLF001
                step.keep(rows)
                rows.update(**{column: kept})
            firsts = [
                client.first(kind).facts for client in (kept, gone) for kind in Contact.Kind.values
            ]
            set_facts(kept, facts)
            set_facts(gone, {"merged_into": kept})
            # What was not chosen is no first any more, but it is not lost.
            for row in more_contacts(kept, firsts):
                row.save()
                step.add(row)
            _settle_household(kept, gone)
        assert step.entry is not None  # noqa: S101 -- the entry that goes has changed
        return step.entry


def unmerge(*, entry: Entry, by: User) -> tuple[Client, Client]:
    """What the merge moved and changed goes back, exactly; gives who was kept and who is back.

    Merges into one entry are undone from the last. Sent twice, the second changes nothing.
    Raises MergeError, also where something of it was changed since.
    """
    with transaction.atomic():
        entry = Entry.objects.select_for_update().get(pk=entry.pk)
        keys = list(entry.subjects.order_by("pk").values_list("row", flat=True))
        both = _locked(*keys)
        kept, gone = (both[key] for key in keys)
        if entry.undone_at:
            return kept, gone
        if kept.erased_at or gone.erased_at:
            raise MergeError("One of the two was erased since.")
        if kept.merged_into_id or kept.last_merge != entry:
            raise MergeError("There was another merge since. Undo that one first.")
        try:
            history.undo(entry=entry, by=by)
        except history.HistoryError as error:
            raise MergeError(str(error)) from error
        return kept, gone


def _settle_household(kept: Client, gone: Client) -> None:
    """Nobody belongs to their own household, and who answers for one belongs to no other."""
    kept.refresh_from_db(fields=["household"])
    head, members = kept.household_id, kept.household_members.exclude(pk=kept.pk)
    if head is None and not members:
        head = gone.household_id
    head = None if head in {kept.pk, gone.pk} else head
    Client.objects.filter(pk=kept.pk).update(household=head)
    if head:
        members.update(household=head)


def _locked(*keys: int) -> dict[int, Client]:
    return Client.objects.select_for_update().order_by("pk").in_bulk(keys)


def _check(kept: Client, gone: Client) -> None:
    if kept == gone:
        raise MergeError("These are the same entry.")
    for client in (kept, gone):
        if client.merged_into_id or client.erased_at:
            raise MergeError(f"{client} is no longer an entry of its own.")


def _relations() -> Iterator[ManyToOneRel]:
    """Every column of any table that names a client, such as that of tickets.

    The tables between many and many are among them.
    """
    relations = Client._meta.get_fields(include_hidden=True)  # noqa: SLF001 -- documented by Django
    for relation in relations:
        # What only remembers a client stays with the entry of which it spoke.
        if isinstance(relation, ManyToOneRel) and relation.on_delete is not DO_NOTHING:
            yield relation


def set_facts(client: Client, values: Mapping[str, object]) -> None:
    """Write these and no others."""
    for name, value in values.items():
        setattr(client, name, value)
    if values:
        client.save(update_fields=[*values])
