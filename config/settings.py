"""Django settings. What varies comes from the environment; docs/operations.md lists the variables."""

import os
import secrets
import sys
from pathlib import Path

from config.database import from_environment
from config.evidence import evidence_storage
from inspections.domain.fasteners import Lubrication
from inspections.domain.instruments import InstrumentKind, InstrumentStatus

BASE_DIR = Path(__file__).resolve().parent.parent
DEBUG = False
PRODUCTION = os.environ.get("REBUILD_ENVIRONMENT", "development") == "production"
# Nothing that lasts is signed with it: there are no sessions, cookies or password resets.
SECRET_KEY = os.environ.get("REBUILD_SECRET_KEY") or secrets.token_urlsafe(32)
ALLOWED_HOSTS = os.environ.get("REBUILD_ALLOWED_HOSTS", "localhost,127.0.0.1,[::1],testserver").split(",")

INSTALLED_APPS = [
    "django.contrib.postgres",
    "django.contrib.staticfiles",
    "rest_framework",
    "drf_spectacular",
    "drf_spectacular_sidecar",
    "shops",
    "inspections",
    "jobs",
]
MIDDLEWARE = ["shops.api.request_id.RequestIdMiddleware"]
ROOT_URLCONF = "config.urls"
WSGI_APPLICATION = "config.wsgi.application"
APPEND_SLASH = False
TEMPLATES = [{"BACKEND": "django.template.backends.django.DjangoTemplates", "APP_DIRS": True, "OPTIONS": {}}]
STATIC_URL = "/static/"
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.InMemoryStorage"},  # nothing is stored there
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
    "evidence": evidence_storage(os.environ, BASE_DIR / ".data" / "evidence"),
}

DATABASES = {"default": from_environment(sys.argv)}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

LANGUAGE_CODE = "en-us"
TIME_ZONE = "UTC"
USE_TZ = True
USE_I18N = False
SILENCED_SYSTEM_CHECKS = ["models.W042"]

DATA_UPLOAD_MAX_MEMORY_SIZE = 8 * 1024 * 1024
BODY_LIMIT = 64 * 1024
BATCH_BODY_LIMIT = 8 * 1024 * 1024
PROCEDURE_BODY_LIMIT = 1024 * 1024
EVIDENCE_FILE_LIMIT = int(os.environ.get("REBUILD_EVIDENCE_FILE_LIMIT") or 25 * 1024 * 1024)
EVIDENCE_JOB_LIMIT = int(os.environ.get("REBUILD_EVIDENCE_JOB_LIMIT") or 1024**3)
EVIDENCE_COMPANY_LIMIT = int(os.environ.get("REBUILD_EVIDENCE_COMPANY_LIMIT") or 100 * 1024**3)
EVIDENCE_PART_LIMIT = BATCH_BODY_LIMIT
EVIDENCE_UPLOAD_DAYS = int(os.environ.get("REBUILD_EVIDENCE_UPLOAD_DAYS") or 7)
PROBLEM_TABLE = "config.problems.TABLE"
PROBLEM_DOCUMENT = "config.problems.problem_document"
LOG_KEY_FILE = os.environ.get("REBUILD_LOG_KEY_FILE") or BASE_DIR / ".data" / "log-key.pem"
WEB_HOOK_KEY_FILE = os.environ.get("REBUILD_WEB_HOOK_KEY_FILE") or BASE_DIR / ".data" / "web-hook-key"
WEB_HOOK_HOSTS = frozenset(filter(None, os.environ.get("REBUILD_WEB_HOOK_HOSTS", "").lower().split(",")))
PUBLIC_ADDRESS = os.environ.get("REBUILD_PUBLIC_ADDRESS", "").rstrip("/")
CHECKPOINT_SECONDS = int(os.environ.get("REBUILD_CHECKPOINT_SECONDS", "10"))

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": [],
    "DEFAULT_PERMISSION_CLASSES": [],
    "DEFAULT_RENDERER_CLASSES": ["shops.api.rendering.JsonRenderer"],
    "DEFAULT_PARSER_CLASSES": ["shops.api.rendering.JsonParser"],
    "DEFAULT_SCHEMA_CLASS": "drf_spectacular.openapi.AutoSchema",
    "EXCEPTION_HANDLER": "config.problems.problem_response",
    "UNAUTHENTICATED_USER": None,
    "UNAUTHENTICATED_TOKEN": None,
    "DATETIME_FORMAT": None,
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Rebuild Record",
    "VERSION": "1",
    "OAS_VERSION": "3.1.0",
    "SERVE_INCLUDE_SCHEMA": False,
    "SCHEMA_PATH_PREFIX": "/v1",
    "SWAGGER_UI_DIST": "SIDECAR",
    "SWAGGER_UI_FAVICON_HREF": "SIDECAR",
    "COMPONENT_SPLIT_REQUEST": True,
    "ENUM_GENERATE_CHOICE_DESCRIPTION": False,
    "ENUM_NAME_OVERRIDES": {
        "InstrumentKindEnum": [kind.value for kind in InstrumentKind],
        "InstrumentStatusEnum": [status.value for status in InstrumentStatus],
        "LubricationEnum": [state.value for state in Lubrication],
        "UnitKindEnum": ["tractor", "dolly"],
        "KitMovementEnum": ["stocked", "issued", "returned", "quarantined", "scrapped"],
        "KitStateEnum": ["received", "stocked", "issued", "returned", "quarantined", "scrapped"],
        "JobStateEnum": ["open", "released", "completed", "condemned", "abandoned"],
        "ReleaseStateEnum": ["in_force", "suspended", "revoked", "superseded"],
        "RecallStateEnum": ["proposed", "published", "declined"],
        "RecalledKitStateEnum": ["fitted", "in_work", "stock", "scrapped", "unknown"],
        "EvidenceStateEnum": ["missing", "arrived", "deleted"],
        "DeletionStateEnum": ["proposed", "approved", "declined"],
        "TransferStateEnum": ["open", "accepted", "declined"],
    },
    "SERVE_PUBLIC": True,
    "SERVE_AUTHENTICATION": [],
}

LOG_LEVEL = os.environ.get("REBUILD_LOG_LEVEL", "WARNING")
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {
        "json": {"()": "config.logs.JsonFormatter"},
        "plain": {"()": "config.logs.PlainFormatter"},
    },
    "handlers": {
        "stderr": {
            "class": "logging.StreamHandler",
            "formatter": "json" if PRODUCTION else "plain",
            "level": LOG_LEVEL,  # loggers with a level of their own, such as Django's, obey it too
        }
    },
    "root": {"handlers": ["stderr"], "level": LOG_LEVEL},
}
