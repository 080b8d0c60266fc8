from django.urls import path

from .sessions.views import sessions
from .storage import urls as storage
from .trips import urls as trips
from .weights import urls as weights

urlpatterns = [
    path("together/", sessions, name="sittings"),
    *storage.urlpatterns,
    *trips.urlpatterns,
    *weights.urlpatterns,
]
