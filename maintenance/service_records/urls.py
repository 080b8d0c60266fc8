from django.urls import path

from . import unfiled_photo_views, views

urlpatterns = [
    path("log/", views.log, name="log"),
    path("snaps/", unfiled_photo_views.snaps, name="snaps"),
    path("snaps/sort/", unfiled_photo_views.sort_snaps, name="sort_snaps"),
    path("snaps/<uuid:key>/", unfiled_photo_views.snap, name="snap"),
    path("proof/<uuid:key>/", views.proof, name="proof"),
]
