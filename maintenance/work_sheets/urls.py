from django.urls import path

from . import views

urlpatterns = [
    path("items/<int:pk>/", views.item, name="item"),
    path("items/<int:pk>/sheet/", views.keep_sheet, name="keep_sheet"),
    path("items/<int:pk>/page/", views.point_to_page, name="point_to_page"),
    path("item-pages/<int:pk>/remove/", views.remove_page, name="remove_page"),
    path("items/<int:pk>/supply/", views.use_supply, name="use_supply"),
    path("item-supplies/<int:pk>/remove/", views.stop_using, name="stop_using"),
    path("rigs/<int:pk>/where/", views.rig_spots, name="rig_spots"),
    path("rigs/<int:pk>/where/<slug:name>/", views.tell_spot, name="tell_spot"),
    path("supplies/asked-for/", views.asked_for, name="asked_for"),
]
