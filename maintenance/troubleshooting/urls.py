from django.urls import path

from . import views

urlpatterns = [
    path("trouble/", views.trouble, name="trouble"),
    path("trouble/<slug:key>/", views.guide, name="guide"),
    path("trouble/<slug:key>/told/", views.tell_cause, name="tell_cause"),
    path("trouble/<slug:key>/sheet/", views.trouble_sheet, name="trouble_sheet"),
]
