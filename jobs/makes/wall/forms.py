"""What the wall sends: where a card goes, what shall be done with several, a pile's name."""

from typing import Any

from django import forms

from jobs.makes.ideas.actions import NOT_PUT_AWAY
from jobs.makes.models import Cloth, Make, MakeState, Pattern, Pile
from jobs.makes.year.seasons import Season, season_of, seasons_of
from studio.shop import clock
from studio.shop.forms import StudioFormMixin
from studio.shop.models import Profile

STATES = {state.value: state for state in NOT_PUT_AWAY}


class AreaField(forms.CharField):
    """The key of an area: a state such as ``lined_up``, ``idea`` (loose), or ``pile-3``."""

    def clean(self, value: Any) -> Pile | MakeState | None:
        key = super().clean(value)
        if not key:
            return None
        if key in STATES:
            return STATES[key]
        pk = key.removeprefix("pile-")
        pile = Pile.objects.filter(pk=pk).first() if pk != key and pk.isdecimal() else None
        if pile is None:
            raise forms.ValidationError("This pile is not there any more.")
        return pile


class ArrangeForm(forms.Form):
    """One card to an area, before another one, from where it was taken."""

    make = forms.ModelChoiceField(Make.objects.all())
    to = AreaField()
    before = forms.ModelChoiceField(Make.objects.all(), required=False)
    source = AreaField(required=False)
    also = forms.BooleanField(required=False)


class TrayForm(forms.Form):
    """Cloth or a pattern for a card."""

    make = forms.ModelChoiceField(Make.objects.all())
    cloth = forms.ModelChoiceField(Cloth.objects.filter(gone_at=None), required=False)
    pattern = forms.ModelChoiceField(Pattern.objects.filter(gone_at=None), required=False)


class PickField(forms.Field):
    """Ticked tiles, each the key of a make and of the area it was ticked in: ``12@pile-3``."""

    widget = forms.SelectMultiple

    def clean(self, value: Any) -> list[tuple[Make, Pile | MakeState | None]]:
        parted = [str(pick).partition("@") for pick in value or []]
        picks = [parts for parts in parted if parts[0].isdecimal()]
        makes = Make.objects.in_bulk([int(pk) for pk, _, _ in picks])
        areas = AreaField(required=False)
        known = [(makes[int(pk)], areas.clean(key)) for pk, _, key in picks if int(pk) in makes]
        if not known:
            raise forms.ValidationError("Tick a picture first.")
        return known


def coming_seasons(studio: Profile) -> list[Season]:
    """This one and what follows, to the end of next year."""
    today, winter = clock.today(), studio.winter_begins
    now = season_of(today, winter)
    return [
        row
        for year in (now.year, now.year + 1)
        for row in seasons_of(year, winter)
        if row.first >= now.first
    ]


class TidyForm(StudioFormMixin, forms.Form):
    """Several at once: to a pile or a new one, with cloth, or one of the buttons."""

    DO = (("move", "Move"), ("top", "To the top"), ("rest", "Let rest"), ("let_go", "Let go"))

    pick = PickField()
    to = AreaField(required=False)
    also = forms.BooleanField(required=False)
    new_pile = forms.CharField(max_length=60, required=False)
    season = forms.TypedChoiceField(required=False, empty_value=None)
    cloth = forms.ModelChoiceField(Cloth.objects.filter(gone_at=None), required=False)
    do = forms.ChoiceField(choices=DO, required=False)

    def __init__(self, *args: Any, studio: Profile, **kwargs: Any) -> None:
        super().__init__(*args, studio=studio, **kwargs)
        seasons = {row.first.isoformat(): row for row in coming_seasons(studio)}
        field = self.fields["season"]
        field.choices = [(key, str(row)) for key, row in seasons.items()]  # type: ignore[attr-defined]
        field.coerce = seasons.__getitem__  # type: ignore[attr-defined]


class PileForm(forms.Form):
    name = forms.CharField(label="Name of the pile", max_length=60)
