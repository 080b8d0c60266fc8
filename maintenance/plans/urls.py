from django.urls import path

from . import views

urlpatterns = [
    path("library/", views.library, name="library"),
    path("library/<slug:key>/", views.library, name="library"),
    path("procedures/<int:pk>/", views.change_procedure, name="change_procedure"),
    path("rigs/<int:pk>/plan/", views.rig_plan, name="rig_plan"),
    path("rigs/<int:pk>/plan/before/", views.baselines, name="baselines"),
    path("rigs/<int:pk>/plan/own/", views.write_procedure, name="write_procedure"),
    path("rigs/<int:pk>/equipment/", views.rig_equipment, name="rig_equipment"),
    path("rigs/<int:pk>/plan/propose/", views.propose_plan, name="propose_plan"),
    path("items/<int:pk>/paper/", views.paper_date, name="paper_date"),
    path("items/<int:pk>/put-off/", views.defer, name="defer"),
    path("items/<int:pk>/done-before/", views.state_baseline, name="state_baseline"),
    path("items/<int:pk>/rules/", views.change_rules, name="change_rules"),
    path("items/<int:pk>/maker/", views.maker_figure, name="maker_figure"),
    path("items/<int:pk>/offer/", views.settle_offer, name="settle_offer"),
    path("items/<int:pk>/drop/", views.drop_item, name="drop_item"),
]
