"""The addresses of own sewing; make, release and record show hours: their pages are planning's."""

from collections.abc import Iterator

from django.urls import include, path
from django.urls.resolvers import URLPattern

from jobs.makes import undo
from jobs.makes.ideas import capture, card
from jobs.makes.ideas import views as ideas
from jobs.makes.lookback import views as lookback
from jobs.makes.models import Cloth, Make, Pattern, Release
from jobs.makes.patterns import views as patterns
from jobs.makes.releases import views as releases
from jobs.makes.shelf import views as shelf
from jobs.makes.wall import views as wall
from jobs.makes.year import gaps
from jobs.makes.year import views as sitting
from studio.shop.http import View, owner_only

IDEAS = [
    path("", wall.wall, name="own"),
    path("arrange/", wall.arrange, name="own-arrange"),
    path("give/", wall.give, name="own-give"),
    path("tidy/", wall.tidy, name="own-tidy"),
    path("piles/new/", wall.pile_new, name="pile-new"),
    path("piles/<int:pk>/", wall.pile_edit, name="pile"),
    path("ideas/new/", ideas.idea_new, name="idea-new"),
    path("ideas/draw/", capture.draw, name="idea-draw"),
    path("ideas/<int:pk>/kept/", capture.kept, name="idea-kept"),
    path("share/", capture.share, name="idea-share"),
    path("whim/", ideas.whim, name="whim"),
    path("undo/", undo.undo, name="own-undo"),
    path("pictures/<int:pk>/", ideas.picture, name="own-picture"),
    path("pictures/<int:pk>/small/", ideas.picture_small, name="own-picture-small"),
    path("makes/<int:pk>/changes/", undo.changes, {"model": Make}, name="make-changes"),
    path("makes/<int:pk>/edit/", ideas.edit, name="make-edit"),
    path("makes/<int:pk>/finish/", ideas.finish, name="make-finish"),
    path("makes/<int:pk>/pictures/", ideas.picture_add, name="make-picture"),
    path("makes/<int:pk>/pictures/<int:picture>/off/", ideas.picture_off, name="make-picture-off"),
    path("makes/<int:pk>/pictures/<int:picture>/draw/", capture.draw_on, name="make-draw"),
    path("makes/<int:pk>/pictures/<int:picture>/", card.picture_says, name="make-picture-says"),
    path("makes/<int:pk>/draw/", capture.draw_on, name="make-sketch"),
    path("makes/<int:pk>/say/", card.say, name="make-say"),
    path("makes/<int:pk>/cut/", card.cut_cloth, name="make-cut"),
    path("makes/<int:pk>/whom/", card.whom, name="make-whom"),
    path("makes/<int:pk>/cloth/", card.cloth, name="make-cloth"),
    path("makes/<int:pk>/cloth/<int:cloth>/off/", ideas.cloth_off, name="make-cloth-off"),
    path("makes/<int:pk>/patterns/", card.pattern, name="make-pattern"),
    path("makes/<int:pk>/patterns/<int:pattern>/", card.pattern_edit, name="make-pattern-edit"),
    path("makes/<int:pk>/patterns/<int:pattern>/off/", card.pattern_off, name="make-pattern-off"),
    path("makes/<int:pk>/again/", card.make_again, name="make-again"),
    path("makes/<int:pk>/pile/", card.pile, name="make-pile"),
    path("makes/<int:pk>/season/", card.season, name="make-season"),
    path("makes/<int:pk>/start/", ideas.take, {"verb": "start"}, name="make-start"),
    path("makes/<int:pk>/made/", ideas.take, {"verb": "made"}, name="make-made"),
    path("makes/<int:pk>/let-go/", ideas.take, {"verb": "let_go"}, name="make-let-go"),
    path("makes/<int:pk>/take-up/", ideas.take, {"verb": "take_up"}, name="make-take-up"),
    path("makes/<int:pk>/move/", ideas.move, name="make-move"),
    path("makes/<int:pk>/heat/", ideas.heat, name="make-heat"),
    path("makes/<int:pk>/fate/", ideas.fate, name="make-fate"),
]

CLOTH = [
    path("", shelf.shelf, name="cloth-list"),
    path("new/", shelf.new, name="cloth-new"),
    path("<int:pk>/", shelf.cloth, name="cloth"),
    path("<int:pk>/changes/", undo.changes, {"model": Cloth}, name="cloth-changes"),
    path("<int:pk>/edit/", shelf.edit, name="cloth-edit"),
    path("<int:pk>/for/", shelf.mean, name="cloth-for"),
    path("<int:pk>/for/<int:make>/off/", shelf.spare, name="cloth-for-off"),
    path("<int:pk>/cut/", shelf.step, {"verb": "cut"}, name="cloth-cut"),
    path("<int:pk>/more/", shelf.step, {"verb": "more"}, name="cloth-more"),
    path("<int:pk>/back/", shelf.step, {"verb": "back"}, name="cloth-back"),
    path("<int:pk>/wash/", shelf.step, {"verb": "wash"}, name="cloth-wash"),
    path("<int:pk>/measure/", shelf.step, {"verb": "measure"}, name="cloth-measure"),
    path("<int:pk>/give/", shelf.step, {"verb": "give"}, name="cloth-give"),
    path("<int:pk>/card/", shelf.card, name="cloth-card"),
    path("moves/<int:pk>/undo/", shelf.undo, name="cloth-undo"),
    path("years/<int:year>/", shelf.year, name="cloth-year"),
]

PATTERNS = [
    path("", patterns.pattern_list, name="pattern-list"),
    path("new/", patterns.pattern_new, name="pattern-new"),
    path("<int:pk>/", patterns.pattern, name="pattern"),
    path("<int:pk>/changes/", undo.changes, {"model": Pattern}, name="pattern-changes"),
    path("<int:pk>/edit/", patterns.pattern_edit, name="pattern-edit"),
    path("<int:pk>/away/", patterns.pattern_away, name="pattern-away"),
    path("<int:pk>/back/", patterns.pattern_back, name="pattern-back"),
    path("<int:pk>/carry/<int:make>/", patterns.pattern_carry, name="pattern-carry"),
    path("versions/<int:pk>/out/", patterns.pattern_take_out, name="pattern-take-out"),
    path("<int:pk>/again/", card.pattern_again, name="pattern-again"),
]

SITTING = [
    path("", sitting.sitting, name="sitting"),
    path("gaps/", sitting.gaps, name="sitting-gaps"),
    path("<int:year>/", sitting.sitting, name="sitting-of"),
    path("<int:year>/end/", sitting.end, name="sitting-end"),
    path("<int:year>/<slug:act>/", sitting.act, name="sitting-act"),
]

LOOK_BACK = [
    path("", lookback.look_back, name="look-back"),
    path("<int:pk>/answer/", lookback.look_back, name="look-answer"),
    path("undo/", lookback.look_back, name="look-undo"),
    path("pairs/", lookback.pairs, name="look-back-pairs"),
]


def _rows(kind: releases.RowKind, places: str, *, money: bool = False) -> Iterator[URLPattern]:
    """Where rows of a kind are written, changed and taken off."""
    views: list[View] = [releases.row_new, releases.row_edit, releases.row_off]
    new, edit, off = map(owner_only, views) if money else views
    yield path(f"<int:pk>/{places}/new/", new, {"kind": kind}, name=f"{kind.name}-new")
    yield path(f"{places}/<int:pk>/", edit, {"kind": kind}, name=kind.name)
    yield path(f"{places}/<int:pk>/off/", off, {"kind": kind}, name=f"{kind.name}-off")


RELEASES = [
    path("new/", releases.release_new, name="release-new"),
    path("<int:pk>/changes/", undo.changes, {"model": Release}, name="release-changes"),
    path("<int:pk>/edit/", releases.release_edit, name="release-edit"),
    path("<int:pk>/money/", releases.release_money, name="release-money"),
    path("<int:pk>/published/", releases.release_published, name="release-published"),
    path("<int:pk>/put-away/", releases.release_put_away, name="release-put-away"),
    path("<int:pk>/guesses/", releases.guesses, name="release-guesses"),
    path("<int:pk>/belongs/", releases.belongs, name="release-belongs"),
    path(
        "<int:pk>/samples/<int:row>/off/",
        releases.belongs_off,
        {"kind": "sample"},
        name="release-sample-off",
    ),
    path(
        "<int:pk>/photos/<int:row>/off/",
        releases.belongs_off,
        {"kind": "picture"},
        name="release-photo-off",
    ),
    path("<int:pk>/stages/new/", releases.stage_new, name="stage-new"),
    path("stages/<int:pk>/", releases.stage_edit, name="stage"),
    path("stages/<int:pk>/move/", releases.stage_move, name="stage-move"),
    path("stages/<int:pk>/done/", releases.stage_done, name="stage-done"),
    path("stages/<int:pk>/off/", releases.stage_off, name="stage-off"),
    *_rows(releases.TESTER, "testers"),
    *_rows(releases.ERRATUM, "errata"),
    path("errata/<int:pk>/mended/", releases.erratum_mended, name="erratum-mended"),
    *_rows(releases.COST, "costs", money=True),
    path("<int:pk>/sales/", releases.sales, name="sales"),
    path("<int:pk>/sales/file/", releases.sales_import, name="sales-import"),
    path("sales/<int:pk>/off/", releases.sale_off, name="sale-off"),
]

urlpatterns = [
    path("manifest.webmanifest", capture.manifest, name="manifest"),
    path("own/", include(IDEAS)),
    path("own/cloth/", include(CLOTH)),
    path("own/patterns/", include(PATTERNS)),
    path("own/releases/", include(RELEASES)),
    path("own/look-back/", include(LOOK_BACK)),
    path("own/gaps/", gaps.gaps, name="gaps"),
    path("own/sitting/", include(SITTING)),
]
