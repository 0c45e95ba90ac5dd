"""Addresses of background jobs, which every page app may ask for."""

from django.urls import path

from apps.sheet import waiting

app_name = "jobs"
urlpatterns = [
    path("jobs/", waiting.jobs, name="jobs"),
    path("jobs/<uuid:job>/", waiting.job, name="job"),
    path("jobs/<uuid:job>/cancel/", waiting.cancel, name="cancel"),
    path("jobs/<uuid:job>/result/", waiting.result, name="result"),
]
