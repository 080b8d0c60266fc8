from django.urls import path

from . import merge_views, views
from .costs import views as costs
from .happenings import views as happenings
from .parts import views as parts
from .putting_right import views as right
from .search.views import search
from .shop_sheet.views import choose_shop_sheet, print_shop_sheet
from .sittings.views import sittings
from .storage import urls as storage

urlpatterns = [
    path("", views.due, name="due"),
    path("rigs/", views.rigs, name="rigs"),
    path("rigs/<int:pk>/", views.rig, name="rig"),
    path("rigs/<int:pk>/use/", views.rig_use, name="rig_use"),
    path("rigs/<int:pk>/use/<slug:kind>.svg", views.use_chart, name="use_chart"),
    path("rigs/<int:pk>/record/", views.record_work, name="record_work"),
    path("rigs/<int:pk>/event/", happenings.report_event, name="report_event"),
    path("rigs/<int:pk>/events/", happenings.rig_events, name="rig_events"),
    path("events/<int:pk>/correct/", happenings.correct_event, name="correct_event"),
    path("rigs/<int:pk>/shop-sheet/", choose_shop_sheet, name="shop_sheet"),
    path("rigs/<int:pk>/shop-sheet/print/", print_shop_sheet, name="print_shop_sheet"),
    path("search/", search, name="search"),
    path("together/", sittings, name="sittings"),
    path("rigs/<int:pk>/parts/", parts.parts, name="parts"),
    path("rigs/<int:pk>/parts/add/<slug:kind>/", parts.add_part, name="add_part"),
    path("rigs/<int:pk>/tires/", parts.tires, name="tires"),
    path("rigs/<int:pk>/tires/rotate/", parts.rotate_tires, name="rotate_tires"),
    path("rigs/<int:pk>/axles/", parts.axle_ratings, name="axle_ratings"),
    path("parts/<int:pk>/", parts.part, name="part"),
    path("parts/<int:pk>/change/", parts.change_part, name="change_part"),
    path("parts/<int:pk>/to/<int:rig_pk>/", parts.move_part, name="move_part"),
    path("parts/<int:pk>/off/", parts.put_part_aside, name="put_part_aside"),
    path("costs/", costs.costs, name="costs"),
    path("costs/<int:number>.svg", costs.costs_chart, name="costs_chart"),
    path("records/<int:pk>/", views.record, name="record"),
    path("records/<int:pk>/same/", merge_views.same_record, name="same_record"),
    path("records/apart/<int:pk>/", merge_views.take_apart, name="take_apart"),
    path("records/<int:pk>/amend/", right.amend_record, name="amend_record"),
    path("records/<int:pk>/undo/", right.undo_record, name="undo_record"),
    path("rigs/<int:pk>/chain/", right.rig_chain, name="rig_chain"),
    path("records/<int:pk>/void/", views.void_record, name="void_record"),
    *storage.urlpatterns,
]
