from django.urls import path

from jobs.counter.year import views

board = [
    path("", views.board, name="board"),
    path("<int:year>/", views.board, name="board-of"),
    path("<int:year>/move/", views.board_move, name="board-move"),
    path("<int:year>/budgets/", views.board_budgets, name="board-budgets"),
    path("seasons/", views.board_seasons, name="board-seasons"),
]

urlpatterns = [
    path("", views.year, name="year"),
    path("<int:year>/", views.year, name="year-of"),
    path("<int:year>/hours/", views.hours, name="year-hours"),
    path("<int:year>/income/", views.income, name="year-income"),
    path("<int:year>/journal/", views.journal, name="journal"),
    path("<int:year>/journal/build/", views.journal_build, name="journal-build"),
    path("<int:year>/journal/<slug:page>.pdf", views.journal_file, name="journal-file"),
]
