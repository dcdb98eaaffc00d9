from shops.apps import RoomsConfig


class InspectionsConfig(RoomsConfig):
    name = "inspections"
    default = True
