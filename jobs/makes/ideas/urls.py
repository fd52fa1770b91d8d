from django.urls import path

from jobs.makes.ideas.views import make, pictures, steps, wall

urlpatterns = [
    path("", wall.wall, name="own"),
    path("ideas/new/", wall.idea_new, name="idea-new"),
    path("whim/", wall.whim, name="whim"),
    path("undo/", steps.undo, name="own-undo"),
    path("pictures/<int:pk>/", pictures.picture, name="own-picture"),
    path("makes/", wall.makes, name="makes"),
    path("makes/<int:pk>/", make.make, name="make"),
    path("makes/<int:pk>/edit/", make.edit, name="make-edit"),
    path("makes/<int:pk>/finish/", make.finish, name="make-finish"),
    path("makes/<int:pk>/pictures/", make.picture_add, name="make-picture"),
    path("makes/<int:pk>/pictures/<int:picture>/off/", make.picture_off, name="make-picture-off"),
    path("makes/<int:pk>/cloth/", make.cloth_add, name="make-cloth"),
    path("makes/<int:pk>/cloth/<int:cloth>/off/", make.cloth_off, name="make-cloth-off"),
    path("makes/<int:pk>/start/", steps.take, {"verb": "start"}, name="make-start"),
    path("makes/<int:pk>/made/", steps.take, {"verb": "made"}, name="make-made"),
    path("makes/<int:pk>/let-go/", steps.take, {"verb": "let_go"}, name="make-let-go"),
    path("makes/<int:pk>/take-up/", steps.take, {"verb": "take_up"}, name="make-take-up"),
    path("makes/<int:pk>/move/", steps.move, name="make-move"),
    path("makes/<int:pk>/heat/", steps.heat, name="make-heat"),
    path("makes/<int:pk>/fate/", steps.fate, name="make-fate"),
]
