"""The demo studio's own sewing: cloth, patterns, ideas, what was made this year, one release."""

from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

from jobs.makes import pictures
from jobs.makes.drawer import actions as drawer
from jobs.makes.ideas import actions as ideas
from jobs.makes.lengths import Bare, ClothLength, parse_cloth
from jobs.makes.models import Cloth, Cost, Erratum, Fate, Make, Pattern, Picture, State, Tester
from jobs.makes.releases import actions as releases
from jobs.makes.shelf import actions as shelf
from jobs.planning.models import BenchTime
from studio.demo.drawing import sketch, swatch
from studio.demo.life import Life
from studio.demo.own_things import (
    DRAWER,
    MADE,
    STAGES,
    STUFFS,
    TESTERS,
    WALL,
    Drawn,
    Stuff,
    Thought,
)
from studio.shop import clock
from studio.shop.pictures import redraw

SITTINGS = 4
"""Times at the bench that one make took."""


def sew_for_oneself(life: Life) -> None:
    """Half of the studio is nobody's but the owner's."""
    today = clock.local(life.now).date()
    cloths = {stuff.name: _lay_down(life, stuff, today) for stuff in STUFFS}
    patterns = {drawn.name: _put_in_the_drawer(drawn) for drawn in DRAWER}
    _make_things(life, cloths["Navy wool"], today)
    for back, thought in enumerate(WALL, 1):
        moment = clock.at(today - timedelta(days=6 * back), time(20))
        with clock.pretend(moment):
            _hang(life, thought, cloths, patterns, today)
    _release(life, today)


def _length(text: str, bare: Bare = "m") -> ClothLength:
    return parse_cloth(text, bare)


def _lay_down(life: Life, stuff: Stuff, today: date) -> Cloth:
    width = _length(stuff.width)
    told = {name: Decimal(value) if name.startswith("shrink") else value
            for name, value in stuff.facts.items()}  # fmt: skip
    facts = told | {
        "name": stuff.name,
        "kind": stuff.kind,
        "colour": stuff.colour,
        "width_mm": width.mm,
        "width_typed": width.typed,
        "bought_on": today - timedelta(days=stuff.ago),
    }
    return shelf.add_cloth(
        facts=facts,
        length=_length(stuff.length),
        by=life.owner,
        form_key=life.key(),
        swatch=redraw(swatch(stuff.colour)),
    )


def _put_in_the_drawer(drawn: Drawn) -> Pattern:
    widest = _length(drawn.widest) if drawn.widest else None
    facts = {
        "name": drawn.name,
        "maker": "Larkfield Sewing Room",
        "garment": drawn.garment,
        "kinds": [str(kind) for kind in drawn.kinds],
        "minutes": drawn.minutes,
        "stops": drawn.stops,
        "widest_mm": widest.mm if widest else None,
        "widest_typed": widest.typed if widest else "",
    }
    needs = [_need(width, length) for width, length in drawn.needs.items()]
    picture = _sketch(drawn.garment, "grey")
    return drawer.add_pattern(facts=facts, needs=needs, picture=picture)


def _need(width: str, length: str) -> drawer.NeedRow:
    wide, long = _length(width), _length(length)
    return drawer.NeedRow(wide.mm, wide.typed, long.mm, long.typed, long.unit)


def _sketch(kind: str, colour: str) -> Picture:
    return pictures.keep(redraw(sketch(kind, colour)), drawn=True)


def _make_things(life: Life, wool: Cloth, today: date) -> None:
    """Four makes at even distances through the year, the last of them on a whim."""
    first = date(today.year, 1, 1)
    span = (today - first).days
    for place, (words, shape, colour, cut, learnt, fate) in enumerate(MADE, 1):
        day = first + timedelta(days=span * place // (len(MADE) + 1))
        with clock.pretend(clock.at(day, time(19))):
            picture = _sketch(shape, colour)
            if place == len(MADE):
                ideas.made_on_a_whim(words=words, form_key=life.key(), pictures=[picture])
                continue
            make = _new(life, words, heat=4, kind=shape, whom="myself")
            _own_times(make, before=clock.now())
            if cut:
                key, length = life.key(), _length(cut)
                shelf.cut(cloth=wool, length=length, make=make, by=life.owner, form_key=key)
            ideas.finish(make=make, picture=picture, learnt=learnt)
            ideas.set_fate(make=make, fate=Fate(fate))


def _new(life: Life, words: str, **facts: Any) -> Make:
    step = ideas.add_idea(words=words, form_key=life.key(), **facts)
    return Make.objects.get(pk=step.make)


def _own_times(make: Make, before: datetime) -> None:
    """The latest hours of own sewing before then, as far as no make has them, were for this one."""
    times = BenchTime.objects.filter(purpose="own", make=None, started_at__lt=before)
    taken = times.order_by("-started_at").values("pk")[:SITTINGS]
    BenchTime.objects.filter(pk__in=[row["pk"] for row in taken]).update(make=make)


def _hang(
    life: Life,
    thought: Thought,
    cloths: dict[str, Cloth],
    patterns: dict[str, Pattern],
    today: date,
) -> None:
    """A card on the wall. The one for a concert is planned like a promise."""
    facts = dict(thought.facts)
    if "minutes" in facts:
        facts |= {"wear_by": today + timedelta(days=16), "planned": True}
    make = _new(
        life,
        thought.words,
        heat=thought.heat,
        pattern=patterns.get(thought.pattern),
        cloth=cloths.get(thought.cloth),
        length=_length(thought.length) if thought.length else None,
        pictures=[_sketch("dress", "rust")] if thought.heat == 5 else [],
        **facts,
    )
    if thought.state != State.IDEA:
        ideas.move_card(make=make, to=thought.state)
    if thought.state == State.UNDER_WAY:
        _own_times(make, before=life.now)


def _release(life: Life, today: date) -> None:
    """A wrap skirt of the studio's own: drafted, sewn in calico, graded, and with its testers."""
    with clock.pretend(life.now - timedelta(days=180)):
        release = releases.start_release(
            name="Larkfield wrap skirt",
            target_on=today + timedelta(days=70),
            price=1200,
            fee_percent=Decimal("6.5"),
            rate=3000,
        )
    rows = list(BenchTime.objects.filter(purpose="release").order_by("started_at"))
    stages = list(release.stages.all())
    done = [done for _, _, done in STAGES].count(True)
    for place, (stage, (name, minutes, is_done)) in enumerate(zip(stages, STAGES, strict=True)):
        releases.change_stage(stage=stage, name=name, minutes=minutes)
        mine = rows[len(rows) * place // (done + 1) : len(rows) * (place + 1) // (done + 1)]
        for row in mine if place <= done else []:
            row.stage = stage
        if is_done:
            ends = mine[-1].started_at if mine else life.now - timedelta(days=60)
            with clock.pretend(ends):
                releases.set_done(stage=stage, done=True)
    BenchTime.objects.bulk_update(rows, ["stage"])
    for name, size, sent, back in TESTERS:
        releases.write_row(
            Tester,
            release=release,
            name=name,
            size=size,
            sent_on=today - timedelta(days=sent),
            back_on=today - timedelta(days=back) if back else None,
            report="The waist tie is a hand too short." if back else "",
        )
    releases.write_row(
        Erratum,
        release=release,
        words="The notches of the overlap are one size off",
        found_on=today - timedelta(days=20),
    )
    releases.write_row(
        Cost,
        release=release,
        words="Calico for toiles",
        amount=2800,
        day=today - timedelta(days=90),
    )
