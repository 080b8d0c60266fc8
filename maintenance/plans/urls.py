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
    path("items/<int:pk>/", views.item, name="item"),
    path("items/<int:pk>/sheet/", views.keep_sheet, name="keep_sheet"),
    path("items/<int:pk>/page/", views.point_to_page, name="point_to_page"),
    path("item-pages/<int:pk>/remove/", views.remove_page, name="remove_page"),
    path("items/<int:pk>/supply/", views.use_supply, name="use_supply"),
    path("item-supplies/<int:pk>/remove/", views.stop_using, name="stop_using"),
    path("items/<int:pk>/paper/", views.paper_date, name="paper_date"),
    path("rigs/<int:pk>/where/", views.rig_spots, name="rig_spots"),
    path("rigs/<int:pk>/where/<slug:name>/", views.tell_spot, name="tell_spot"),
    path("supplies/asked-for/", views.asked_for, name="asked_for"),
    path("items/<int:pk>/put-off/", views.defer, name="defer"),
    path("items/<int:pk>/done-before/", views.state_baseline, name="state_baseline"),
    path("items/<int:pk>/rules/", views.change_rules, name="change_rules"),
    path("items/<int:pk>/maker/", views.maker_figure, name="maker_figure"),
    path("items/<int:pk>/offer/", views.settle_offer, name="settle_offer"),
    path("items/<int:pk>/drop/", views.drop_item, name="drop_item"),
]
