"""Addresses of the gauge shelf."""

from __future__ import annotations

from django.urls import URLPattern, URLResolver, path

from measurements.views import gauges

urlpatterns: list[URLPattern | URLResolver] = [
    path("gauges/", gauges.gauges, name="gauges"),
    path("gauges/<str:mark>/", gauges.gauge, name="gauge"),
    path("gauges/<str:mark>/calibrate/", gauges.gauge_calibrate, name="gauge_calibrate"),
    path("gauges/<str:mark>/recall/", gauges.gauge_recall, name="gauge_recall"),
    path("gauges/<str:mark>/uses/", gauges.gauge_uses, name="gauge_uses"),
    path("gauges/<str:mark>/retire/", gauges.gauge_retire, name="gauge_retire"),
]
