from django.urls import path

from . import views

urlpatterns = [
    path("packets/", views.packets, name="packets"),
    path("packets/rigs/<int:pk>/", views.preview, name="preview_history"),
    path("packets/rigs/<int:pk>/ask/", views.ask, name="ask_for_history"),
    path("packets/<uuid:key>/", views.packet, name="packet"),
    path("packets/<uuid:key>/file/", views.packet_file, name="packet_file"),
    path("packets/<uuid:key>/stop/", views.stop, name="stop_packet"),
    path("packets/<uuid:key>/remove/", views.remove, name="remove_packet"),
]
