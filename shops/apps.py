from importlib import import_module
from pkgutil import iter_modules

from django.apps import AppConfig


class RoomsConfig(AppConfig):
    """An app whose models live one noun a file; `models/__init__.py` stays empty."""

    default_auto_field = "django.db.models.BigAutoField"

    def import_models(self) -> None:
        super().import_models()
        package = import_module(f"{self.name}.models")
        for module in iter_modules(package.__path__):
            import_module(f"{package.__name__}.{module.name}")


class ShopsConfig(RoomsConfig):
    name = "shops"
    default = True
