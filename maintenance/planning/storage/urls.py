from django.urls import path

from . import views

urlpatterns = [
    path("stays/<int:pk>/", views.stay, name="stay"),
    path("stays/<int:pk>/visit/", views.visit_stay, name="visit_stay"),
    path("stays/<int:pk>/end/", views.end_stay, name="end_stay"),
    path("rigs/<int:pk>/runways/", views.runways, name="runways"),
]
