from django.urls import path

from . import answer_views, views

urlpatterns = [
    path("mail/", views.mail_tray, name="mail"),
    path("mail/test/", views.send_test, name="test_mail"),
    path("mail/set-up/", views.set_up_mail, name="set_up_mail"),
    path("mail/no-server/", views.forget_mail_server, name="forget_mail_server"),
    path("mail/again/<int:pk>/", views.use_again, name="use_address_again"),
    path("mail/<int:pk>/", views.one_mail, name="one_mail"),
    path("mail/<int:pk>/formatted/", views.formatted_mail, name="formatted_mail"),
    path("mail/stop/<str:token>/", views.stop_mail, name="stop_mail"),
    path("answer/<str:purpose>/<str:token>/", answer_views.answer, name="answer"),
]
