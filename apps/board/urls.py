"""Addresses of the board pages."""

from django.urls import path

from apps.board import views

app_name = "board"
urlpatterns = []
