from django.urls import path

from . import answer_views, calendar_views, views

urlpatterns = [
    path("mail/", views.mail_tray, name="mail"),
    path("mail/test/", views.send_test, name="test_mail"),
    path("mail/calendar/", calendar_views.calendar, name="calendar"),
    path(
        "mail/calendar/new-address/",
        calendar_views.new_calendar_address,
        name="new_calendar_address",
    ),
    path("mail/calendar/end/", calendar_views.no_calendar, name="no_calendar"),
    path(
        "calendar/<str:secret>.ics", calendar_views.calendar_feed, name="calendar_feed"
    ),
    path("mail/clock/", views.clock, name="clock"),
    path("mail/set-up/", views.set_up_mail, name="set_up_mail"),
    path("mail/no-server/", views.forget_mail_server, name="forget_mail_server"),
    path("mail/again/<int:pk>/", views.use_again, name="use_address_again"),
    path("mail/<int:pk>/", views.one_mail, name="one_mail"),
    path("mail/<int:pk>/formatted/", views.formatted_mail, name="formatted_mail"),
    path("mail/stop/<str:token>/", views.stop_mail, name="stop_mail"),
    path("answer/<str:purpose>/<str:token>/", answer_views.answer, name="answer"),
]
