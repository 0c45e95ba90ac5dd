"""Addresses of the engineer's desk and of the findings."""

from django.urls import path

from apps.desk import conditions, findings, views

app_name = "desk"
urlpatterns = [
    path("desk/", views.queue, name="queue"),
    path("desk/together/", views.together, name="together"),
    path("desk/conditions/", conditions.conditions, name="conditions"),
    path("desk/conditions/<uuid:key>/", conditions.meet, name="meet"),
    path("desk/<str:mark>/<str:stage>/", views.hold_point, name="hold_point"),
    path("findings/", findings.register_page, name="findings"),
    path("findings/assign/", findings.assign, name="assign"),
    path("findings/views/", findings.views, name="views"),
    path("findings/raise/", findings.raise_finding, name="raise_finding"),
    path("findings/<int:number>/", findings.finding, name="finding"),
]
