from django.urls import path

from . import manual_views as shelf_views
from . import views

urlpatterns = [
    path("rigs/add/", views.add_rig, name="add_rig"),
    path("rigs/<int:pk>/change/", views.change_rig, name="change_rig"),
    path("rigs/<int:pk>/sold/", views.sell_rig, name="sell_rig"),
    path("rigs/<int:pk>/sold/not/", views.take_back, name="take_back"),
    path("rigs/<int:pk>/reading/", views.give_reading, name="give_reading"),
    path("rigs/<int:pk>/meter/", views.replace_meter, name="replace_meter"),
    path("rigs/<int:pk>/meters/add/", views.add_meter, name="add_meter"),
    path("rigs/<int:pk>/parked/", views.park_rig, name="park_rig"),
    path("stays/<int:pk>/left/", views.left_storage, name="left_storage"),
    path("rigs/<int:pk>/not-towed/", views.say_not_towed, name="say_not_towed"),
    path("rigs/<int:pk>/hub/fit/", views.fit_hub_meter, name="fit_hub_meter"),
    path("rigs/<int:pk>/hub/none/", views.no_hub_meter, name="no_hub_meter"),
    path("rigs/<int:pk>/hub/", views.confirm_hub_meter, name="confirm_hub_meter"),
    path("rigs/<int:pk>/severe-duty/", views.severe_duty, name="severe_duty"),
    path("rigs/<int:pk>/stay/", views.start_stay, name="start_stay"),
    path("readings/<int:pk>/settle/", views.settle_reading, name="settle_reading"),
    path("storage/", views.storage, name="storage"),
    path("stays/<int:pk>/change/", views.change_stay, name="change_stay"),
    path("rigs/<int:pk>/manuals/", shelf_views.manuals, name="manuals"),
    path("rigs/<int:pk>/manuals/add/", shelf_views.add_manual, name="add_manual"),
    path("manuals/<uuid:key>/", shelf_views.manual, name="manual"),
    path("manuals/<uuid:key>/file/", shelf_views.manual_file, name="manual_file"),
    path("manuals/<uuid:key>/pages/", shelf_views.note_page, name="note_page"),
    path("manuals/<uuid:key>/remove/", shelf_views.remove_manual, name="remove_manual"),
    path("page-notes/<int:pk>/remove/", shelf_views.remove_note, name="remove_note"),
    path("rig-photos/<uuid:key>/", shelf_views.rig_photo, name="rig_photo"),
    path("spots/<uuid:key>/photo/", shelf_views.spot_photo, name="spot_photo"),
]
