from django.urls import path

from . import snap_views, views

urlpatterns = [
    path("log/", views.log, name="log"),
    path("snaps/", snap_views.snaps, name="snaps"),
    path("snaps/sort/", snap_views.sort_snaps, name="sort_snaps"),
    path("snaps/<uuid:key>/", snap_views.snap, name="snap"),
    path("proof/<uuid:key>/", views.proof, name="proof"),
]
