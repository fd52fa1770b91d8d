"""The buttons of the drop-off page: what each changes of what stands in the fields.

Each says its intent in words: ``add-garment:<kind>``, ``add-line:<garment>:<operation>``,
``more:<garment>:<line>`` and so on; garments and lines go by the number in their fields' names.
What fits nothing changes nothing. The functions return the id of the element that the cursor goes
to.
"""

import re
from collections.abc import Iterable

from django.http import QueryDict
from django.utils.dateparse import parse_date

from clients.queries import find_clients
from jobs.counter.dropoff.desk import DropOffDesk, row_numbers, write
from jobs.counter.dropoff.forms import FURTHEST, MOST_GARMENTS, MOST_LINES, MOST_PIECES
from jobs.tickets.quoting import TicketDraft
from studio.shop import clock
from studio.shop.text import digits

DAY_CHOSEN = "yes"
OTHER = "other"
FIRST_KIND = "first-kind"
PHONE = re.compile(r"\+?[\d(][\d\s()/.\-]*\d")
FEWEST_DIGITS = 3


def choose_day(data: QueryDict) -> bool:
    """Let the day that was tapped or written last be the promise; whether one was."""
    if "shown_day" not in data:
        return False
    tapped, shown = data.get("day", ""), data["shown_day"]
    if tapped and tapped != shown:
        data["promise_day"] = tapped
    elif data.get("promise_day", "") == shown:
        return False
    data["chosen"] = DAY_CHOSEN
    return True


def day_given(day: str) -> str:
    """A day that a link brought along, as the page writes it; empty for anything else."""
    try:
        parsed = parse_date(day)
    except ValueError:
        parsed = None
    today = clock.today()
    return parsed.isoformat() if parsed and today <= parsed <= today + FURTHEST else ""


def press(data: QueryDict, intent: str, desk: DropOffDesk) -> str:
    """Change what was typed as the pressed button asks."""
    verb, *args = intent.split(":")
    row = "g" + "-l".join(args)
    match verb, args:
        case "add-garment", [kind]:
            return add_garment(data, kind, desk)
        case "often", [work] if work in desk.operations:
            garment = next_row(data, "g")
            add_garment(data, str(desk.operations[work].garment_kind_id), desk)
            return add_line(data, garment, work, desk)
        case "add-line", [garment, work]:
            return add_line(data, f"g{garment}", work, desk)
        case "remove-photo", [garment, photo] if f"g{garment}-photos" in data:
            photos = data.getlist(f"g{garment}-photos")
            write(data, f"g{garment}", photos=[pk for pk in photos if pk != photo])
        case (("remove-garment" | "put-back-garment"), [_]) if f"{row}-kind" in data:
            write(data, row, gone="yes" if verb == "remove-garment" else "")
        case (("remove-line" | "put-back-line"), [_, _]) if f"{row}-operation" in data:
            write(data, row, gone="yes" if verb == "remove-line" else "")
        case (("more" | "fewer"), [_, _]) if f"{row}-operation" in data:
            # Words and enormous numbers in the box count as one piece.
            now = int(digits(data.get(f"{row}-quantity", ""))[:3] or 1)
            step = 1 if verb == "more" else -1
            write(data, row, quantity=min(max(now + step, 1), MOST_PIECES))
        case _ if not desk.standing:
            return press_who(data, verb, args)
    return ""


def press_who(data: QueryDict, verb: str, args: list[str]) -> str:
    """Choose a client, make one, or choose again."""
    typed = data.get("q", "").strip()
    match verb, args:
        case (("client" | "again"), [pk]) if pk.isdecimal():
            return choose(data, pk)
        case (("enter" | "find"), []) if typed:
            clients = find_clients(typed)
            if len(clients) == 1:
                return choose(data, str(clients[0].pk))
            return "first-match" if clients else "new-client"
        case "new-client", []:
            # What was typed goes where it fits; the cursor goes to what is still missing.
            name, phone = split_typed(data.get("q", ""))
            write(data, client="", new="yes", new_name=name, new_phone=phone)
            return "id_new_name" if not name else "id_new_phone" if not phone else FIRST_KIND
        case "other-client", []:
            write(data, client="", new="")
            return "id_q"
    return ""


def choose(data: QueryDict, pk: str) -> str:
    write(data, client=pk, new="", q="")
    return FIRST_KIND


def split_typed(text: str) -> tuple[str, str]:
    """``Mary Larkin 086 555 0143`` is a name and a phone number; either may be missing.

    The longest run of digits, with the marks that phone numbers are written with, is the number.
    """
    runs = [run for run in PHONE.finditer(text) if len(digits(run[0])) >= FEWEST_DIGITS]
    run = max(runs, key=lambda run: len(digits(run[0])), default=None)
    name = f"{text[: run.start()]} {text[run.end() :]}" if run else text
    return " ".join(name.split()).strip(" ,;"), run[0].strip() if run else ""


def next_row(data: QueryDict, prefix: str) -> str:
    """The prefix of the row after the last."""
    return f"{prefix}{max(row_numbers(data, prefix), default=-1) + 1}"


def add_garment(data: QueryDict, kind: str, desk: DropOffDesk) -> str:
    """A garment of this kind; ``other`` is one that the list does not know, named by hand."""
    by_hand = kind == OTHER and desk.sees_money
    full = len(row_numbers(data, "g")) >= MOST_GARMENTS
    if full or not (kind in desk.kinds or by_hand):
        return ""
    prefix = next_row(data, "g")
    write(data, prefix, kind="" if by_hand else kind, worn="worn")
    return f"id_{prefix}-kind_name" if by_hand else f"{prefix}-first"


def add_line(data: QueryDict, garment: str, work: str, desk: DropOffDesk) -> str:
    """An operation on the garment. Price and minutes stay empty: the list's of today hold."""
    by_hand = work == OTHER and desk.sees_money
    full = len(row_numbers(data, f"{garment}-l")) >= MOST_LINES
    if full or f"{garment}-kind" not in data or not (work in desk.operations or by_hand):
        return ""
    prefix = next_row(data, f"{garment}-l")
    if by_hand:
        write(data, prefix, operation="", quantity=1, basis="total", measure="take_off")
        return f"id_{prefix}-name"
    operation = desk.operations[work]
    usual = {"basis": operation.usual_basis, "measure": operation.usual_measure}
    write(data, prefix, operation=work, quantity=1, **{k: v for k, v in usual.items() if v})
    return f"id_{prefix}-amount" if operation.takes_amount else f"{garment}-more"


def bring(data: QueryDict, works: Iterable[str], desk: DropOffDesk) -> str:
    """Operations that a link names, each kind of garment once. What is not offered is left out."""
    places: dict[str, str] = {}
    for work in works:
        operation = desk.operations.get(work)
        kind = str(operation.garment_kind_id) if operation else ""
        if kind in desk.kinds:
            if kind not in places:
                places[kind] = next_row(data, "g")
                add_garment(data, kind, desk)
            add_line(data, places[kind], work, desk)
    return "id_q"


def again(data: QueryDict, last: TicketDraft, desk: DropOffDesk) -> str:
    """The garments and operations of last time, at the list's prices of today.

    What the list no longer offers is left out. The cursor goes to the first amount that is missing.
    """
    unmeasured = ""
    for garment in last.garments:
        kind = str(garment.kind_id or "")
        lines = [line for line in garment.lines if str(line.operation_id or "") in desk.operations]
        if kind not in desk.kinds or not lines:
            continue
        garment_row = next_row(data, "g")
        add_garment(data, kind, desk)
        for line in lines:
            row = next_row(data, f"{garment_row}-l")
            cursor = add_line(data, garment_row, str(line.operation_id), desk)
            names = [facts["name"] for facts in line.surcharges]
            offered = [name for name in names if name in desk.surcharges]
            write(data, row, quantity=line.quantity, amount=line.amount_typed, surcharges=offered)
            if line.amount_typed:
                write(data, row, basis=line.basis, measure=line.measure)
            elif cursor == f"id_{row}-amount":
                unmeasured = unmeasured or cursor
    return unmeasured or "save"
