"""The peer: token authentication and a model view set, set up as its documentation advises, and nothing that costs
without need: no middleware, no sessions, JSON only, DEBUG off, one connection a thread that is kept.
"""

import os
from urllib.parse import parse_qsl, unquote, urlsplit


def database(url: str) -> dict[str, object]:
    parts = urlsplit(url)
    return {
        "ENGINE": "django.db.backends.postgresql",
        "NAME": parts.path.lstrip("/"),
        "USER": unquote(parts.username or ""),
        "PASSWORD": unquote(parts.password or ""),
        "HOST": dict(parse_qsl(parts.query)).get("host") or parts.hostname or "",
        "PORT": str(parts.port or ""),
        "CONN_MAX_AGE": None,
        "ATOMIC_REQUESTS": True,
    }


DEBUG = False
SECRET_KEY = "only for measuring"
ALLOWED_HOSTS = ["127.0.0.1"]
INSTALLED_APPS = [
    "django.contrib.contenttypes",
    "django.contrib.auth",
    "rest_framework",
    "rest_framework.authtoken",
    "simple_history",
    "tests.benchmarks.peer",
]
MIDDLEWARE: list[str] = []
ROOT_URLCONF = "tests.benchmarks.peer.urls"
DATABASES = {"default": database(os.environ["DATABASE_URL"])}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
USE_TZ = True
TIME_ZONE = "UTC"
USE_I18N = False
REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": ["rest_framework.authentication.TokenAuthentication"],
    "DEFAULT_PERMISSION_CLASSES": ["rest_framework.permissions.IsAuthenticated"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_PARSER_CLASSES": ["rest_framework.parsers.JSONParser"],
}
LOGGING = {"version": 1, "disable_existing_loggers": False, "root": {"level": "WARNING"}}
