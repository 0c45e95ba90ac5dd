"""Addresses of what is mailed."""

from django.urls import path

from apps.mailing import views

app_name = "mailing"
urlpatterns = [
    path("mail/", views.wishes, name="wishes"),
    path("mail/stop/<str:token>/", views.stop, name="stop"),
]
