"""Addresses of the board: the morning sheet, the forecast, the charts, what was done, the corridor's plan and list, one foundation."""

from django.urls import path

from apps.board import views

app_name = "board"
urlpatterns = [
    path("morning/", views.morning, name="morning"),
    path("morning/paper/", views.morning_paper, name="morning_paper"),
    path("forecast/", views.forecast, name="forecast"),
    path("charts/", views.charts, name="charts"),
    path("corridor/", views.corridor, name="corridor"),
    path("done/", views.done, name="done"),
    path("time-location/", views.time_location, name="time_location"),
    path("foundations/<str:mark>/", views.foundation, name="foundation"),
    path("foundations/<str:mark>/look/", views.look, name="look"),
    path("foundations/<str:mark>/reopen/", views.reopen, name="reopen"),
    path("foundations/<str:mark>/abandon/", views.abandon, name="abandon"),
]
