"""Two windows move pictures at once: one after the other, and none is lost."""

from jobs.makes.models import Make, MakeState
from jobs.makes.wall.actions import arrange
from tests import factories as f
from tests.studio.shop.rush_hour import at_once


def test_two_windows_at_once_lose_no_card(transactional_db, studio, owner):
    makes = [f.MakeFactory(words=str(place), place=place) for place in range(6)]
    pile = f.PileFactory()
    loose = MakeState.IDEA

    def one_window() -> None:
        for make in makes[:3]:
            arrange(make=make, to=pile, source=loose, by=owner)
            arrange(make=make, to=loose, before=makes[5], source=pile, by=owner)

    def another() -> None:
        for make in makes[::-1]:
            arrange(make=make, to=loose, before=makes[0], by=owner)
            arrange(make=make, to=pile, source=loose, also=True, by=owner)

    at_once(one_window, another)
    lying = {make.pk for make in Make.objects.filter(state=loose)}
    assert lying == {make.pk for make in makes}
    places = list(pile.places.values_list("make", "place"))
    assert len({place for _, place in places}) == len(places)
    loose_places = list(Make.objects.filter(piles=None).values_list("place", flat=True))
    assert len(set(loose_places)) == len(loose_places)
