"""What a make is sewn from, and what is carried from it into a pattern."""

from uuid import uuid4

from jobs.makes import verbs
from jobs.makes.ideas import actions as ideas
from jobs.makes.patterns import actions as patterns
from tests import factories as f
from tests.jobs.makes.history_cases import a_make, add_case


def sewn_from_two():
    """A make with a first and a further pattern, each with a size and a change."""
    make = a_make(pattern=f.PatternFactory(), size="42")
    f.FurtherPatternFactory(make=make, size="40", changes="Collar 1 cm higher")
    return make


def a_further_pattern():
    return sewn_from_two().further_patterns.get()


add_case(
    verbs.GIVE_PATTERN,
    lambda: (a_make(), f.PatternFactory()),
    lambda two, by: ideas.use_pattern(make=two[0], pattern=two[1], size="M", by=by),
)
add_case(
    verbs.GIVE_PATTERN,
    lambda: (sewn_from_two(), f.PatternFactory()),
    lambda two, by: ideas.use_pattern(make=two[0], pattern=two[1], size="M", by=by),
)
add_case(
    verbs.SAY_OF_PATTERN,
    sewn_from_two,
    lambda make, by: ideas.use_pattern(make=make, pattern=make.pattern, size="44", by=by),
)
add_case(
    verbs.SAY_OF_PATTERN,
    a_further_pattern,
    lambda row, by: ideas.use_pattern(make=row.make, pattern=row.pattern, changes="None", by=by),
)
add_case(
    verbs.SPARE_PATTERN,
    sewn_from_two,
    lambda make, by: ideas.spare_pattern(make=make, pattern=make.pattern, by=by),
)
add_case(
    verbs.SPARE_PATTERN,
    a_further_pattern,
    lambda row, by: ideas.spare_pattern(make=row.make, pattern=row.pattern, by=by),
)


def one_among_others():
    make = sewn_from_two()
    f.MakeFactory()
    return make


add_case(
    verbs.SEW_AGAIN,
    one_among_others,
    lambda make, by: ideas.sew_again(make=make, form_key=uuid4(), by=by),
)


def carried_before():
    """What was carried in from a make that now says something else."""
    make = sewn_from_two()
    f.PatternVersionFactory(pattern=make.pattern, make=make)
    return make


add_case(
    verbs.CARRY_IN,
    carried_before,
    lambda make, by: patterns.carry_in(pattern=make.pattern, make=make, by=by),
)


def a_version():
    return carried_before().versions.get()


add_case(
    verbs.TAKE_CHANGE_OUT,
    a_version,
    lambda version, by: patterns.take_change_out(version=version, by=by),
)
