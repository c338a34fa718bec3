"""Addresses: pages at the root, the API under /api/v1/, health for machines."""

from django.urls import include, path

urlpatterns = [
    path("api/v1/", include("goldroom.api.urls")),
    path("health/", include("goldroom.faces.health")),
    path("", include("goldroom.web.urls")),
]
handler400 = "goldroom.web.refused.bad_request"
handler403 = "goldroom.web.refused.forbidden"
handler404 = "goldroom.web.refused.not_found"
handler500 = "goldroom.web.refused.broken"
