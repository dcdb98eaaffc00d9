"""The application as a WSGI server loads it, once in each of its processes."""

import gc
import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
application = get_wsgi_application()

# What is loaded now stays; and folds, facts and procedures that are kept are many small objects without cycles. Looking
# through all of them after every few hundred allocations cost appends a tenth of their time and the slowest ones more.
gc.collect()
gc.freeze()
gc.set_threshold(50_000, 20, 100)
