from django.urls import path

from . import merge_views, printed_sheets, views, which_rig
from .components import views as components
from .corrections import views as corrections
from .costs import views as costs
from .events import views as events
from .saved.views import answered, saved
from .search.views import search
from .shop_sheet.views import choose_shop_sheet, print_shop_sheet

urlpatterns = [
    path("", views.due, name="due"),
    path("rigs/", views.rigs, name="rigs"),
    path("rigs/<int:pk>/", views.rig, name="rig"),
    path("rigs/<int:pk>/use/", views.rig_use, name="rig_use"),
    path("rigs/<int:pk>/use/<slug:kind>/", views.use_chart, name="use_chart"),
    path("record/<slug:act>/", which_rig.record_for, name="record_for"),
    path("history/tamper-check/", which_rig.seals, name="seals"),
    path("rigs/<int:pk>/record/", views.record_work, name="record_work"),
    path("rigs/<int:pk>/record/jobs/", views.record_jobs, name="record_jobs"),
    path("rigs/<int:pk>/event/", events.report_event, name="report_event"),
    path("rigs/<int:pk>/events/", events.rig_events, name="rig_events"),
    path("rigs/<int:pk>/runs/", events.log_run, name="log_run"),
    path("events/<int:pk>/correct/", events.correct_event, name="correct_event"),
    path(
        "facts/<slug:kind>/<int:pk>/correct/", events.correct_fact, name="correct_fact"
    ),
    path(
        "facts/<slug:kind>/<int:pk>/withdraw/",
        events.withdraw_fact,
        name="withdraw_fact",
    ),
    path("rigs/<int:pk>/shop-sheet/", choose_shop_sheet, name="shop_sheet"),
    path("rigs/<int:pk>/shop-sheet/print/", print_shop_sheet, name="print_shop_sheet"),
    path("search/", search, name="search"),
    path("rigs/<int:pk>/parts/", components.parts, name="parts"),
    path("rigs/<int:pk>/parts/add/<slug:kind>/", components.add_part, name="add_part"),
    path("rigs/<int:pk>/tires/", components.tires, name="tires"),
    path("rigs/<int:pk>/tires/rotate/", components.rotate_tires, name="rotate_tires"),
    path("rigs/<int:pk>/axles/", components.axle_ratings, name="axle_ratings"),
    path("parts/<int:pk>/", components.part, name="part"),
    path("parts/<int:pk>/change/", components.change_part, name="change_part"),
    path("parts/<int:pk>/to/<int:rig_pk>/", components.move_part, name="move_part"),
    path(
        "installations/<int:pk>/correct/",
        components.correct_fitting,
        name="correct_fitting",
    ),
    path(
        "installations/<int:pk>/withdraw/",
        components.withdraw_fitting,
        name="withdraw_fitting",
    ),
    path("parts/<int:pk>/off/", components.put_part_aside, name="put_part_aside"),
    path("costs/", costs.costs, name="costs"),
    path("records/<int:pk>/", views.record, name="record"),
    path("records/<int:pk>/saved/", saved, name="saved"),
    path("follows/<str:token>/", answered, name="answered"),
    path("records/<int:pk>/same/", merge_views.same_record, name="same_record"),
    path("records/apart/<int:pk>/", merge_views.take_apart, name="take_apart"),
    path("records/<int:pk>/amend/", corrections.amend_record, name="amend_record"),
    path("records/<int:pk>/undo/", corrections.undo_record, name="undo_record"),
    path("rigs/<int:pk>/chain/", corrections.rig_chain, name="rig_chain"),
    path("records/<int:pk>/void/", views.void_record, name="void_record"),
    path("trips/<int:pk>/print/", printed_sheets.print_trip, name="print_trip"),
    path("stays/<int:pk>/print/", printed_sheets.print_stay, name="print_stay"),
]
