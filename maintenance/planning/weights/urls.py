from django.urls import path

from . import views

urlpatterns = [
    path("rigs/<int:pk>/weights/", views.weights, name="weights"),
    path("rigs/<int:pk>/weights/label/", views.weight_label, name="weight_label"),
    path("rigs/<int:pk>/weights/ticket/", views.add_ticket, name="add_ticket"),
    path("tickets/<int:pk>/", views.change_ticket, name="change_ticket"),
    path("tickets/<int:pk>/remove/", views.remove_ticket, name="remove_ticket"),
]
