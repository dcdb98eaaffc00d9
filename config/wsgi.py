"""The application as a WSGI server loads it, once in each of its processes."""

import gc
import os

from django.core.cache import close_caches
from django.core.handlers.base import reset_urlconf
from django.core.signals import request_finished, request_started
from django.core.wsgi import get_wsgi_application
from django.db import close_old_connections, reset_queries

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
application = get_wsgi_application()

# What is loaded now stays; and folds, facts and procedures that are kept are many small objects without cycles. Looking
# through all of them after every few hundred allocations cost appends a tenth of their time and the slowest ones more.
gc.collect()
gc.freeze()
gc.set_threshold(50_000, 20, 100)

# Django tidies up around each request what is not used here: caches, other URL configurations, recorded queries. One
# look at the connection is left, at the end, where a broken one is known.
request_started.disconnect(reset_queries)
request_started.disconnect(close_old_connections)
request_finished.disconnect(close_caches)
request_finished.disconnect(reset_urlconf)
