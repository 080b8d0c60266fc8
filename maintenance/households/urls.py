from django.urls import path

from . import member_views, views

urlpatterns = [
    path("welcome/", views.first_run, name="first_run"),
    path("login/", views.HouseholdLogin.as_view(), name="login"),
    path("logout/", views.HouseholdLogout.as_view(), name="logout"),
    path("join/<str:token>/", member_views.use_link, name="use_link"),
    path("no-household/", views.no_household, name="no_household"),
    path("household/", views.household, name="household"),
    path("household/theme/", views.set_theme, name="set_theme"),
    path("household/change/", views.change_household, name="change_household"),
    path("household/seasons/", views.seasons, name="seasons"),
    path("household/climate/", views.climate, name="climate"),
    path("household/founder/", member_views.hand_on, name="hand_on"),
    path("household/members/add/", member_views.invite, name="invite"),
    path("household/links/<int:pk>/", member_views.one_time_link, name="one_time_link"),
    path(
        "household/links/<int:pk>/withdraw/",
        member_views.withdraw_link,
        name="withdraw_link",
    ),
    path("household/myself/", views.myself, name="myself"),
    path(
        "household/myself/password/",
        member_views.change_password,
        name="change_password",
    ),
    path("household/myself/logins/", member_views.logins, name="logins"),
    path("household/myself/logins/end/", member_views.end_logins, name="end_logins"),
    path(
        "household/myself/logins/<str:handle>/end/",
        member_views.end_login,
        name="end_login",
    ),
    path(
        "household/members/<int:pk>/role/", member_views.change_role, name="change_role"
    ),
    path(
        "household/members/<int:pk>/new-password/",
        member_views.offer_new_password,
        name="offer_new_password",
    ),
    path(
        "household/members/<int:pk>/part-with/",
        member_views.part_with,
        name="part_with",
    ),
]
