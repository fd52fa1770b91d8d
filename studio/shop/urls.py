from django.contrib.auth.views import LogoutView
from django.urls import path

from studio.shop.views import login, looks, people, profile, taxes, week

urlpatterns = [
    path("login/", login.Login.as_view(), name="login"),
    path("logout/", LogoutView.as_view(), name="logout"),
    path("password/", login.Password.as_view(), name="password"),
    path("looks/", looks.looks, name="looks"),
    path("studio/", profile.settings, name="studio-settings"),
    path("studio/profile/", profile.profile, name="studio-profile"),
    path("studio/papers/", profile.papers, name="studio-papers"),
    path("studio/taxes/", taxes.taxes, name="studio-taxes"),
    path("studio/taxes/new/", taxes.tax_new, name="studio-tax-new"),
    path("studio/taxes/<int:pk>/", taxes.tax, name="studio-tax"),
    path("studio/taxes/<int:pk>/rate/", taxes.rate_new, name="studio-rate-new"),
    path("studio/taxes/<int:pk>/remove/", taxes.tax_remove, name="studio-tax-remove"),
    path("studio/rates/<int:pk>/remove/", taxes.rate_remove, name="studio-rate-remove"),
    path("studio/week/", week.week, name="studio-week"),
    path("studio/days-off/", week.days_off, name="studio-days-off"),
    path("studio/days-off/holidays/", week.holidays, name="studio-holidays"),
    path("studio/days-off/<int:pk>/remove/", week.day_off_remove, name="studio-day-off-remove"),
    path("studio/people/", people.people, name="studio-people"),
    path("studio/people/new/", people.person_new, name="studio-person-new"),
    path("studio/people/<int:pk>/password/", people.person_password, name="studio-person-password"),
    path("studio/people/<int:pk>/out/", people.person_out, name="studio-person-out"),
    path("studio/people/<int:pk>/back/", people.person_back, name="studio-person-back"),
]
