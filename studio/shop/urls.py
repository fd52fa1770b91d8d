from django.contrib.auth.views import LogoutView
from django.urls import path

from studio.shop import views
from studio.shop.doors import views as doors
from studio.shop.http import health
from studio.shop.words import views as words

urlpatterns = [
    path("health/", health, name="health"),
    path("login/", doors.Login.as_view(), name="login"),
    path("login/second/", doors.login_second, name="login-second"),
    path("logout/", LogoutView.as_view(), name="logout"),
    path("password/", doors.Password.as_view(), name="password"),
    path("logins/", doors.logins_page, name="logins"),
    path("logins/out/", doors.logins_out, name="logins-out"),
    path("logins/second/", doors.second_page, name="second"),
    path("logins/second/app/", doors.second_app, name="second-app"),
    path("logins/second/app/remove/", doors.second_app_remove, name="second-app-remove"),
    path("logins/second/codes/", doors.second_codes, name="second-codes"),
    path("logins/second/codes.pdf", doors.second_paper, name="second-paper"),
    path("logins/second/passkey/", doors.second_passkey, name="second-passkey"),
    path(
        "logins/second/passkey/<int:pk>/remove/",
        doors.second_passkey_remove,
        name="second-passkey-remove",
    ),
    path("looks/", views.looks, name="looks"),
    path("studio/changes/", views.changes, name="studio-changes"),
    path("studio/changes/undo/", views.undo, name="studio-undo"),
    path("studio/doctor/", views.doctor_page, name="doctor"),
    path("studio/doctor/sweep/", views.doctor_sweep, name="doctor-sweep"),
    path("studio/profile/", views.profile, name="studio-profile"),
    path("studio/papers/", views.papers, name="studio-papers"),
    path("studio/places/", views.places, name="studio-places"),
    path("studio/words/", words.words, name="studio-words"),
    path("studio/words/<str:code>/", words.words_in, name="studio-words-in"),
    path("studio/words/<str:code>/checked/", words.words_checked, name="studio-words-checked"),
    path("studio/words/<str:code>/<slug:key>/", words.words_phrase, name="studio-words-phrase"),
    path("studio/taxes/", views.taxes, name="studio-taxes"),
    path("studio/taxes/new/", views.tax_new, name="studio-tax-new"),
    path("studio/taxes/<int:pk>/", views.tax, name="studio-tax"),
    path("studio/taxes/<int:pk>/rate/", views.rate_new, name="studio-rate-new"),
    path("studio/taxes/<int:pk>/remove/", views.tax_remove, name="studio-tax-remove"),
    path("studio/rates/<int:pk>/remove/", views.rate_remove, name="studio-rate-remove"),
    path("studio/week/", views.week, name="studio-week"),
    path("studio/days-off/", views.days_off, name="studio-days-off"),
    path("studio/days-off/holidays/", views.holidays, name="studio-holidays"),
    path("studio/days-off/<int:pk>/remove/", views.day_off_remove, name="studio-day-off-remove"),
    path("studio/people/", views.people, name="studio-people"),
    path("studio/people/new/", views.person_new, name="studio-person-new"),
    path("studio/people/<int:pk>/password/", views.person_password, name="studio-person-password"),
    path("studio/people/<int:pk>/ticks/", views.person_ticks, name="studio-person-ticks"),
    path("studio/people/<int:pk>/second/", views.person_second, name="studio-person-second"),
    path("studio/people/<int:pk>/out/", views.person_out, name="studio-person-out"),
    path("studio/people/<int:pk>/back/", views.person_back, name="studio-person-back"),
]
