from django.urls import path

from . import views
from .exports import views as exports

urlpatterns = [
    path("log/bring-in/", views.bringings, name="bring_in"),
    path("log/bring-in/<uuid:key>/", views.bringing, name="bringing"),
    path("log/bring-in/<uuid:key>/columns/", views.columns, name="bringing_columns"),
    path("log/bring-in/<uuid:key>/answers/", views.answers, name="bringing_answers"),
    path("log/bring-in/<uuid:key>/stop/", views.stop, name="stop_bringing"),
    path("log/bring-in/<uuid:key>/forget/", views.forget, name="forget_bringing"),
    path("log/bring-in/<uuid:key>/void/", views.void_all, name="void_bringing"),
    path("household/take-out/", exports.take_out, name="take_out"),
    path("household/take-out/<uuid:key>/", exports.export, name="export"),
    path("household/take-out/<uuid:key>/stop/", exports.stop, name="stop_export"),
    path(
        "household/take-out/<uuid:key>/file/", exports.export_file, name="export_file"
    ),
]
