"""The slate is read and written without Django's request or database."""

from hypothesis import given
from hypothesis import strategies as st

from jobs.counter.dropoff.slate import MOST_GARMENTS, MOST_LINES, read

TYPED = st.dictionaries(
    st.sampled_from(["colour", "amount", "kind", "marks"]),
    st.lists(st.text(max_size=8), min_size=1, max_size=3),
    min_size=1,
)
GARMENTS = st.lists(st.tuples(TYPED, st.lists(TYPED, max_size=3)), max_size=4)


@given(GARMENTS)
def test_what_is_written_reads_back_as_it_was(garments):
    posted = {"event": ["wedding"]}
    for i, (typed, lines) in enumerate(garments):
        posted |= {f"g{i}-{name}": values for name, values in typed.items()}
        for j, line in enumerate(lines):
            posted |= {f"g{i}-l{j}-{name}": values for name, values in line.items()}

    slate = read(posted.items())

    assert dict(slate.flat().lists()) == posted
    assert [(g.typed, [line.typed for line in g.lines]) for g in slate.garments] == garments


def test_gaps_in_the_count_close():
    slate = read([("g7-colour", ["red"]), ("g2-colour", ["blue"]), ("g7-l4-note", ["left leg"])])

    assert dict(slate.flat().lists()) == {
        "g0-colour": ["blue"],
        "g1-colour": ["red"],
        "g1-l0-note": ["left leg"],
    }


def test_names_of_no_garment_stay_with_the_ticket():
    slate = read([("g0-", ["x"]), ("gx-colour", ["x"]), ("g1234-colour", ["x"]), ("note", ["x"])])

    assert slate.garments == []
    assert set(slate.typed) == {"g0-", "gx-colour", "g1234-colour", "note"}


def test_more_than_anybody_brings_is_left_out():
    many = [(f"g{i}-l{j}-note", ["x"]) for i in range(60) for j in range(30)]

    slate = read(many)

    assert len(slate.garments) == MOST_GARMENTS
    assert {len(garment.lines) for garment in slate.garments} == {MOST_LINES}


def test_a_place_that_is_no_number_is_nobodys():
    slate = read([("g0-colour", ["red"]), ("g0-l0-note", ["x"])])

    assert slate.garment("0") is slate.garments[0]
    assert slate.line("0", "0") is slate.garments[0].lines[0]
    for nonsense in ("", "-1", "1", "x", "9" * 5000):
        assert slate.garment(nonsense) is None
        assert slate.line("0", nonsense) is None
