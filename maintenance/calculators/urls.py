from django.urls import path

from . import views

urlpatterns = [
    path("bench/", views.bench, name="bench"),
    path("bench/<slug:key>/", views.calculator, name="calculator"),
    path("bench/<slug:key>/keep/", views.keep, name="keep_figure"),
    path("bench/kept/<int:pk>/drop/", views.drop, name="drop_figure"),
]
