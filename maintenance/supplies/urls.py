from django.urls import path

from . import views

urlpatterns = [
    path("supplies/", views.supplies, name="supplies"),
    path("supplies/add/", views.add_supply, name="add_supply"),
    path("supplies/<int:pk>/", views.change_supply, name="change_supply"),
    path("supplies/<int:pk>/buy/", views.buy_supply, name="buy_supply"),
    path("supplies/<int:pk>/remove/", views.remove_supply, name="remove_supply"),
    path("tools/add/<slug:kind>/", views.add_tool, name="add_tool"),
    path("tools/<int:pk>/", views.change_tool, name="change_tool"),
    path("tools/<int:pk>/remove/", views.remove_tool, name="remove_tool"),
]
