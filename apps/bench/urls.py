"""Addresses of the Bench: its list, one calculation, its sheet on paper, and putting a result to a foundation."""

from django.urls import path

from apps.bench import views

app_name = "bench"
urlpatterns = [
    path("bench/", views.bench, name="bench"),
    path("bench/<str:name>/", views.calculation, name="calculation"),
    path("bench/<str:name>/sheet.pdf", views.paper, name="paper"),
    path("bench/<str:name>/attach/", views.attach, name="attach"),
]
