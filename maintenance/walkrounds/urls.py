from django.urls import path

from . import views

urlpatterns = [
    path("walkrounds/", views.walkrounds, name="walkrounds"),
    path("rigs/<int:pk>/walkround/", views.start_walkround, name="start_walkround"),
    path("walkrounds/<int:pk>/", views.walkround, name="walkround"),
    path(
        "walkrounds/<int:pk>/finish/", views.finish_walkround, name="finish_walkround"
    ),
    path("walkrounds/<int:pk>/zones/<slug:zone>/", views.keep_look, name="keep_look"),
]
