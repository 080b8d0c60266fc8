from django.urls import path

from . import finding_views, views

urlpatterns = [
    path("walkrounds/", views.walkrounds, name="walkrounds"),
    path("rigs/<int:pk>/walkround/", views.start_walkround, name="start_walkround"),
    path("walkrounds/<int:pk>/", views.walkround, name="walkround"),
    path(
        "walkrounds/<int:pk>/finish/", views.finish_walkround, name="finish_walkround"
    ),
    path("walkrounds/<int:pk>/zones/<slug:zone>/", views.keep_look, name="keep_look"),
    path("walkrounds/photos/<uuid:key>/", views.walk_photo, name="walk_photo"),
    path("findings/", finding_views.findings, name="findings"),
    path("findings/<int:pk>/", finding_views.finding, name="finding"),
    path("findings/<int:pk>/judge/", finding_views.judge_finding, name="judge_finding"),
    path("findings/<int:pk>/plan/", finding_views.plan_finding, name="plan_finding"),
    path("findings/<int:pk>/shop/", finding_views.set_for_shop, name="set_for_shop"),
    path("findings/<int:pk>/fixed/", finding_views.fix_finding, name="fix_finding"),
    path(
        "findings/<int:pk>/open/", finding_views.reopen_finding, name="reopen_finding"
    ),
    path(
        "findings/<int:pk>/accept/", finding_views.accept_finding, name="accept_finding"
    ),
    path("rigs/<int:pk>/findings/add/", finding_views.add_finding, name="add_finding"),
    path("rigs/<int:pk>/shop-list/", finding_views.shop_list, name="shop_list"),
]
