"""Dull things of the owner's own sewing; ``tests.factories`` is the door to them."""

from datetime import date
from decimal import Decimal
from uuid import uuid4

import factory
from factory.django import DjangoModelFactory

from jobs.makes.models import (
    Cloth,
    ClothMove,
    ClothPlan,
    Cost,
    Erratum,
    FurtherPattern,
    Gap,
    Hope,
    Make,
    Need,
    Pattern,
    PatternVersion,
    Picture,
    Pile,
    PilePlace,
    Release,
    Sale,
    Stage,
    Tester,
)
from studio.shop import clock


class PictureFactory(DjangoModelFactory):
    """A square of one colour, eight by eight."""

    class Meta:
        model = Picture

    file = factory.django.ImageField(width=8, height=8, color="teal", format="JPEG")
    width = 8
    height = 8


class ClothFactory(DjangoModelFactory):
    """Three metres, 140 cm wide, with the move that brought them in."""

    class Meta:
        model = Cloth
        skip_postgeneration_save = True

    name = factory.Sequence(lambda n: f"Linen {n}")
    width_mm = Decimal(1400)
    width_typed = "140 cm"
    left_mm = Decimal(3000)

    @factory.post_generation
    def moves(cloth, create, extracted, **kwargs):  # noqa: N805 -- factory-boy hands on the object
        if create and cloth.left_mm:
            shown = {"mm": cloth.left_mm, "typed": f"{cloth.left_mm / 1000} m"}
            ClothMoveFactory(**{"cloth": cloth} | shown | kwargs)


class ClothMoveFactory(DjangoModelFactory):
    class Meta:
        model = ClothMove

    cloth = factory.SubFactory(ClothFactory)
    why = ClothMove.Why.BOUGHT
    mm = Decimal(1000)
    typed = "1 m"
    day = factory.LazyFunction(clock.today)
    by = factory.SubFactory("tests.factories.UserFactory")
    form_key = factory.LazyFunction(uuid4)


class PatternFactory(DjangoModelFactory):
    class Meta:
        model = Pattern

    name = factory.Sequence(lambda n: f"Wrap skirt {n}")


class NeedFactory(DjangoModelFactory):
    """2.10 m of cloth that is 140 cm wide."""

    class Meta:
        model = Need

    pattern = factory.SubFactory(PatternFactory)
    width_mm = Decimal(1400)
    width_typed = "140 cm"
    length_mm = Decimal(2100)
    length_typed = "2.1 m"
    unit = Cloth.Unit.METRE


class MakeFactory(DjangoModelFactory):
    class Meta:
        model = Make

    words = factory.Sequence(lambda n: f"Summer dress {n}")
    added_at = factory.LazyFunction(clock.now)


class FurtherPatternFactory(DjangoModelFactory):
    class Meta:
        model = FurtherPattern

    make = factory.SubFactory(MakeFactory)
    pattern = factory.SubFactory(PatternFactory)


class PatternVersionFactory(DjangoModelFactory):
    class Meta:
        model = PatternVersion

    pattern = factory.SubFactory(PatternFactory)
    words = "Sleeves 3 cm longer"
    carried_at = factory.LazyFunction(clock.now)


class PileFactory(DjangoModelFactory):
    class Meta:
        model = Pile

    name = factory.Sequence(lambda n: f"Choir {n}")
    place = factory.Sequence(lambda n: n)


class PilePlaceFactory(DjangoModelFactory):
    class Meta:
        model = PilePlace

    pile = factory.SubFactory(PileFactory)
    make = factory.SubFactory(MakeFactory)


class ClothPlanFactory(DjangoModelFactory):
    class Meta:
        model = ClothPlan

    make = factory.SubFactory(MakeFactory)
    cloth = factory.SubFactory(ClothFactory)


class ReleaseFactory(DjangoModelFactory):
    class Meta:
        model = Release

    name = factory.Sequence(lambda n: f"Larkfield shirt {n}")


class StageFactory(DjangoModelFactory):
    class Meta:
        model = Stage

    release = factory.SubFactory(ReleaseFactory)
    name = factory.Sequence(lambda n: f"Stage {n}")
    place = factory.LazyAttribute(lambda stage: stage.release.stages.count())


class TesterFactory(DjangoModelFactory):
    class Meta:
        model = Tester

    release = factory.SubFactory(ReleaseFactory)
    name = factory.Sequence(lambda n: f"Tester {n}")


class ErratumFactory(DjangoModelFactory):
    class Meta:
        model = Erratum

    release = factory.SubFactory(ReleaseFactory)
    words = "The notches of the sleeve are one size off"
    found_on = factory.LazyFunction(clock.today)


class CostFactory(DjangoModelFactory):
    class Meta:
        model = Cost

    release = factory.SubFactory(ReleaseFactory)
    words = "Cloth for toiles"
    amount = 2500
    day = factory.LazyFunction(clock.today)


class SaleFactory(DjangoModelFactory):
    class Meta:
        model = Sale

    release = factory.SubFactory(ReleaseFactory)
    day = factory.LazyFunction(clock.today)
    copies = 1
    net = 900
    row_key = factory.LazyFunction(lambda: str(uuid4()))


class GapFactory(DjangoModelFactory):
    class Meta:
        model = Gap

    words = factory.Sequence(lambda n: f"Warm dark trousers {n}")
    kind = Gap.Kind.TROUSERS
    days = Gap.Days.COLD
    added_at = factory.LazyFunction(clock.now)


class HopeFactory(DjangoModelFactory):
    """A make that is hoped for in the spring of 2026, of calendar quarters."""

    class Meta:
        model = Hope

    make = factory.SubFactory(MakeFactory)
    year = 2026
    season = "spring"
    begins = date(2026, 4, 1)
    since = factory.LazyFunction(clock.now)
