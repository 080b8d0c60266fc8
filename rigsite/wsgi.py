"""What the web server loads, once, before it forks: its processes then share what does
not change, which saves a third of their memory."""

import gc
import os
from datetime import date

from django.core.wsgi import get_wsgi_application
from django.urls import get_resolver

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "rigsite.settings")

application = get_wsgi_application()

from maintenance.pages.search.common import shelf  # noqa: E402  needs the apps
from maintenance.ui.words import day_words  # noqa: E402

# Left to Django, each process would load the pages by itself at its first request.
get_resolver().url_patterns  # noqa: B018
# Nor the forms of dates, and the words and stems of the search.
day_words(date.today())  # noqa: DTZ011  any day will do
shelf()
# The collector writes into every object that it looks at, which ends the sharing.
gc.collect()
gc.freeze()
