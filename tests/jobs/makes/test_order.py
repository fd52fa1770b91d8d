"""Places of rows in a line, against a plain list."""

from dataclasses import dataclass

from hypothesis import given
from hypothesis import strategies as st

from jobs.makes.order import put_before


@dataclass
class Card:
    name: int
    place: int = 0

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Card) and other.name == self.name

    __hash__ = None


@given(
    st.lists(st.integers(-3, 3), max_size=8),
    st.lists(st.tuples(st.integers(0, 9), st.integers(-1, 9)), max_size=12),
)
def test_it_stands_where_a_list_would_have_it(places, moves):
    """Equal places, as an older studio may have them, and cards from elsewhere included."""
    cards = [Card(name, place) for name, place in enumerate(sorted(places))]
    expected = [card.name for card in cards]
    for name, before in moves:
        if name == before:
            continue
        card = next((card for card in cards if card.name == name), Card(name))
        neighbour = next((card for card in cards if card.name == before), None)
        put_before(cards, card, neighbour)
        cards = sorted(
            {other.name: other for other in [*cards, card]}.values(), key=lambda c: c.place
        )
        expected = [other for other in expected if other != name]
        expected.insert(expected.index(before) if before in expected else len(expected), name)
        assert [other.name for other in cards] == expected


def test_on_top_nobody_else_moves():
    cards = [Card(name, name) for name in range(200)]
    assert put_before(cards, cards[-1], cards[0]) == [cards[-1]]
    assert cards[-1].place == -1
