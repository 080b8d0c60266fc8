from django.urls import path

from . import views
from .exports import views as taking_views

urlpatterns = [
    path("log/bring-in/", views.bringings, name="bring_in"),
    path("log/bring-in/<uuid:key>/", views.bringing, name="bringing"),
    path("log/bring-in/<uuid:key>/columns/", views.columns, name="bringing_columns"),
    path("log/bring-in/<uuid:key>/answers/", views.answers, name="bringing_answers"),
    path("log/bring-in/<uuid:key>/stop/", views.stop, name="stop_bringing"),
    path("log/bring-in/<uuid:key>/forget/", views.forget, name="forget_bringing"),
    path("log/bring-in/<uuid:key>/void/", views.void_all, name="void_bringing"),
    path("household/take-out/", taking_views.take_out, name="take_out"),
]
