"""One include per app, the health page, the error pages."""

from django.urls import include, path

from rigsite.health import download_backup, health, status

urlpatterns = [
    path("health/", health, name="health"),
    path("status/", status, name="status"),
    path("status/backup/", download_backup, name="download_backup"),
    path("", include("maintenance.pages.urls")),
    path("", include("maintenance.planning.urls")),
    path("", include("maintenance.households.urls")),
    path("", include("maintenance.vehicles.urls")),
    path("", include("maintenance.supplies.urls")),
    path("", include("maintenance.plans.urls")),
    path("", include("maintenance.work_sheets.urls")),
    path("", include("maintenance.service_records.urls")),
    path("", include("maintenance.troubleshooting.urls")),
    path("", include("maintenance.calculators.urls")),
    path("", include("maintenance.findings.urls")),
    path("", include("maintenance.walkrounds.urls")),
    path("", include("maintenance.reminders.urls")),
    path("", include("maintenance.packets.urls")),
    path("", include("maintenance.exchange.urls")),
]

handler400 = "rigsite.errors.bad_request"
handler403 = "rigsite.errors.refused"
handler404 = "rigsite.errors.missing"
handler500 = "rigsite.errors.failed"
