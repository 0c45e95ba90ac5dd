"""Addresses of the phone's pages: what is to be looked at today, one inspection, notices."""

from django.urls import path

from apps.field import views

app_name = "field"
INSPECT = "foundations/<str:mark>/<str:stage>/inspect/"
urlpatterns = [
    path("field/", views.today, name="today"),
    path("field/notice/", views.notice, name="notice"),
    path("field/notice/withdraw/", views.withdraw, name="withdraw"),
    path(INSPECT, views.inspection, name="inspection"),
    path(f"{INSPECT}judge/", views.judge, name="judge"),
    path("foundations/<str:mark>/<str:stage>/sent/<int:attempt>/", views.sent, name="sent"),
]
