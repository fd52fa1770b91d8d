"""One turn of the drop-off page: the slate comes in, the button acts, everything is read again."""

from dataclasses import dataclass, field
from typing import Any

from jobs.counter.dropoff import dates, intents, opening
from jobs.counter.dropoff import who as client_box
from jobs.counter.dropoff.catalogue import Catalogue, load
from jobs.counter.dropoff.checks import (
    Problem,
    check_days,
    check_missing,
    notices,
    problems,
)
from jobs.counter.dropoff.dates import Dates
from jobs.counter.dropoff.pictures import keep_pictures
from jobs.counter.dropoff.reader import Reader, form_key
from jobs.counter.dropoff.reading import Reading, Standing
from jobs.counter.dropoff.slate import Slate, read
from jobs.counter.dropoff.who import Who
from jobs.pricing.quote import explain
from studio.shop.http import StudioRequest
from studio.shop.models import Profile
from studio.shop.money import format_money
from studio.shop.week import Week, load_week

BRING = "bring"


@dataclass
class Page:
    """Everything the templates show. ``who`` is None where the client stands already.

    ``day_moved`` says that the day of the promise is another than its field was sent with.
    """

    slate: Slate
    reading: Reading
    catalogue: Catalogue
    who: Who | None
    week: Week
    dates: Dates
    standing: Standing | None = None
    touched: list[int] = field(default_factory=list)
    day_moved: bool = False

    def problems(self) -> list[Problem]:
        return problems(self.reading)

    def context(self, studio: Profile, *, shows_errors: bool) -> dict[str, Any]:
        found = self.problems()
        if shows_errors and found:
            self.slate.focus = found[0].target
        put_focus(self.reading, self.slate.focus)
        explain_lines(self.reading, studio)
        return {
            "slate": self.slate,
            "reading": self.reading,
            "catalogue": self.catalogue,
            "who": self.who,
            "standing": self.standing,
            "focus": self.slate.focus,
            "problems": found if shows_errors else [],
            "worth_a_look": notices(self.reading, self.week),
            "dates": self.dates,
            "day_moved": self.day_moved,
            "touched": self.touched,
        }


def turn(request: StudioRequest, slate: Slate, intent: str, standing: Standing | None) -> Page:
    """Let the pressed button act on the slate, then read the result."""
    sees_money, written = request.user.is_owner, slate.typed.text("promise_day")
    picked = dates.choose(slate)
    touched = keep_pictures(slate, request.FILES, form_key(slate, standing))
    catalogue = load(request.studio, slate)
    if not standing:
        client_box.apply(slate, intent)
    intents.apply(slate, intent, catalogue, sees_money=sees_money)
    who = None if standing else client_box.look(slate)
    if intent == "again" and who and who.last:
        opening.again(slate, who.last, catalogue)
    elif intent.startswith(BRING):
        opening.bring(slate, intent.split(":")[1:], catalogue)
    reader, week = Reader(request.studio, catalogue, sees_money, standing), load_week()
    garments = reader.garments(slate)
    answer = dates.ask(slate, garments, request.studio, standing)
    if not standing:
        dates.propose(slate, answer, request.studio, week, picked=picked)
    reading = reader.read(slate, garments)
    check_days(reading, standing)
    shown = dates.show(answer, reading.ticket.cleaned_data.get("promise_day"), request.studio)
    moved = slate.typed.text("promise_day") != written
    page = Page(slate, reading, catalogue, who, week, shown, standing, touched, moved)
    if intent == "save":
        check_missing(reading, who, sees_money=sees_money)
    elif intent == "enter" and not slate.focus and reading.quote and not page.problems():
        slate.focus = "save"
    return page


def posted(request: StudioRequest) -> Slate:
    return read(request.POST.lists())


def put_focus(reading: Reading, target: str) -> None:
    """The cursor goes to the field with this id; buttons are the templates' business."""
    for form in reading.forms():
        for bound in form:
            if target in {bound.auto_id, f"{bound.auto_id}_0"}:
                bound.field.widget.attrs["autofocus"] = True
                return


def explain_lines(reading: Reading, studio: Profile) -> None:
    """How each line's price comes, in one sentence."""

    def show(minor: int) -> str:
        return format_money(minor, studio.currency, studio.locale)

    for garment in reading.standing:
        for line in garment.standing_lines:
            if line.quoted:
                line.steps = explain(line.quoted, show)
