from django.urls import path

from . import views

urlpatterns = [
    path("rigs/<int:pk>/equipment/", views.rig_equipment, name="rig_equipment"),
    path("rigs/<int:pk>/plan/propose/", views.propose_plan, name="propose_plan"),
    path("items/<int:pk>/", views.item, name="item"),
    path("items/<int:pk>/put-off/", views.defer, name="defer"),
    path("items/<int:pk>/done-before/", views.state_baseline, name="state_baseline"),
    path("items/<int:pk>/drop/", views.drop_item, name="drop_item"),
]
