from django.urls import path

from jobs.makes.shelf.views import cards, moves, shelf

urlpatterns = [
    path("", shelf.shelf, name="cloth-list"),
    path("new/", shelf.new, name="cloth-new"),
    path("<int:pk>/", shelf.cloth, name="cloth"),
    path("<int:pk>/edit/", shelf.edit, name="cloth-edit"),
    path("<int:pk>/for/", shelf.mean, name="cloth-for"),
    path("<int:pk>/for/<int:make>/off/", shelf.spare, name="cloth-for-off"),
    path("<int:pk>/cut/", moves.step, {"verb": "cut"}, name="cloth-cut"),
    path("<int:pk>/back/", moves.step, {"verb": "back"}, name="cloth-back"),
    path("<int:pk>/wash/", moves.step, {"verb": "wash"}, name="cloth-wash"),
    path("<int:pk>/measure/", moves.step, {"verb": "measure"}, name="cloth-measure"),
    path("<int:pk>/give/", moves.step, {"verb": "give"}, name="cloth-give"),
    path("<int:pk>/card/", cards.card, name="cloth-card"),
    path("moves/<int:pk>/undo/", moves.undo, name="cloth-undo"),
    path("years/<int:year>/", moves.year, name="cloth-year"),
]
