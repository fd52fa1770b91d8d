"""Each verb of releases, done once."""

from decimal import Decimal
from uuid import uuid4

from jobs.makes import verbs
from jobs.makes.models import Cost, Erratum, Sale, Tester
from jobs.makes.releases import actions as releases
from studio.shop import clock
from studio.shop.files import parse_csv
from studio.shop.models import Profile
from tests import factories as f
from tests.jobs.makes.history_cases import DAY, add_case, photograph


def a_stage(**facts):
    """The first of three."""
    first = f.StageFactory(**facts)
    f.StageFactory.create_batch(2, release=first.release)
    return first


add_case(
    verbs.GUESS_STAGES,
    a_stage,
    lambda stage, by: releases.guess_stages(
        release=stage.release, guesses={stage.pk: 240}, done={stage.pk}, by=by
    ),
)
add_case(
    verbs.ADD_TO_RELEASE,
    lambda: (f.ReleaseFactory(), f.MakeFactory()),
    lambda two, by: releases.add_to_release(
        release=two[0], sample=two[1], photos=[photograph()], by=by
    ),
)


def a_release_that_is_shown():
    release = f.ReleaseFactory(picture=f.PictureFactory())
    release.samples.add(f.MakeFactory())
    release.pictures.add(release.picture)
    return release


add_case(
    verbs.TAKE_FROM_RELEASE,
    a_release_that_is_shown,
    lambda release, by: releases.take_from_release(
        release=release, sample=release.samples.get(), picture=release.picture, by=by
    ),
)
add_case(
    verbs.START_RELEASE,
    lambda: None,
    lambda _, by: releases.start_release(name="Wrap skirt", photo=photograph(), by=by),
)
add_case(
    verbs.CHANGE_RELEASE,
    f.ReleaseFactory,
    lambda release, by: releases.change_release(
        release=release, name="Shirt", note="For linen", photo=photograph(), by=by
    ),
)
add_case(
    verbs.PRICE_RELEASE,
    f.ReleaseFactory,
    lambda release, by: releases.price_release(
        release=release, price=1200, fee_percent=Decimal("6.5"), rate=3000, by=by
    ),
)
add_case(
    verbs.PUBLISH, f.ReleaseFactory, lambda release, by: releases.publish(release=release, by=by)
)
add_case(
    verbs.WITHDRAW,
    lambda: f.ReleaseFactory(published_on=DAY),
    lambda release, by: releases.withdraw(release=release, by=by),
)
add_case(
    verbs.PUT_RELEASE_AWAY,
    f.ReleaseFactory,
    lambda release, by: releases.put_away(release=release, away=True, by=by),
)
add_case(
    verbs.TAKE_RELEASE_OUT,
    lambda: f.ReleaseFactory(put_away_at=clock.now()),
    lambda release, by: releases.put_away(release=release, away=False, by=by),
)
add_case(
    verbs.ADD_STAGE,
    f.ReleaseFactory,
    lambda release, by: releases.add_stage(release=release, name="Photographs", by=by),
)
add_case(
    verbs.CHANGE_STAGE,
    a_stage,
    lambda stage, by: releases.change_stage(stage=stage, name="Sketch", minutes=240, by=by),
)
add_case(
    verbs.MOVE_STAGE,
    a_stage,
    lambda stage, by: releases.move_stage(stage=stage, step=1, place=0, by=by),
)
add_case(
    verbs.TICK_STAGE, a_stage, lambda stage, by: releases.set_done(stage=stage, done=True, by=by)
)
add_case(
    verbs.UNTICK_STAGE,
    lambda: a_stage(done_at=clock.now()),
    lambda stage, by: releases.set_done(stage=stage, done=False, by=by),
)
add_case(
    verbs.TAKE_STAGE_OFF, a_stage, lambda stage, by: releases.take_stage_off(stage=stage, by=by)
)

ROWS = {
    Tester: (f.TesterFactory, {"name": "A. M.", "sent_on": DAY}),
    Erratum: (f.ErratumFactory, {"words": "Sleeve notch", "found_on": DAY}),
    Cost: (f.CostFactory, {"words": "Printing", "amount": 4500, "day": DAY}),
}
for kind, (factory, facts) in ROWS.items():
    add_case(
        verbs.ADD_ROW[kind],
        f.ReleaseFactory,
        lambda release, by, kind=kind, facts=facts: releases.write_row(
            kind, release=release, by=by, **facts
        ),
    )
    add_case(
        verbs.CHANGE_ROW[kind],
        factory,
        lambda row, by, facts=facts: releases.change_row(row, by=by, **facts),
    )
add_case(
    verbs.CHANGE_ROW[Sale],
    f.SaleFactory,
    lambda sale, by: releases.change_row(sale, by=by, copies=7, net=6300),
)
for verb, factory in zip(
    verbs.TAKE_ROW_OFF.values(),
    (f.TesterFactory, f.ErratumFactory, f.CostFactory, f.SaleFactory),
    strict=True,
):
    add_case(verb, factory, lambda row, by: releases.take_row_off(row, by=by))
add_case(
    verbs.SELL,
    f.ReleaseFactory,
    lambda release, by: releases.sell(
        release=release, day=DAY, copies=2, net=1800, form_key=uuid4(), by=by
    ),
)
add_case(
    verbs.IMPORT_SALES,
    f.ReleaseFactory,
    lambda release, by: releases.import_sales(
        release=release,
        rows=parse_csv("day,copies,without tax\n2026-03-01,2,18.00\n2026-03-01,1,9.00\n"),
        studio=Profile.objects.get(),
        by=by,
    ),
)
