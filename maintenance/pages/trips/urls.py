from django.urls import path

from maintenance.pages.weights import views as weights

from . import views

urlpatterns = [
    path("rigs/<int:pk>/trip/", views.plan_trip, name="plan_trip"),
    path("trips/", views.trips, name="trips"),
    path("trips/<int:pk>/", views.trip, name="trip"),
    path("trips/<int:pk>/change/", views.change_trip, name="change_trip"),
    path("trips/<int:pk>/told/", views.tell_trip, name="tell_trip"),
    path("trips/<int:pk>/print/", views.print_trip, name="print_trip"),
    path("trips/<int:pk>/cancel/", views.cancel_trip, name="cancel_trip"),
    path("rigs/<int:pk>/weights/", weights.weights, name="weights"),
    path("rigs/<int:pk>/weights/label/", weights.weight_label, name="weight_label"),
    path("rigs/<int:pk>/weights/ticket/", weights.add_ticket, name="add_ticket"),
    path("tickets/<int:pk>/", weights.change_ticket, name="change_ticket"),
    path("tickets/<int:pk>/remove/", weights.remove_ticket, name="remove_ticket"),
]
