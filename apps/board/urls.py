"""Addresses of the board: the morning sheet and the meeting, forecast, charts, work done, the corridor's plan and list, one foundation."""

from django.urls import path

from apps.board import views
from apps.board.meeting import followups, items, minutes

app_name = "board"
urlpatterns = [
    path("morning/", views.morning, name="morning"),
    path("morning/paper/", views.morning_paper, name="morning_paper"),
    path("forecast/", views.forecast, name="forecast"),
    path("charts/", views.charts, name="charts"),
    path("corridor/", views.corridor, name="corridor"),
    path("morning/items/<int:number>/", items.item, name="item"),
    path("minutes/", minutes.minutes, name="minutes"),
    path("follow-ups/", followups.listed, name="follow_ups"),
    path("follow-ups/add/", followups.add, name="add_follow_up"),
    path("follow-ups/<int:number>/end/", followups.end, name="end_follow_up"),
    path("follow-ups/<int:number>/postpone/", followups.postpone, name="postpone_follow_up"),
    path("done/", views.done, name="done"),
    path("time-location/", views.time_location, name="time_location"),
    path("foundations/<str:mark>/", views.foundation, name="foundation"),
    path("foundations/<str:mark>/look/", views.look, name="look"),
    path("foundations/<str:mark>/reopen/", views.reopen, name="reopen"),
    path("foundations/<str:mark>/abandon/", views.abandon, name="abandon"),
]
