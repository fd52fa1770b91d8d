"""What is done in own sewing, as the history tells it, and what follows when it is undone."""

from functools import partial

from django.core.files.storage import default_storage
from django.db import transaction

from jobs.makes.models import (
    Cost,
    Erratum,
    Hope,
    Make,
    MakeState,
    Need,
    Picture,
    Pile,
    PilePlace,
    Sale,
    Tester,
    small_file_of,
)
from studio.shop import clock
from studio.shop.history import Step, Undo, Verb, after_undo, before_undo, fields

THINGS = (
    "make",
    "gap",
    "budget",
    "pile",
    "look",
    "cloth",
    "pattern",
    "release",
    "stage",
    "tester",
    "erratum",
    "cost",
    "sale",
    "time",
)
"""What the verbs begin with that are read and taken back here; bench time is the week's."""

ADD_IDEA = Verb("make.add", "Kept: {words}")
ADD_WHIM = Verb("make.whim", "Made already: {words}")
MOVE_TO = {
    MakeState.IDEA: Verb("make.to_ideas", "Back among the ideas: {words}"),
    MakeState.LINED_UP: Verb("make.line_up", "Planned next: {words}"),
    MakeState.UNDER_WAY: Verb("make.start", "Under way: {words}"),
    MakeState.RESTING: Verb("make.rest", "Resting: {words}"),
}
MOVE_CARD = Verb("make.order", "Moved on the wall: {words}")
"""Only older versions wrote down mere order."""
TO_PILE = Verb("make.pile", "In {pile}: {words}")
OUT_OF_PILE = Verb("make.pile_off", "No more in {pile}: {words}")
TO_LOOSE = Verb("make.loose", "Loose: {words}")
FINISH = Verb("make.finish", "Finished: {words}")
LET_GO = Verb("make.let_go", "Let go: {words}")
TAKE_UP = Verb("make.take_up", "Taken up again: {words}")
SET_HEAT = Verb("make.heat", "How keen: {words}")
SET_FATE = Verb("make.fate", "{fate}: {words}")
DESCRIBE = Verb("make.describe", "Changed: {words}")
SEW_FOR = Verb("make.whom", "For {client}: {words}")
SEW_FOR_NOBODY = Verb("make.whom_off", "Not for {client} any more: {words}")
ADD_PICTURES = Verb("make.picture", "Picture kept: {words}")
CHOOSE_FACE = Verb("make.face", "{picture} is the face: {words}")
SAY_STEP = Verb("make.step", "{picture} shows: {step}. {words}")
PART_PICTURES = Verb("make.part", "One idea each: {count}")
REDRAW = Verb("make.redraw", "Drawn on: {words}")
TAKE_PICTURE_OFF = Verb("make.picture_off", "{picture} removed: {words}")
MEAN_CLOTH = Verb("make.cloth", "{cloth} is meant for {words}")
SPARE_CLOTH = Verb("make.cloth_off", "{cloth} is free: {words}")
GIVE_PATTERN = Verb("make.pattern", "{pattern} is meant for {words}")
SAY_OF_PATTERN = Verb("make.pattern_change", "Changed: {pattern} for {words}")
SPARE_PATTERN = Verb("make.pattern_off", "{pattern} is not meant for {words} any more")
SEW_AGAIN = Verb("make.again", "To be sewn again: {words}")

ADD_PILE = Verb("pile.add", "New pile: {pile}")
RENAME_PILE = Verb("pile.change", "The pile is now called {pile}")
REMOVE_PILE = Verb("pile.off", "Pile removed: {pile}")

ANSWER = {
    "rest": Verb("look.rest", "Rests: {words}"),
    "keep": Verb("look.keep", "Keep: {words}"),
    "unsure": Verb("look.unsure", "Not sure: {words}"),
    "let_go": Verb("look.let_go", "Let go: {words}"),
}
CHOOSE = Verb("look.choose", "{rather} rather than {other}")

HOPE = Verb("make.hope", "Hoped for in {season}: {words}")
SET_BUDGETS = Verb("budget.set", "Hours and cloth set aside for the seasons of {year}")
HOPE_SOME_TIME = Verb("make.some_time", "Some time: {words}")
MISS = Verb("gap.miss", "Missing: {words}")
FILL_GAP = Verb("gap.fill", "{words} is to be what was missing: {gap}")
RENAME_GAP = Verb("gap.rename", "Missing, said anew: {words}")
MISS_NO_MORE = Verb("gap.drop", "Missing no more: {words}")
JUDGE = Verb("make.judge", "{answer}: {words}")

ADD_CLOTH = Verb("cloth.add", "On the shelf: {cloth}")
CHANGE_CLOTH = Verb("cloth.change", "Changed: {cloth}")
BRING_MORE = Verb("cloth.more", "More of it: {typed}")
CUT = Verb("cloth.cut", "Cut: {typed}")
PUT_BACK = Verb("cloth.back", "Put back: {typed}")
GIVE_AWAY = Verb("cloth.give", "Given away: {typed}")
MEASURE_AGAIN = Verb("cloth.measure", "Measured again: {cloth}")
WASH = Verb("cloth.wash", "Washed: {cloth}")
WASH_TRIAL = Verb("cloth.trial", "A piece washed as a trial: {cloth}")

ADD_PATTERN = Verb("pattern.add", "{pattern} is in the drawer")
CHANGE_PATTERN = Verb("pattern.change", "Changed: {pattern}")
PUT_PATTERN_AWAY = Verb("pattern.away", "Left the drawer: {pattern}")
TAKE_PATTERN_BACK = Verb("pattern.back", "Back in the drawer: {pattern}")
CARRY_IN = Verb("pattern.carry_in", "Carried into {pattern}: {change}")
TAKE_CHANGE_OUT = Verb("pattern.take_out", "Taken out of {pattern} again: {change}")

START_RELEASE = Verb("release.start", "A new release: {release}")
CHANGE_RELEASE = Verb("release.change", "Changed: {release}")
PRICE_RELEASE = Verb("release.money", "Price and fees changed: {release}", money=True)
PUBLISH = Verb("release.publish", "Published: {release}")
WITHDRAW = Verb("release.withdraw", "Not published after all: {release}")
PUT_RELEASE_AWAY = Verb("release.away", "Put away: {release}")
TAKE_RELEASE_OUT = Verb("release.out", "Taken out again: {release}")
ADD_STAGE = Verb("stage.add", "One more stage: {stage}")
CHANGE_STAGE = Verb("stage.change", "Stage changed: {stage}")
MOVE_STAGE = Verb("stage.order", "Stage moved: {stage}")
GUESS_STAGES = Verb("stage.guess", "Guesses and stages changed: {release}")
ADD_TO_RELEASE = Verb("release.belongs", "Belongs to it now: {release}")
TAKE_FROM_RELEASE = Verb("release.belongs_off", "Belongs to it no more: {release}")
TICK_STAGE = Verb("stage.done", "Done: {stage}")
UNTICK_STAGE = Verb("stage.not_done", "Not done after all: {stage}")
TAKE_STAGE_OFF = Verb("stage.off", "Removed: {stage}")
ADD_ROW = {
    Tester: Verb("tester.add", "Tester: {row}"),
    Erratum: Verb("erratum.add", "Something wrong: {row}"),
    Cost: Verb("cost.add", "Money spent: {row}", money=True),
}
CHANGE_ROW = {
    Tester: Verb("tester.change", "Tester changed: {row}"),
    Erratum: Verb("erratum.change", "Erratum changed: {row}"),
    Cost: Verb("cost.change", "Cost changed: {row}", money=True),
    Sale: Verb("sale.change", "Sale changed: {row}", money=True),
}
TAKE_ROW_OFF = {
    Tester: Verb("tester.off", "Tester removed: {row}"),
    Erratum: Verb("erratum.off", "Erratum removed: {row}"),
    Cost: Verb("cost.off", "Cost removed: {row}", money=True),
    Sale: Verb("sale.off", "Sale removed: {row}", money=True),
}
SELL = Verb("sale.add", "Sold: {copies} on {day:day}", money=True)
IMPORT_SALES = Verb("sale.import", "Brought in: {rows}", money=True)

LISTS = {
    ADD_IDEA: "own",
    ADD_WHIM: "own",
    SEW_AGAIN: "own",
    ADD_CLOTH: "cloth-list",
    ADD_PATTERN: "pattern-list",
    START_RELEASE: "releases",
}
"""Where to go when one of these is undone, and the page of what it added is gone."""

# Other cards push a card about; its place is put back all the same.
fields(Make, loose=("place",))
fields(PilePlace, loose=("place",))
fields(Pile, loose=("place",))


@before_undo
def _make_room_in_the_table(back: Undo) -> None:
    """Rows of an envelope's table that came go last: until then they stand in nobody's way."""
    for change in back.of(Need):
        if change.was is None:
            Need.objects.filter(pk=change.pk).update(width_mm=-change.pk)


@before_undo
def _hope_for_one_season(back: Undo) -> None:
    """A thing is hoped for once: what the step began ends before what it ended stands again."""
    for change in back.of(Hope):
        if change.was is None:
            Hope.objects.filter(pk=change.pk).update(until=clock.now())


@after_undo
def _sweep_files(back: Undo, _step: Step) -> None:
    """The files of a picture that came with the step go with its row, once that is certain."""
    for change in back.of(Picture):
        if change.was is None and change.now:
            for file in (change.now["file"], small_file_of(change.now["file"])):
                transaction.on_commit(partial(default_storage.delete, file))
