from django.contrib.auth.views import LogoutView
from django.urls import path

from . import views

urlpatterns = [
    path("welcome/", views.first_run, name="first_run"),
    path("login/", views.HouseholdLogin.as_view(), name="login"),
    path("logout/", LogoutView.as_view(), name="logout"),
    path("no-household/", views.no_household, name="no_household"),
    path("household/", views.household, name="household"),
    path("household/change/", views.change_household, name="change_household"),
    path("household/seasons/", views.seasons, name="seasons"),
    path("household/climate/", views.climate, name="climate"),
    path("household/members/add/", views.add_member, name="add_member"),
    path("household/myself/", views.myself, name="myself"),
    path("household/members/<int:pk>/part-with/", views.part_with, name="part_with"),
]
