"""Where every page is. The apps are named as strings."""

from django.urls import include, path

urlpatterns = [
    path("catalogue/", include("catalog.urls")),
    path("", include("catalog.views.finding")),
    path("", include("fitouts.urls")),
    path("", include("quoting.urls")),
]

handler403 = "fitouts.views.errors.forbidden"
handler404 = "fitouts.views.errors.not_found"
handler500 = "fitouts.views.errors.broken"
