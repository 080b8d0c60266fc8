from django.urls import path

from . import merge_views, views
from .costs import views as costs
from .search.views import search

urlpatterns = [
    path("", views.due, name="due"),
    path("rigs/", views.rigs, name="rigs"),
    path("rigs/<int:pk>/", views.rig, name="rig"),
    path("rigs/<int:pk>/use/", views.rig_use, name="rig_use"),
    path("rigs/<int:pk>/use/<slug:kind>.svg", views.use_chart, name="use_chart"),
    path("rigs/<int:pk>/record/", views.record_work, name="record_work"),
    path("rigs/<int:pk>/event/", views.report_event, name="report_event"),
    path("search/", search, name="search"),
    path("costs/", costs.costs, name="costs"),
    path("costs/<int:number>.svg", costs.costs_chart, name="costs_chart"),
    path("records/<int:pk>/", views.record, name="record"),
    path("records/<int:pk>/same/", merge_views.same_record, name="same_record"),
    path("records/apart/<int:pk>/", merge_views.take_apart, name="take_apart"),
    path("records/<int:pk>/void/", views.void_record, name="void_record"),
]
