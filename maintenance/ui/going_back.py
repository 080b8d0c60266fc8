"""Where a form leads back to when it was opened from another page."""

from django.http import HttpRequest
from django.utils.http import url_has_allowed_host_and_scheme


def way_back(request: HttpRequest, default: str) -> str:
    """The page of ours that the query names as `next`, else the default."""
    wanted = request.GET.get("next", "")
    ours = url_has_allowed_host_and_scheme(wanted, allowed_hosts=None)
    return wanted if ours and wanted.startswith("/") else default
