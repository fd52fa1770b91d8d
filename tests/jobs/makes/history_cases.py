"""Each verb of own sewing, done once."""

from datetime import date
from decimal import Decimal
from uuid import uuid4

from jobs.makes import verbs
from jobs.makes.ideas import actions as ideas
from jobs.makes.lengths import parse_cloth
from jobs.makes.lookback import actions as lookback
from jobs.makes.models import (
    Budget,
    Cloth,
    Fate,
    MadeFor,
    Make,
    MakeState,
    Picture,
    Pile,
    Sitting,
)
from jobs.makes.patterns import actions as patterns
from jobs.makes.patterns.actions import NeedRow
from jobs.makes.shelf import actions as shelf
from jobs.makes.shelf.actions import Washing
from jobs.makes.wall import actions as wall
from jobs.makes.year import actions as year
from jobs.makes.year.seasons import Name, season
from studio.shop import clock
from studio.shop.history import record
from studio.shop.pictures import redraw
from tests import factories as f
from tests.history_cases import case
from tests.jobs.makes.ideas.conftest import file_of

DAY = date(2026, 3, 1)


def long(typed):
    return parse_cloth(typed, "m")


def photograph():
    return redraw(file_of("JPEG", "top.jpg"))


LOCK = ("shop.numberseries",)
"""A row of it is the lock by which one comes in at a time; it stays."""


def add_case(verb, ground, act, **facts):
    """A case: the ``ground`` is made, then ``act`` is done with it by the owner."""

    @case(verb, **facts)
    def do(house):
        row = ground()
        yield
        act(row, by=house.owner)


def a_make(**facts):
    """Written on, with a picture and cloth, between two others on the wall."""
    f.MakeFactory()
    make = f.MakeFactory(heat=2, changes="Hem", **facts)
    f.MakeFactory(state=MakeState.UNDER_WAY)
    make.pictures.add(f.PictureFactory(), f.PictureFactory())
    f.ClothPlanFactory(make=make, mm=Decimal("2171.7"), typed="2 3/8 yd")
    return make


def a_plan():
    return a_make().cloth_plans.get()


def a_finished_make():
    return a_make(state=MakeState.FINISHED, finished_on=DAY, fate=Fate.OFTEN)


def add_idea(_, by):
    pictures, cloth = ideas.keep_pictures(photos=[photograph()]), Cloth.objects
    facts = {"words": "Linen top", "form_key": uuid4(), "cloth": cloth.get(), "heat": 3}
    ideas.add_idea(pictures=pictures, length=long("1.6"), by=by, **facts)


def whim(_, by):
    pictures = ideas.keep_pictures(sketch=photograph())
    ideas.made_on_a_whim(words="Tote bag", form_key=uuid4(), pictures=pictures, by=by)


def move_to(state):
    return lambda make, by: ideas.move_card(make=make, to=state, by=by)


add_case(verbs.ADD_IDEA, f.ClothFactory, add_idea)
add_case(verbs.ADD_WHIM, a_make, whim)
add_case(verbs.MOVE_TO[MakeState.UNDER_WAY], a_make, lambda make, by: ideas.start(make=make, by=by))
add_case(verbs.MOVE_TO[MakeState.LINED_UP], a_make, move_to(MakeState.LINED_UP))
add_case(
    verbs.MOVE_TO[MakeState.IDEA], lambda: a_make(state=MakeState.LINED_UP), move_to(MakeState.IDEA)
)


def order_as_older_versions_wrote_it(make, by):
    with record(verbs.MOVE_CARD, about=make, by=by, words=make.words) as step:
        step.keep(make)
        Make.objects.filter(pk=make.pk).update(place=7)


add_case(verbs.MOVE_CARD, a_make, order_as_older_versions_wrote_it)


def a_pile():
    """Two makes in it, after it another pile with one of them, before it an empty one."""
    f.PileFactory()
    pile, other = f.PileFactory(name="Choir"), f.PileFactory()
    for place, make in enumerate([a_make(), f.MakeFactory(place=4)]):
        f.PilePlaceFactory(pile=pile, make=make, place=place)
    f.PilePlaceFactory(pile=other, make=make)
    return pile


def first_of(pile):
    return pile.places.first().make


def arranged(to, **facts):
    """The first card of the pile goes to another area, before the card that lies loose there."""

    def act(pile, by):
        to_area = Pile.objects.last() if to is Pile else to
        wall.arrange(make=first_of(pile), to=to_area, source=pile, by=by, **facts)

    return act


add_case(verbs.TO_PILE, a_pile, arranged(Pile))
add_case(verbs.TO_PILE, a_pile, arranged(Pile, also=True))
add_case(verbs.TO_LOOSE, a_pile, arranged(MakeState.IDEA))
add_case(verbs.MOVE_TO[MakeState.LINED_UP], a_pile, arranged(MakeState.LINED_UP))
add_case(verbs.MOVE_TO[MakeState.RESTING], a_pile, arranged(MakeState.RESTING))
add_case(
    verbs.OUT_OF_PILE,
    a_pile,
    lambda pile, by: wall.take_out(make=first_of(pile), pile=pile, by=by),
)
add_case(
    verbs.ADD_PILE,
    a_make,
    lambda make, by: wall.add_pile(name="Long weekend", makes=[make], by=by),
)
add_case(
    verbs.RENAME_PILE, a_pile, lambda pile, by: wall.rename_pile(pile=pile, name="Party", by=by)
)
add_case(verbs.REMOVE_PILE, a_pile, lambda pile, by: wall.remove_pile(pile=pile, by=by))
add_case(
    verbs.CHOOSE_FACE,
    a_make,
    lambda make, by: ideas.choose_face(make=make, picture=make.pictures.first(), by=by),
)
add_case(
    verbs.SAY_STEP,
    a_make,
    lambda make, by: ideas.say_step(
        make=make, picture=make.pictures.first(), shows=Picture.Step.CUT, by=by
    ),
)
add_case(verbs.PART_PICTURES, a_make, lambda make, by: ideas.part_pictures(make=make, by=by))


def a_drawn_make():
    make = a_make()
    make.pictures.add(f.PictureFactory(drawn=True))
    return make


add_case(
    verbs.REDRAW,
    a_drawn_make,
    lambda make, by: ideas.draw_on(
        make=make, picture=make.pictures.last(), sketch=photograph(), form_key=uuid4(), by=by
    ),
)
add_case(
    verbs.FINISH,
    a_make,
    lambda make, by: ideas.finish(make=make, photo=photograph(), learnt="Much", by=by),
)
add_case(
    verbs.FINISH,
    a_plan,
    lambda plan, by: ideas.finish(make=plan.make, left={plan.cloth: long("0.5")}, by=by),
)
add_case(verbs.LET_GO, a_make, lambda make, by: ideas.let_go(make=make, by=by))
add_case(
    verbs.TAKE_UP,
    lambda: a_make(state=MakeState.LET_GO, let_go_at=clock.now()),
    lambda make, by: ideas.take_up(make=make, by=by),
)
add_case(verbs.TAKE_UP, a_finished_make, lambda make, by: ideas.take_up(make=make, by=by))
add_case(verbs.SET_HEAT, a_make, lambda make, by: ideas.set_heat(make=make, heat=5, by=by))
add_case(
    verbs.SET_FATE,
    a_finished_make,
    lambda make, by: ideas.set_fate(make=make, fate=Fate.GIVEN, by=by),
)
add_case(
    verbs.DESCRIBE,
    a_make,
    lambda make, by: ideas.describe(
        make=make, words="Other", wear_by=DAY, planned=True, minutes=90, by=by
    ),
)
add_case(
    verbs.SEW_FOR,
    lambda: (a_make(whom="Mary"), f.ClientFactory()),
    lambda two, by: ideas.sew_for(make=two[0], client=two[1], by=by),
)
add_case(
    verbs.SEW_FOR_NOBODY,
    lambda: MadeFor.objects.create(make=a_make(), client=f.ClientFactory()).make,
    lambda make, by: ideas.sew_for(make=make, client=None, by=by),
)
add_case(
    verbs.ADD_PICTURES,
    a_make,
    lambda make, by: ideas.add_pictures(
        make=make, form_key=uuid4(), photos=[photograph()], sketch=photograph(), by=by
    ),
)
add_case(
    verbs.TAKE_PICTURE_OFF,
    a_make,
    lambda make, by: ideas.take_picture_off(make=make, picture=make.pictures.first(), by=by),
)
add_case(
    verbs.MEAN_CLOTH,
    lambda: (f.MakeFactory(), f.ClothFactory()),
    lambda two, by: ideas.mean_cloth(make=two[0], cloth=two[1], length=None, by=by),
)
add_case(
    verbs.MEAN_CLOTH,
    a_plan,
    lambda plan, by: ideas.mean_cloth(make=plan.make, cloth=plan.cloth, length=long("1 m"), by=by),
)
add_case(
    verbs.SPARE_CLOTH,
    a_plan,
    lambda plan, by: ideas.spare_cloth(make=plan.make, cloth=plan.cloth, by=by),
)


def answer(given):
    def act(make, by):
        since = clock.now()
        lookback.answer(make=make, answer=given, since=since, by=by)

    return act


for given, verb in verbs.ANSWER.items():
    add_case(verb, a_make, answer(given))


def answered_otherwise():
    make = a_make()
    make.looks.create(answer="unsure", was="idea", at=clock.now())
    return make


add_case(verbs.ANSWER["let_go"], answered_otherwise, answer("let_go"))


def a_pair(*, chosen):
    first, second = f.MakeFactory.create_batch(2)
    if chosen:
        first.pairs_won.create(other=second, at=clock.now())
    return first, second


add_case(
    verbs.CHOOSE,
    lambda: a_pair(chosen=False),
    lambda two, by: lookback.choose(rather=two[0], other=two[1], by=by),
)
add_case(
    verbs.CHOOSE,
    lambda: a_pair(chosen=True),
    lambda two, by: lookback.choose(rather=two[1], other=two[0], by=by),
)


def next_summer():
    """A season that is not over, whatever the day."""
    return season(clock.today().year + 1, Name.SUMMER, 1)


add_case(
    verbs.HOPE, a_make, lambda make, by: year.hope(thing=make, to=next_summer(), by=by), leaves=LOCK
)
add_case(
    verbs.HOPE,
    f.HopeFactory,
    lambda hope, by: year.hope(thing=hope.make, to=next_summer(), by=by),
    leaves=LOCK,
)
add_case(
    verbs.HOPE_SOME_TIME,
    f.HopeFactory,
    lambda hope, by: year.hope(thing=hope.make, to=None, by=by),
    leaves=LOCK,
)
add_case(
    verbs.MISS,
    lambda: None,
    lambda _, by: year.miss(words="Trousers", kind="trousers", days="cold", by=by),
)
add_case(
    verbs.FILL_GAP,
    lambda: (f.GapFactory(), f.MakeFactory()),
    lambda two, by: year.fill(gap=two[0], make=two[1], by=by),
    leaves=LOCK,
)
add_case(
    verbs.RENAME_GAP,
    f.GapFactory,
    lambda gap, by: year.rename_gap(gap=gap, words="Dark trousers, wide", by=by),
)
add_case(
    verbs.MISS_NO_MORE,
    lambda: f.HopeFactory(make=None, gap=f.GapFactory()),
    lambda hope, by: year.miss_no_more(gap=hope.gap, by=by),
    leaves=LOCK,
)


add_case(
    verbs.SET_BUDGETS,
    lambda: Budget.objects.create(year=2026, season="winter", minutes=600),
    lambda _, by: year.set_budgets(
        year=2026,
        seasons={
            Name.WINTER: year.SetAside(minutes=720),
            Name.SPRING: year.SetAside(length=parse_cloth("3 m", "m")),
        },
        by=by,
    ),
    leaves=LOCK,
)


def judge(make, by):
    facts = {"answer": "keep", "whys": ["Fits"], "words": "Still good"}
    year.judge(make=make, sitting=Sitting.objects.get(), by=by, **facts)


def made_and_sat_with():
    year.sit_down(year=2026)
    return a_finished_make()


def judged_before():
    make = made_and_sat_with()
    make.judgements.create(answer="unsure", sitting=Sitting.objects.get(), at=clock.now())
    return make


add_case(verbs.JUDGE, made_and_sat_with, judge)
add_case(verbs.JUDGE, judged_before, judge)


def add_cloth(_, by):
    facts = {"name": "Wool", "width_mm": Decimal(1500), "width_typed": "150 cm", "bought_on": DAY}
    shelf.add_cloth(facts=facts, length=long("2.5"), by=by, form_key=uuid4(), swatch=photograph())


def cut(cloth, by):
    shelf.cut(
        cloth=cloth, length=long("3"), make=Make.objects.get(), by=by,
        form_key=uuid4(),
    )  # fmt: skip


def cloth_and_make():
    f.MakeFactory()
    return f.ClothFactory()


WASHED = {"before": long("3"), "after": long("2.85")}
WIDTHS = {"width_before": long("140 cm"), "width_after": long("136.5 cm")}

add_case(verbs.ADD_CLOTH, lambda: None, add_cloth)
add_case(
    verbs.CHANGE_CLOTH,
    f.ClothFactory,
    lambda cloth, by: shelf.change_cloth(
        cloth=cloth, facts={"bought_on": DAY, "name": "Wool"}, swatch=photograph(), by=by
    ),
)
add_case(verbs.CUT, cloth_and_make, cut)
add_case(
    verbs.PUT_BACK,
    lambda: f.ClothFactory(left_mm=Decimal(0), gone_at=clock.now()),
    lambda cloth, by: shelf.put_back(cloth=cloth, length=long("1"), by=by, form_key=uuid4()),
)
add_case(
    verbs.BRING_MORE,
    lambda: f.ClothFactory(price=900),
    lambda cloth, by: shelf.bring_more(
        cloth=cloth, length=long("1"), paid=500, by=by, form_key=uuid4()
    ),
)
add_case(
    verbs.GIVE_AWAY,
    f.ClothFactory,
    lambda cloth, by: shelf.give_away(cloth=cloth, length=None, by=by, form_key=uuid4()),
)
add_case(
    verbs.MEASURE_AGAIN,
    f.ClothFactory,
    lambda cloth, by: shelf.measure_again(cloth=cloth, length=long("2"), by=by, form_key=uuid4()),
)
add_case(
    verbs.WASH,
    f.ClothFactory,
    lambda cloth, by: shelf.wash(
        cloth=cloth, washed=Washing(**WASHED, **WIDTHS), by=by, form_key=uuid4()
    ),
)
add_case(
    verbs.WASH_TRIAL,
    f.ClothFactory,
    lambda cloth, by: shelf.wash(
        cloth=cloth, washed=Washing(**WASHED, whole=False), by=by, form_key=uuid4()
    ),
)


def need(length, size="M"):
    return NeedRow(Decimal(1400), "140 cm", long(length).mm, length, "m", size)


def a_pattern():
    """Its table names the same size and width as the one that replaces it."""
    pattern = f.PatternFactory()
    f.NeedFactory(pattern=pattern, size="M")
    f.NeedFactory(pattern=pattern, size="L")
    return pattern


add_case(
    verbs.ADD_PATTERN,
    lambda: None,
    lambda _, by: patterns.add_pattern(
        facts={"name": "Coat"}, needs=[need("2 m")], photo=photograph(), by=by
    ),
    leaves=LOCK,
)
add_case(
    verbs.CHANGE_PATTERN,
    a_pattern,
    lambda pattern, by: patterns.change_pattern(
        pattern=pattern,
        facts={"name": "Coat", "minutes": 90},
        needs=[need("2 m"), need("1 m", "S")],
        photo=photograph(),
        by=by,
    ),
)
add_case(
    verbs.PUT_PATTERN_AWAY,
    f.PatternFactory,
    lambda pattern, by: patterns.put_away(pattern=pattern, by=by),
)
add_case(
    verbs.TAKE_PATTERN_BACK,
    lambda: f.PatternFactory(gone_at=clock.now()),
    lambda pattern, by: patterns.take_back(pattern=pattern, by=by),
)
