from django.urls import path

from . import views

urlpatterns = [
    path("rigs/<int:pk>/trip/", views.plan_trip, name="plan_trip"),
    path("trips/", views.trips, name="trips"),
    path("trips/<int:pk>/", views.trip, name="trip"),
    path("trips/<int:pk>/change/", views.change_trip, name="change_trip"),
    path("trips/<int:pk>/told/", views.tell_trip, name="tell_trip"),
    path("trips/<int:pk>/cancel/", views.cancel_trip, name="cancel_trip"),
]
