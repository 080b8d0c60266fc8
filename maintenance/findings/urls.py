from django.urls import path

from . import views

urlpatterns = [
    path("walkrounds/photos/<uuid:key>/", views.walk_photo, name="walk_photo"),
    path("findings/", views.findings, name="findings"),
    path("findings/<int:pk>/", views.finding, name="finding"),
    path("findings/<int:pk>/judge/", views.judge_finding, name="judge_finding"),
    path("findings/<int:pk>/plan/", views.plan_finding, name="plan_finding"),
    path("findings/<int:pk>/shop/", views.set_for_shop, name="set_for_shop"),
    path("findings/<int:pk>/fixed/", views.fix_finding, name="fix_finding"),
    path("findings/<int:pk>/open/", views.reopen_finding, name="reopen_finding"),
    path("findings/<int:pk>/accept/", views.accept_finding, name="accept_finding"),
    path("rigs/<int:pk>/findings/add/", views.add_finding, name="add_finding"),
    path("rigs/<int:pk>/shop-list/", views.shop_list, name="shop_list"),
]
